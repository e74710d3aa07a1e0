# The scripts of deploy/, and the tool with which deploy/check sees that nothing is left running.
test_tool(nursery SOURCES tests/deploy/nursery.c)
script_test(deploy.nursery deploy/nursery.sh)
style_test(deploy.setup deploy/setup.sh)
script_test(deploy.whole deploy/whole.sh)
