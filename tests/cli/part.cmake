# SPDX-License-Identifier: MIT
# The command line: fuzz targets, and conversations with a real daemon.
fuzz_target(answer LIBS cli base SOURCES tests/cli/fuzz_answer.c)
fuzz_target(size LIBS cli base SOURCES tests/cli/fuzz_size.c)
