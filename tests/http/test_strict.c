/* SPDX-License-Identifier: MIT */
/*
 * The strict check, head by head.  Where the RFC fixes the verdict its section stands
 * beside the row; the others are ours (docs/protocol.md).
 */
#include <criterion/criterion.h>
#include <string.h>

#include "strict.h"

static const char *const names[] = {
    "studio.example", "localhost", "[::1]", NULL};
static const struct strict_rules rules = {.body_max = 1000, .names = names};

#define HOST "Host: studio.example\r\n"
#define GET(target) "GET " target " HTTP/1.1\r\n" HOST "\r\n"
#define POST(fields) "POST /x HTTP/1.1\r\n" HOST fields "\r\n"

struct row {
	const char *head;
	int status; /* 0: passes */
};

/* clang-format off */
static const struct row rows[] = {
	{ GET("/"), 0 },
	{ GET("/a/b?c=d&e"), 0 },
	{ "HEAD / HTTP/1.0\r\n\r\n", 0 },
	/* request lines: 9112 3 */
	{ "GET / HTTP/1.1\r\n\r\n", 400 },                    /* 9112 3.2 */
	{ "GET /\r\n" HOST "\r\n", 400 },
	{ "GET  / HTTP/1.1\r\n" HOST "\r\n", 400 },
	{ "GET / HTTP/1.1 \r\n" HOST "\r\n", 400 },
	{ "GET / http/1.1\r\n" HOST "\r\n", 400 },            /* 9112 2.3 */
	{ "GET / HTTP/1\r\n" HOST "\r\n", 400 },
	{ "GET / HTTP/01.1\r\n" HOST "\r\n", 400 },
	{ "GET / HTTP/2.0\r\n" HOST "\r\n", 505 },            /* 9110 15.6.6 */
	{ "GET / HTTP/0.9\r\n" HOST "\r\n", 505 },
	{ "GET / HTTP/1.9\r\n" HOST "\r\n", 0 },
	{ "get / HTTP/1.1\r\n" HOST "\r\n", 501 },            /* 9110 9.1 */
	{ "FETCH / HTTP/1.1\r\n" HOST "\r\n", 501 },          /* 9110 15.6.2 */
	{ "TRACE / HTTP/1.1\r\n" HOST "\r\n", 501 },
	{ "CONNECT a:443 HTTP/1.1\r\n" HOST "\r\n", 501 },
	{ "OPTIONS * HTTP/1.1\r\n" HOST "\r\n", 501 },
	{ "G@T / HTTP/1.1\r\n" HOST "\r\n", 400 },
	{ " / HTTP/1.1\r\n" HOST "\r\n", 400 },
	/* targets: 9112 3.2, RFC 3986 */
	{ GET("*"), 400 }, { GET("x"), 400 }, { GET(""), 400 },
	{ GET("/%00"), 400 }, { GET("/?%00"), 400 }, { GET("/%zz"), 400 }, { GET("/%4"), 400 },
	{ GET("/%"), 400 }, { GET("/%c0%ae"), 400 }, { GET("/%e0%80%af"), 400 },
	{ GET("/%f4%90%80%80"), 400 }, { GET("/%ed%a0%80"), 400 }, { GET("/?%ff"), 400 },
	{ GET("/%c3%a9"), 0 }, { GET("/?%0a"), 0 }, { GET("/%0a"), 400 }, { GET("/%7f"), 400 },
	{ GET("/.."), 400 }, { GET("/../x"), 400 }, { GET("/x/.."), 400 }, { GET("/./x"), 400 },
	{ GET("/%2e%2e"), 400 }, { GET("/.%2E/x"), 400 }, { GET("/x/%2e"), 400 },
	{ GET("/..x"), 0 }, { GET("/x..y"), 0 }, { GET("/..."), 0 }, { GET("/?../.."), 0 },
	{ GET("/%2f"), 400 }, { GET("/%5c"), 400 }, { GET("/a\\b"), 400 }, { GET("/a#b"), 400 },
	{ GET("/a{b"), 400 }, { GET("/\"a"), 400 }, { GET("/%252e%252e/"), 0 }, { GET("//x"), 0 },
	/* absolute form: 9112 3.2.2 */
	{ GET("http://studio.example/x"), 0 }, { GET("HTTPS://studio.example"), 0 },
	{ GET("http://studio.example?x"), 0 }, { GET("http://localhost/x"), 421 },
	{ GET("http://evil.example/x"), 421 }, { GET("ftp://studio.example/x"), 400 },
	{ GET("http://me@studio.example/x"), 400 }, { GET("http://"), 400 }, { GET("http://?x"), 400 }, { GET("http:///x"), 400 },
	{ GET("http://studio.example/../x"), 400 },
	{ "GET http://studio.example/ HTTP/1.0\r\n\r\n", 0 },
	{ "GET http://evil.example/ HTTP/1.0\r\n\r\n", 421 },
	/* hosts: 9110 7.2 */
	{ "GET / HTTP/1.1\r\nHost: STUDIO.example.:8443\r\n\r\n", 0 },
	{ "GET / HTTP/1.1\r\nHost: [::1]:443\r\n\r\n", 0 },
	{ "GET / HTTP/1.1\r\nHost: [::1]\r\n\r\n", 0 },
	{ "GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n", 421 },
	{ "GET / HTTP/1.1\r\nHost: [::2]\r\n\r\n", 421 },
	{ "GET / HTTP/1.1\r\nHost: studio.example.evil\r\n\r\n", 421 },
	{ "GET / HTTP/1.1\r\nHost: studio\r\n\r\n", 421 },
	{ "GET / HTTP/1.1\r\nHost: \r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: a b\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: a/b\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: u@a\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: a:x\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: a:99999\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: [::1\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: ::1\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\nHost: \xc3\xa9\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST HOST "\r\n", 400 },
	/* fields: 9112 5 */
	{ "GET / HTTP/1.1\r\n" HOST "A : b\r\n\r\n", 400 },    /* 9112 5.1 */
	{ "GET / HTTP/1.1\r\n" HOST "A\t: b\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST ": b\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST "AB\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST "A(B): c\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST "A:\r\n\r\n", 0 },
	{ "GET / HTTP/1.1\r\n" HOST "A: 1\r\nA: 2\r\n\r\n", 0 },
	{ "GET / HTTP/1.1\r\n" HOST "Cookie: a\r\ncookie: b\r\n\r\n", 400 },
	{ POST("If-Match: \"1\"\r\nIf-Match: \"2\"\r\n"), 400 },
	{ POST("Idempotency-Key: \"1\"\r\nIdempotency-Key: \"1\"\r\n"), 400 },
	/* framing: 9112 6 */
	{ POST("Content-Length: 0\r\n"), 0 }, { POST("Content-Length: 1000\r\n"), 0 },
	{ POST("Content-Length: 1001\r\n"), 413 }, { POST("Content-Length: 9999999999\r\n"), 413 },
	{ POST("Content-Length: 10000000000\r\n"), 400 }, { POST("Content-Length: +4\r\n"), 400 },
	{ POST("Content-Length: -4\r\n"), 400 }, { POST("Content-Length: 0x4\r\n"), 400 },
	{ POST("Content-Length: 4.0\r\n"), 400 }, { POST("Content-Length: 4 4\r\n"), 400 },
	{ POST("Content-Length: 4,4\r\n"), 400 }, { POST("Content-Length:\r\n"), 400 },
	{ POST("Content-Length: 4\r\nContent-Length: 4\r\n"), 400 },
	{ POST("Content-Length: 4\r\nTransfer-Encoding: chunked\r\n"), 400 },
	{ POST("Transfer-Encoding: chunked\r\n"), 411 },
	{ POST("Transfer-Encoding: gzip, chunked\r\n"), 400 },
	{ POST("Transfer-Encoding: chunked;x=1\r\n"), 400 },
	{ POST("Transfer-Encoding: identity\r\n"), 400 }, { POST("Transfer-Encoding:\r\n"), 400 },
	{ POST("Transfer-Encoding: xchunked\r\n"), 501 },
	{ POST("Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n"), 400 },
	{ "POST / HTTP/1.0\r\nTransfer-Encoding: chunked\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST "Content-Length: 1\r\n\r\n", 400 },
	{ "HEAD / HTTP/1.1\r\n" HOST "Content-Length: 1\r\n\r\n", 400 },
	{ "GET / HTTP/1.1\r\n" HOST "Content-Length: 0\r\n\r\n", 0 },
	{ "DELETE / HTTP/1.1\r\n" HOST "Content-Length: 1\r\n\r\n", 0 },
	{ POST("Content-Length: 4\r\nContent-Encoding: gzip\r\n"), 415 },
	{ POST("Content-Length: 4\r\nContent-Encoding: identity\r\n"), 0 },
	/* expectations: 9110 10.1.1 */
	{ POST("Expect: 100-Continue\r\nContent-Length: 4\r\n"), 0 },
	{ POST("Expect: 200-ok\r\n"), 417 },
	{ POST("Upgrade: h2c\r\nConnection: Upgrade\r\n"), 0 },
};
/* clang-format on */

Test(strict, judges_as_tabled)
{
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct refusal r = {.status = 0};
		struct head head;
		bool ok = strict_read_head(
		    rows[i].head, strlen(rows[i].head), &rules, &head, &r);

		cr_expect_eq(ok, !rows[i].status, "%s", rows[i].head);
		cr_expect_eq(ok ? 0 : r.status, rows[i].status, "%s: %d %s",
		    rows[i].head, r.status, r.detail);
		cr_expect(ok || r.detail[0], "%s: says nothing", rows[i].head);
		if (ok)
			head_free(&head);
	}
}

Test(strict, reads_what_was_sent)
{
	static const char text[] =
	    "PUT http://studio.example:1/a%20b?c=d HTTP/1.1\r\n"
	    "host: studio.example:1\r\nX-Empty:\r\nX-Padded: \t v w \t\r\n"
	    "Content-Length: 12\r\nExpect: 100-continue\r\nConnection: a, "
	    "CLOSE\r\n\r\n";
	struct refusal r;
	struct head head;

	cr_assert(strict_read_head(text, sizeof(text) - 1, &rules, &head, &r));
	cr_expect_eq(head.method, HTTP_PUT);
	cr_expect_str_eq(head.path, "/a%20b");
	cr_expect_str_eq(head.query, "c=d");
	cr_expect_str_eq(head.host, "studio.example:1");
	cr_expect_str_eq(head_field(&head, "x-empty"), "");
	cr_expect_str_eq(head_field(&head, "X-PADDED"), "v w");
	cr_expect_null(head_field(&head, "X-None"));
	cr_expect_eq(head.length, 12);
	cr_expect(head.expects_continue);
	cr_expect(head.close);
	head_free(&head);
}

Test(strict, closes_after_http_1_0)
{
	struct refusal r;
	struct head head;

	cr_assert(
	    strict_read_head("GET / HTTP/1.0\r\n\r\n", 18, &rules, &head, &r));
	cr_expect(head.close);
	head_free(&head);
	cr_assert(
	    strict_read_head(GET("/"), strlen(GET("/")), &rules, &head, &r));
	cr_expect_not(head.close);
	head_free(&head);
}

Test(strict, quotes_nothing_that_could_break_a_message)
{
	static const char text[] =
	    "GET / HTTP/1.1\r\nHost: \"\\\xff<b>\r\n\r\n";
	struct refusal r;
	struct head head;

	cr_assert_not(
	    strict_read_head(text, sizeof(text) - 1, &rules, &head, &r));
	for (const char *c = r.detail; *c; c++)
		cr_expect(
		    *c >= 0x20 && *c < 0x7f && *c != '\\', "%s", r.detail);
}

Test(strict, answers_any_host_when_no_names_are_set)
{
	static const struct strict_rules any = {.body_max = 1};
	static const char text[] =
	    "GET / HTTP/1.1\r\nHost: any.example\r\n\r\n";
	struct refusal r;
	struct head head;

	cr_assert(strict_read_head(text, sizeof(text) - 1, &any, &head, &r));
	head_free(&head);
}
