# Prints a case of tests/golden in any form: for golden files and for checks from outside.
add_executable(print_case tests/print/print_case.c)
target_link_libraries(print_case PRIVATE print)
