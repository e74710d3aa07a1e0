# Sharing among many, timed: bench_share prints growth and a ratio to a plain split in doubles.
test_tool(bench_share LIBS share base SOURCES tests/bench/share.c)
