# SPDX-License-Identifier: MIT
# The server that the scripts of this folder talk to, and the scripts.
test_tool(web_server LIBS web work http print store share plan base SOURCES tests/web/server.c)
if(TARGET web_server)
	script_test(web.roles web/roles.mjs)
	script_test(web.refusals web/refusals.mjs)
	script_test(web.once web/once.mjs)
	script_test(web.secrets web/secrets.mjs)
	script_test(web.workshop web/workshop.mjs)
	script_test(web.books web/books.mjs)
	script_test(web.privacy web/privacy.mjs)
	script_test(web.page_roles web/page_roles.mjs)
	script_test(web.page_session web/page_session.mjs)
endif()
# The load of tests/bench/serve.
test_tool(serve_load LIBS base SOURCES tests/bench/serve_load.c)
# Forms and pages from any bytes.
fuzz_target(form LIBS web SOURCES tests/web/fuzz_form.c)
fuzz_target(html LIBS web SOURCES tests/web/fuzz_html.c)
