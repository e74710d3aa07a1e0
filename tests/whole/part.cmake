# SPDX-License-Identifier: MIT
# The whole program: the command line and the daemon together, as a studio uses them.
if(TARGET tearshared AND TARGET tearshare)
	script_test(whole.way whole/whole.sh)
	script_test(whole.kill whole/kill.sh)
	script_test(whole.two whole/two.sh)
	script_test(whole.money whole/money.sh)
endif()
