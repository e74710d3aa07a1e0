# SPDX-License-Identifier: MIT
# The server that the scripts of this folder talk to.
test_tool(web_server LIBS web work http print store share plan base SOURCES tests/web/server.c)
