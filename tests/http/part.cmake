# The HTTP part alone: a small server, conversations with it, and faults.
if(TARGET http)
	add_executable(http_echo tests/http/echo_server.c)
	target_link_libraries(http_echo PRIVATE http)
endif()
