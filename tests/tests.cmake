# The tests: one Criterion program a folder, one ctest entry a suite; plain programs and
# scripts beside them.  tests/X/test_*.c tests daemon/X (or cli).
#
# An empty filter, a leak or a recoverable finding exits 0 under Criterion, hence the
# expressions below.
set(found_wrong "Tested: 0 |ERROR: (Leak|Address)Sanitizer|runtime error:|WARNING: ThreadSanitizer")

find_library(CRITERION criterion)
file(GLOB support CONFIGURE_DEPENDS tests/support/*.c)
if(support)
	add_library(support STATIC ${support})
	target_include_directories(support PUBLIC tests/support)
	target_link_libraries(support PUBLIC plan base PkgConfig::JANSSON)
endif()

# Criterion's macros are not clean under -Wpedantic and friends; the tested code is.
function(criterion_tests name path)
	cmake_parse_arguments(T "" "" "LIBS" ${ARGN})
	file(GLOB sources CONFIGURE_DEPENDS ${path}/test_*.c)
	foreach(lib ${T_LIBS})
		if(NOT TARGET ${lib})
			return()
		endif()
	endforeach()
	if(NOT sources OR NOT CRITERION)
		return()
	endif()
	add_executable(test_${name} ${sources})
	target_compile_options(test_${name} PRIVATE -Wno-pedantic -Wno-conversion -Wno-shadow
		-Wno-missing-prototypes -Wno-missing-field-initializers)
	target_compile_definitions(test_${name} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}"
		DATA_DIR="${CMAKE_SOURCE_DIR}/tests/data" BUILD_DIR="${CMAKE_BINARY_DIR}")
	target_link_libraries(test_${name} PRIVATE ${T_LIBS} ${CRITERION})
	if(TARGET support)
		target_link_libraries(test_${name} PRIVATE support)
	endif()
	set(suites "")
	foreach(source ${sources})
		set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${source})
		file(STRINGS ${source} lines REGEX "^(Parameterized)?Test\\(")
		foreach(line ${lines})
			string(REGEX REPLACE "^[A-Za-z]+\\(([a-z0-9_]+),.*" "\\1" suite "${line}")
			list(APPEND suites ${suite})
		endforeach()
	endforeach()
	list(REMOVE_DUPLICATES suites)
	foreach(suite ${suites})
		add_test(NAME ${name}.${suite} COMMAND test_${name} --filter ${suite}/* --jobs 1)
		set_tests_properties(${name}.${suite} PROPERTIES
			FAIL_REGULAR_EXPRESSION "${found_wrong}" TIMEOUT 300)
	endforeach()
endfunction()

criterion_tests(base tests/base LIBS base)
criterion_tests(plan tests/plan LIBS plan)
criterion_tests(share tests/share LIBS share)
criterion_tests(print tests/print LIBS print)
criterion_tests(http tests/http LIBS http)
criterion_tests(store tests/store LIBS store)
criterion_tests(web tests/web LIBS web)
criterion_tests(work tests/work LIBS work)
criterion_tests(cli tests/cli LIBS cli)

# script_test(NAME file.sh [SERIAL]): runs with BUILD_DIR and SOURCE_DIR in its environment.
function(script_test name file)
	add_test(NAME ${name} COMMAND ${CMAKE_SOURCE_DIR}/tests/${file})
	set_tests_properties(${name} PROPERTIES TIMEOUT 600
		ENVIRONMENT "BUILD_DIR=${CMAKE_BINARY_DIR};SOURCE_DIR=${CMAKE_SOURCE_DIR};VARIANT=${VARIANT}"
		FAIL_REGULAR_EXPRESSION "${found_wrong}" ${ARGN})
endfunction()

# Each folder lists its own scripts, plain programs, benches and fuzz targets here:
file(GLOB parts CONFIGURE_DEPENDS tests/*/part.cmake)
foreach(part ${parts})
	include(${part})
endforeach()
