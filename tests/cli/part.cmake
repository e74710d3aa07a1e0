# SPDX-License-Identifier: MIT
# The command line: fuzz targets, servers that behave badly, and what people run into.
fuzz_target(answer LIBS cli base SOURCES tests/cli/fuzz_answer.c)
fuzz_target(size LIBS cli base SOURCES tests/cli/fuzz_size.c)
if(TARGET tearshare)
	script_test(cli.fake cli/fake.sh)
endif()
if(TARGET tearshare AND TARGET tearshared)
	script_test(cli.trouble cli/trouble.sh)
endif()
