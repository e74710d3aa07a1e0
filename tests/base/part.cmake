fuzz_target(length LIBS base SOURCES tests/base/fuzz_length.c)
