# Prints a case of tests/golden in any form: for golden files and for checks from outside.
add_executable(print_case tests/print/print_case.c)
target_link_libraries(print_case PRIVATE print)

# Plans a problem for a new case.
add_executable(plan_case tests/print/plan_case.c)
target_link_libraries(plan_case PRIVATE plan)

script_test(print.golden print/golden.sh)
script_test(print.pdf print/pdf.sh)
script_test(print.class print/class.sh)

# Run by hand: .build/release/bench_print
add_executable(bench_print tests/bench/print.c)
target_link_libraries(bench_print PRIVATE print)
script_test(print.words print/words.sh)
fuzz_target(name LIBS web SOURCES tests/print/fuzz_name.c)

# Prints a treasurer's papers.
add_executable(print_paper tests/print/paper_tool.c)
target_link_libraries(print_paper PRIVATE print)
script_test(print.treasurer print/papers.sh)
