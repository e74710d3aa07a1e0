# The HTTP part alone: a small server, conversations with it, faults, and a fuzz target.
test_tool(http_echo LIBS http SOURCES tests/http/echo_server.c)
test_tool(talk LIBS PkgConfig::SSL SOURCES tests/http/talk.c tests/http/client.c)
if(TARGET http_echo AND TARGET talk)
	script_test(http.conversations http/conversations.sh)
	program_test(http.faults LIBS PkgConfig::SSL SOURCES tests/http/faults.c tests/http/client.c)
endif()
fuzz_target(head LIBS http SOURCES tests/http/fuzz_head.c)
