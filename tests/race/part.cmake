# Programs for ThreadSanitizer; they run in every other variant too.
program_test(race.cores LIBS plan share base SOURCES tests/race/cores.c)
