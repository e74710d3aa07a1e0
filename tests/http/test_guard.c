/* SPDX-License-Identifier: MIT */
/*
 * The octet guard.  What a head may hold: RFC 9112, 2.2 (line ends), 5.2 (folding);
 * RFC 9110, 5.5 (octets of a value).  The limits are ours, see guard.h.
 */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "guard.h"

struct row {
	const char *name;
	const char *octets;
	size_t len;
	enum guard_verdict verdict;
	int status;
};

#define OCTETS(s) s, sizeof(s) - 1

/* clang-format off */
static const struct row rows[] = {
	{ "a whole head", OCTETS("GET / HTTP/1.1\r\nHost: a\r\n\r\n"), GUARD_DONE, 0 },
	{ "no field at all", OCTETS("GET / HTTP/1.0\r\n\r\n"), GUARD_DONE, 0 },
	{ "one empty line before", OCTETS("\r\nGET / HTTP/1.1\r\n\r\n"), GUARD_DONE, 0 },
	{ "a tab within a value", OCTETS("GET / HTTP/1.1\r\nA: b\tc\r\n\r\n"), GUARD_DONE, 0 },
	{ "octets beyond ASCII in a value", OCTETS("GET / HTTP/1.1\r\nA: \xc3\xa9\r\n\r\n"), GUARD_DONE, 0 },
	{ "nothing", OCTETS(""), GUARD_MORE, 0 },
	{ "half an empty line", OCTETS("\r"), GUARD_MORE, 0 },
	{ "half a line", OCTETS("GET / HT"), GUARD_MORE, 0 },
	{ "no empty line yet", OCTETS("GET / HTTP/1.1\r\nHost: a\r\n"), GUARD_MORE, 0 },
	{ "the last LF is missing", OCTETS("GET / HTTP/1.1\r\nHost: a\r\n\r"), GUARD_MORE, 0 },
	{ "two empty lines before", OCTETS("\r\n\r\nGET / HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare LF after the request line", OCTETS("GET / HTTP/1.1\nHost: a\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare LF after a field", OCTETS("GET / HTTP/1.1\r\nHost: a\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare LF as the empty line", OCTETS("GET / HTTP/1.1\r\nHost: a\r\n\n"), GUARD_REFUSED, 400 },
	{ "bare LF before the request", OCTETS("\nGET / HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare CR in the request line", OCTETS("GET /\r HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare CR in a value", OCTETS("GET / HTTP/1.1\r\nA: b\rc\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "CR CR LF", OCTETS("GET / HTTP/1.1\r\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "bare CR as the empty line", OCTETS("GET / HTTP/1.1\r\n\rG"), GUARD_REFUSED, 400 },
	{ "NUL first of all", OCTETS("\0GET / HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "NUL in the target", OCTETS("GET /\0 HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "NUL in a value", OCTETS("GET / HTTP/1.1\r\nA: \0\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "NUL in a name", OCTETS("GET / HTTP/1.1\r\nA\0: b\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "DEL in a value", OCTETS("GET / HTTP/1.1\r\nA: \x7f\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "escape in a value", OCTETS("GET / HTTP/1.1\r\nA: \x1b[1m\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "tab in the request line", OCTETS("GET\t/ HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "octet beyond ASCII in the target", OCTETS("GET /\xc3\xa9 HTTP/1.1\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "a folded line", OCTETS("GET / HTTP/1.1\r\nA: b\r\n c\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "a line folded with a tab", OCTETS("GET / HTTP/1.1\r\nA: b\r\n\tc\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "space before the first field", OCTETS("GET / HTTP/1.1\r\n A: b\r\n\r\n"), GUARD_REFUSED, 400 },
	{ "a TLS hello", OCTETS("\x16\x03\x01\x02\x00"), GUARD_REFUSED, 400 },
};
/* clang-format on */

#define N_ROWS (sizeof(rows) / sizeof(*rows))

static enum guard_verdict feed_split(
    struct guard *g, const char *octets, size_t len, size_t split, size_t *used)
{
	size_t more = 0;
	enum guard_verdict verdict = guard_feed(g, octets, split, used);

	if (verdict != GUARD_MORE)
		return verdict;
	cr_expect_eq(*used, split);
	verdict = guard_feed(g, octets + split, len - split, &more);
	*used += more;
	return verdict;
}

Test(guard, judges_as_tabled)
{
	for (size_t i = 0; i < N_ROWS; i++) {
		struct guard g;
		size_t used;

		guard_init(&g);
		cr_expect_eq(guard_feed(&g, rows[i].octets, rows[i].len, &used),
		    rows[i].verdict, "%s", rows[i].name);
		cr_expect_eq(g.refusal.status, rows[i].status, "%s: %d",
		    rows[i].name, g.refusal.status);
		guard_free(&g);
	}
}

Test(guard, judges_the_same_split_at_every_octet)
{
	for (size_t i = 0; i < N_ROWS; i++) {
		for (size_t split = 0; split <= rows[i].len; split++) {
			struct guard whole, parts;
			size_t used_whole, used_parts;

			guard_init(&whole);
			guard_init(&parts);
			guard_feed(
			    &whole, rows[i].octets, rows[i].len, &used_whole);
			cr_expect_eq(feed_split(&parts, rows[i].octets,
					 rows[i].len, split, &used_parts),
			    rows[i].verdict, "%s at %zu", rows[i].name, split);
			cr_expect_eq(used_parts, used_whole, "%s at %zu",
			    rows[i].name, split);
			cr_expect_str_eq(parts.head.data, whole.head.data,
			    "%s at %zu", rows[i].name, split);
			cr_expect_str_eq(parts.refusal.detail,
			    whole.refusal.detail, "%s at %zu", rows[i].name,
			    split);
			guard_free(&whole);
			guard_free(&parts);
		}
	}
}

Test(guard, takes_nothing_behind_the_head)
{
	static const char octets[] =
	    "\r\nGET / HTTP/1.1\r\nHost: a\r\n\r\nGET /next";
	struct guard g;
	size_t used;

	guard_init(&g);
	cr_assert_eq(
	    guard_feed(&g, octets, sizeof(octets) - 1, &used), GUARD_DONE);
	cr_expect_eq(used, strlen(octets) - strlen("GET /next"));
	cr_expect_str_eq(g.head.data, "GET / HTTP/1.1\r\nHost: a\r\n\r\n");
	cr_expect_eq(
	    guard_feed(&g, "x", 1, &used), GUARD_DONE, "done stays done");
	cr_expect_eq(used, 0);
	guard_reset(&g);
	cr_expect_eq(guard_feed(&g, "G", 1, &used), GUARD_MORE);
	cr_expect_str_eq(g.head.data, "G");
	guard_free(&g);
}

Test(guard, knows_when_a_request_has_begun)
{
	struct guard g;
	size_t used;

	guard_init(&g);
	cr_expect_not(guard_has_begun(&g));
	guard_feed(&g, "\r\n", 2, &used);
	cr_expect(guard_has_begun(&g), "an empty line is a beginning");
	guard_feed(&g, "GET / HTTP/1.1\r\n\r\n", 18, &used);
	cr_expect_not(guard_has_begun(&g), "complete");
	guard_free(&g);
}

/* before, so many times c, then after: the verdict and its status. */
static void judge_long(const char *name, const char *before, size_t n,
    const char *after, enum guard_verdict verdict, int status)
{
	size_t len = strlen(before) + n + strlen(after), used;
	char *octets = malloc(len + 1);
	struct guard g;

	memcpy(octets, before, strlen(before));
	memset(octets + strlen(before), 'a', n);
	strcpy(octets + strlen(before) + n, after);
	guard_init(&g);
	cr_expect_eq(guard_feed(&g, octets, len, &used), verdict, "%s", name);
	cr_expect_eq(
	    g.refusal.status, status, "%s: %d", name, g.refusal.status);
	guard_free(&g);
	free(octets);
}

Test(guard, stops_at_the_octet_that_passes_a_limit)
{
	static const char end[] = " HTTP/1.1\r\n\r\n",
			  line[] = "GET / HTTP/1.1\r\n";

	judge_long("target of 8000", "GET /", 7999, end, GUARD_DONE, 0);
	judge_long("target of 8001", "GET /", 8000, end, GUARD_REFUSED, 414);
	judge_long(
	    "target of 8001, no end", "GET /", 8000, "", GUARD_REFUSED, 414);
	judge_long(
	    "method of 64", "", 64, " / HTTP/1.1\r\n\r\n", GUARD_DONE, 0);
	judge_long("method of 65", "", 65, "", GUARD_REFUSED, 501);
	judge_long("field of 8192", "GET / HTTP/1.1\r\nX: ", 8189, "\r\n\r\n",
	    GUARD_DONE, 0);
	judge_long("field of 8193", "GET / HTTP/1.1\r\nX: ", 8190, "",
	    GUARD_REFUSED, 431);
	judge_long(
	    "no version in sight", "GET / HTTP/", 12, "", GUARD_REFUSED, 400);
	judge_long("nothing but a line", line, 0, "", GUARD_MORE, 0);
}

static enum guard_verdict feed_fields(struct guard *g, int n, size_t len)
{
	size_t used;
	char field[600];

	memset(field, 'x', sizeof(field));
	field[1] = ':';
	memcpy(field + len - 2, "\r\n", 2);
	guard_init(g);
	guard_feed(g, "GET / HTTP/1.1\r\n", 16, &used);
	for (int i = 0; i < n; i++)
		guard_feed(g, field, len, &used);
	return guard_feed(g, "\r\n", 2, &used);
}

Test(guard, counts_fields_and_their_octets)
{
	struct guard g;

	cr_expect_eq(feed_fields(&g, 100, 10), GUARD_DONE);
	guard_free(&g);
	cr_expect_eq(feed_fields(&g, 101, 10), GUARD_REFUSED);
	cr_expect_eq(g.refusal.status, 431);
	guard_free(&g);
	cr_expect_eq(feed_fields(&g, 32, 512), GUARD_DONE, "32 x 512 = 16384");
	guard_free(&g);
	cr_expect_eq(feed_fields(&g, 33, 512), GUARD_REFUSED);
	cr_expect_eq(g.refusal.status, 431);
	guard_free(&g);
}
