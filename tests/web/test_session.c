/* SPDX-License-Identifier: MIT */
/*
 * The cookie, the token of forms, and where a form may come from.
 *
 * What browsers send: Cookie of RFC 6265, Origin of the Fetch standard (WHATWG), where a
 * form of a page with no-referrer has the origin "null", Sec-Fetch-Site of Fetch Metadata (W3C).
 */
#include <criterion/criterion.h>

#include <string.h>

#include "session.h"

#define VALUE "AAAAAAAAAAbbbbbbbbbbCCCCCCCCCC-_1234567890x"

Test(session, cookie_is_found_among_others)
{
	static const struct {
		const char *header;
		bool secure, found;
	} rows[] = {
	    {"__Host-studio=" VALUE, true, true},
	    {"a=b; __Host-studio=" VALUE "; c=d", true, true},
	    {"a=b;__Host-studio=" VALUE, true, true},
	    {"studio=" VALUE, false, true},
	    /* over TLS only the name that no other host can set */
	    {"studio=" VALUE, true, false},
	    {"__Host-studio=" VALUE, false, false},
	    {"x__Host-studio=" VALUE, true, false},
	    {"__Host-studio=", true, false},
	    {"__Host-studio=" VALUE "x", true, false},
	    {"__Host-studio=AAAAAAAAAAbbbbbbbbbbCCCCCCCCCC-_123456789%20", true,
		false},
	    {"__Host-studio=\"" VALUE "\"", true, false},
	    {"", true, false},
	    {";;;  ;", true, false},
	    {NULL, true, false},
	};
	cr_assert_eq(strlen(VALUE), SECRET_TEXT - 1);
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char value[SECRET_TEXT];
		bool found =
		    session_cookie_read(rows[i].header, rows[i].secure, value);
		cr_expect_eq(found, rows[i].found, "row %zu: %s", i,
		    rows[i].header ? rows[i].header : "no header");
		if (found)
			cr_expect_str_eq(value, VALUE);
	}
}

Test(session, token_belongs_to_one_cookie)
{
	char a[SECRET_TEXT], b[SECRET_TEXT], token[FORM_TOKEN_TEXT],
	    again[FORM_TOKEN_TEXT];
	secret_make(a);
	secret_make(b);
	session_token(a, token);
	session_token(a, again);
	cr_expect_str_eq(token, again);
	cr_expect_eq(strlen(token), FORM_TOKEN_TEXT - 1);
	cr_expect_str_neq(token, a);
	cr_expect(session_token_is_good(a, token));
	cr_expect(!session_token_is_good(b, token));
	cr_expect(!session_token_is_good(a, ""));
	cr_expect(!session_token_is_good(a, a));
	token[0] = token[0] == 'A' ? 'B' : 'A';
	cr_expect(!session_token_is_good(a, token));
}

/* HMAC-SHA256 of "form" under 43 times "k", computed with Python 3.11's hmac module. */
Test(session, token_is_hmac_sha256)
{
	char cookie[SECRET_TEXT], token[FORM_TOKEN_TEXT];
	memset(cookie, 'k', SECRET_TEXT - 1);
	cookie[SECRET_TEXT - 1] = '\0';
	session_token(cookie, token);
	cr_expect_str_eq(token, "rPtgA7w5xSjEB-D2qlc3-mdZRPYJSWdM1r9luD_zsIU");
}

Test(session, forms_come_from_our_own_pages)
{
	static const char own[] = "https://studio.example:8443";
	static const struct {
		const char *site, *origin;
		bool token, ours;
	} rows[] = {
	    {"same-origin", "https://studio.example:8443", true, true},
	    {"same-origin", "https://studio.example:8443", false, true},
	    {"same-origin", "null", true, true},
	    {"same-origin", "null", false, true},
	    {"same-origin", NULL, false, true},
	    {"cross-site", "https://evil.example", true, false},
	    {"cross-site", "null", true, false},
	    {"cross-site", "https://studio.example:8443", true, false},
	    {"same-site", "https://other.studio.example", true, false},
	    {"none", NULL, true, false},
	    {"", NULL, true, false},
	    {"same-origin", "https://evil.example", true, false},
	    /* browsers without Sec-Fetch-Site */
	    {NULL, "https://studio.example:8443", false, true},
	    {NULL, "https://evil.example", true, false},
	    {NULL, "http://studio.example:8443", true, false},
	    {NULL, "https://studio.example", true, false},
	    {NULL, "https://studio.example:8443.evil.example", true, false},
	    {NULL, "null", true, true},
	    {NULL, "null", false, false},
	    /* no browser */
	    {NULL, NULL, true, true},
	    {NULL, NULL, false, true},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		cr_expect_eq(session_is_same_site(rows[i].site, rows[i].origin,
				 own, rows[i].token),
		    rows[i].ours, "row %zu: %s %s", i,
		    rows[i].site ? rows[i].site : "-",
		    rows[i].origin ? rows[i].origin : "-");
}
