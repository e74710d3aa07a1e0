# The tests: one Criterion program a folder, one ctest entry a suite; plain programs and
# scripts beside them.  tests/X/test_*.c tests daemon/X (or cli).
#
# An empty filter, a leak or a recoverable finding exits 0 under Criterion, hence the
# expressions below.
set(found_wrong "Tested: 0 |ERROR: (Leak|Address)Sanitizer|runtime error:|WARNING: ThreadSanitizer")

# Where a kind of test belongs.  Under ThreadSanitizer Criterion always aborts, so only plain
# programs run there; the fuzz variant has only fuzz targets; analyze is only compiled; the
# rules on the text of the tree need one variant.
set(in_suite release debug asan coverage)
set(in_races tsan)

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
	if(NOT sources OR NOT CRITERION OR NOT VARIANT IN_LIST in_suite)
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
		file(READ ${source} text)
		string(REGEX MATCHALL "\n(Parameterized)?Test\\([ \t\n]*[a-z0-9_]+" starts "${text}")
		foreach(start ${starts})
			string(REGEX REPLACE ".*\\([ \t\n]*" "" suite "${start}")
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

# script_test(NAME file.sh [ctest properties]): runs tests/file.sh with BUILD_DIR, SOURCE_DIR and
# VARIANT in its environment.  A test that needs the machine for itself says RUN_SERIAL TRUE.
function(script_test name file)
	if(NOT VARIANT IN_LIST in_suite)
		return()
	endif()
	add_test(NAME ${name} COMMAND ${CMAKE_SOURCE_DIR}/tests/${file})
	set_tests_properties(${name} PROPERTIES TIMEOUT 600
		ENVIRONMENT "BUILD_DIR=${CMAKE_BINARY_DIR};SOURCE_DIR=${CMAKE_SOURCE_DIR};VARIANT=${VARIANT}"
		FAIL_REGULAR_EXPRESSION "${found_wrong}" SKIP_RETURN_CODE 77 ${ARGN})
endfunction()

# style_test(NAME file.sh [ctest properties]): a script_test of the tree itself, release only.
function(style_test name file)
	if(VARIANT STREQUAL "release")
		script_test(${name} ${file} ${ARGN})
	endif()
endfunction()

# test_tool(NAME LIBS folders... SOURCES tests/...): a program that scripts start as
# $BUILD_DIR/NAME; not a test by itself.
function(test_tool name)
	cmake_parse_arguments(T "" "" "LIBS;SOURCES" ${ARGN})
	foreach(lib ${T_LIBS})
		if(NOT TARGET ${lib} AND NOT lib MATCHES "::")
			return()
		endif()
	endforeach()
	list(TRANSFORM T_SOURCES PREPEND ${CMAKE_SOURCE_DIR}/)
	add_executable(${name} ${T_SOURCES})
	target_compile_definitions(${name} PRIVATE SOURCE_DIR="${CMAKE_SOURCE_DIR}"
		DATA_DIR="${CMAKE_SOURCE_DIR}/tests/data" BUILD_DIR="${CMAKE_BINARY_DIR}")
	target_link_libraries(${name} PRIVATE ${T_LIBS} Threads::Threads)
	set_target_properties(${name} PROPERTIES RUNTIME_OUTPUT_DIRECTORY ${CMAKE_BINARY_DIR})
endfunction()

# gcc 12's ThreadSanitizer knows only 28 random bits of an address; newer kernels use more.
set(no_aslr "")
if(VARIANT STREQUAL "tsan" AND EXISTS /proc/sys/vm/mmap_rnd_bits)
	file(READ /proc/sys/vm/mmap_rnd_bits rnd_bits)
	if(rnd_bits GREATER 28)
		set(no_aslr setarch -R)
	endif()
endif()

# program_test(NAME LIBS folders... SOURCES tests/...): a test that is a plain program, without
# Criterion; exit 0 is good.  This is the form for races: it runs under tsan too.
function(program_test name)
	cmake_parse_arguments(T "" "" "LIBS;SOURCES" ${ARGN})
	if(NOT VARIANT IN_LIST in_suite AND NOT VARIANT IN_LIST in_races)
		return()
	endif()
	string(MAKE_C_IDENTIFIER "program_${name}" target)
	test_tool(${target} LIBS ${T_LIBS} SOURCES ${T_SOURCES})
	if(TARGET ${target})
		add_test(NAME ${name} COMMAND ${no_aslr} $<TARGET_FILE:${target}>)
		set_tests_properties(${name} PROPERTIES TIMEOUT 300
			FAIL_REGULAR_EXPRESSION "${found_wrong}" ENVIRONMENT "TSAN_OPTIONS=halt_on_error=1")
	endif()
endfunction()

# fuzz_target(NAME LIBS folders... SOURCES tests/X/fuzz_NAME.c): a file with LLVMFuzzerTestOneInput.
# In the fuzz variant it searches for some seconds (FUZZ_SECONDS), beginning from the files in
# tests/fuzz/corpus/NAME; everywhere else the same files are played once, so that what was
# found once stays mended under every compiler.
set(FUZZ_SECONDS 5 CACHE STRING "seconds each fuzz target searches under ctest")
function(fuzz_target name)
	cmake_parse_arguments(T "" "" "LIBS;SOURCES" ${ARGN})
	set(corpus ${CMAKE_SOURCE_DIR}/tests/fuzz/corpus/${name})
	if(VARIANT STREQUAL "fuzz")
		test_tool(fuzz_${name} LIBS ${T_LIBS} SOURCES ${T_SOURCES})
		if(TARGET fuzz_${name})
			target_link_options(fuzz_${name} PRIVATE -fsanitize=fuzzer)
			add_test(NAME fuzz.${name}
				COMMAND ${CMAKE_SOURCE_DIR}/tests/fuzz/search $<TARGET_FILE:fuzz_${name}> ${corpus}
				${FUZZ_SECONDS})
		endif()
	elseif(VARIANT IN_LIST in_suite)
		test_tool(replay_${name} LIBS ${T_LIBS} SOURCES ${T_SOURCES} tests/fuzz/replay.c)
		if(TARGET replay_${name})
			add_test(NAME replay.${name} COMMAND replay_${name} ${corpus})
		endif()
	endif()
	foreach(test fuzz.${name} replay.${name})
		if(TEST ${test})
			set_tests_properties(${test} PROPERTIES TIMEOUT 300 FAIL_REGULAR_EXPRESSION "${found_wrong}")
		endif()
	endforeach()
endfunction()

# Each folder lists its own scripts, plain programs, benches and fuzz targets here:
file(GLOB parts CONFIGURE_DEPENDS tests/*/part.cmake)
foreach(part ${parts})
	include(${part})
endforeach()
