fuzz_target(length LIBS base SOURCES tests/base/fuzz_length.c)

# The table of locales against ICU's.
test_tool(print_figures LIBS base SOURCES tests/base/figures.c)
script_test(base.figures base/figures.mjs)
