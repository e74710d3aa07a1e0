# SPDX-License-Identifier: MIT
# The API description is true: its examples are run (it is linted by tests/style/openapi.sh).
if(TARGET tearshared AND EXISTS ${CMAKE_SOURCE_DIR}/tests/web/server.c)
	script_test(openapi.examples openapi/examples.sh)
endif()
