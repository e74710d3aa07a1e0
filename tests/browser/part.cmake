# SPDX-License-Identifier: MIT
# The pages as people meet them.  browser.valid looks at what the walks have left.
if(TARGET tearshared AND TARGET web AND TARGET work)
	script_test(browser.walk browser/walk.sh FIXTURES_SETUP pages)
	script_test(browser.walk_off browser/walk_off.sh FIXTURES_SETUP pages)
	script_test(browser.valid browser/valid.sh FIXTURES_REQUIRED pages)
endif()
