# The planner: published instances (a quick subset as a test, all of them by hand), benches.
test_tool(bench_published LIBS plan base support SOURCES tests/bench/planner/published.c)
fuzz_target(problem LIBS plan base SOURCES tests/plan/fuzz_problem.c)
test_tool(bench_classes LIBS plan base support SOURCES tests/bench/planner/classes.c)
test_tool(bench_models LIBS plan base support SOURCES tests/bench/planner/models.c)
test_tool(bench_growth LIBS plan base support SOURCES tests/bench/planner/growth.c)
test_tool(bench_instances LIBS plan base support SOURCES tests/bench/planner/instances.c)
test_tool(bench_stopping LIBS plan base support SOURCES tests/bench/planner/stopping.c)
test_tool(proof_file LIBS plan base support SOURCES tests/plan/proof_file.c)
