# The worker against a PostgreSQL of its own, with a planner that can misbehave.
test_tool(fake_planner LIBS plan SOURCES tests/work/fake_planner.c)
program_test(work.jobs LIBS work store SOURCES tests/work/prog_work.c tests/store/desk.c tests/store/scene.c)
if(TARGET program_work_jobs)
	target_include_directories(program_work_jobs PRIVATE ${CMAKE_SOURCE_DIR}/tests/store)
	add_dependencies(program_work_jobs fake_planner)
endif()
