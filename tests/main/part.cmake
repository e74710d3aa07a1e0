# The program as a whole: its options, the planner's door, and how it lives as a service.
if(TARGET tearshared AND TARGET web AND TARGET work AND TARGET store)
	script_test(main.options main/options.sh)
	script_test(main.plan main/plan.sh)
	test_tool(notify_sink SOURCES tests/main/notify_sink.c)
	test_tool(in_flight LIBS PkgConfig::SSL SOURCES tests/main/in_flight.c tests/http/client.c)
	target_include_directories(in_flight PRIVATE tests/http)
	script_test(main.service main/service.sh)
endif()
