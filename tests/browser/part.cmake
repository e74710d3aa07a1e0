# SPDX-License-Identifier: MIT
# The pages as people meet them.  browser.valid looks at what the walks have left.  In release only:
# they take minutes of a browser, and web.page_roles and web.page_session ask for every page
# under the sanitizers.
if(TARGET tearshared AND TARGET web AND TARGET work AND VARIANT STREQUAL "release")
	script_test(browser.walk browser/walk.sh FIXTURES_SETUP pages)
	script_test(browser.walk_off browser/walk_off.sh FIXTURES_SETUP pages)
	script_test(browser.valid browser/valid.sh FIXTURES_REQUIRED pages)
endif()
