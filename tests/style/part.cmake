# The rules of the tree, each shown able to fail before it is believed.
foreach(rule arrows purity format headers hardening tree words cppcheck man openapi)
	style_test(style.${rule} style/${rule}.sh)
endforeach()
# clang-tidy needs the compile commands of a clang build.
if(VARIANT STREQUAL "fuzz")
	add_test(NAME style.tidy COMMAND ${CMAKE_SOURCE_DIR}/tests/style/tidy.sh)
	set_tests_properties(style.tidy PROPERTIES TIMEOUT 1800
		ENVIRONMENT "BUILD_DIR=${CMAKE_BINARY_DIR};SOURCE_DIR=${CMAKE_SOURCE_DIR};VARIANT=${VARIANT}")
endif()
