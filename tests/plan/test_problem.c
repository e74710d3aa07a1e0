/* SPDX-License-Identifier: MIT */
/* The JSON door of a problem: what comes in, and what is refused with which words. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "draw.h"
#include "problem.h"

static const char example[] =
    "{\"stages\": 2, \"prefer\": \"price\","
    " \"stock\": [{\"name\": \"roll\", \"width\": \"45 in\", \"length\": \"10 "
    "yd\", \"price\": 19200,"
    "  \"available\": null}, {\"name\": \"end\", \"width\": 365760, "
    "\"length\": \"2 yd\","
    "  \"price\": 0, \"available\": 1, \"spoiled\": [[\"10 in\", \"12 in\"]]}],"
    " \"pieces\": [{\"name\": \"A\", \"across\": \"9 in\", \"along\": \"12 1/2 "
    "in\", \"count\": 10,"
    "  \"turn\": true}], \"sliver\": \"1/2 in\", \"oversize\": 0, \"seconds\": "
    "2.5}";

Test(problem, is_read_with_its_units)
{
	struct problem *p = NULL;
	struct err err;

	cr_assert(problem_read(example, strlen(example), &p, NULL, &err), "%s",
	    err.text);
	cr_expect(p->stages == 2 && p->prefer_price);
	cr_expect(
	    p->stock[0].width == 45 * INCH && p->stock[0].length == 10 * YARD);
	cr_expect(p->stock[0].fresh && !p->stock[1].fresh);
	cr_expect(
	    p->stock[0].available == UNLIMITED && p->stock[1].available == 1);
	cr_expect(p->stock[1].n_spoiled == 1 &&
		  p->stock[1].spoiled[0].to == 12 * INCH);
	cr_expect(
	    p->pieces[0].along == 12 * INCH + INCH / 2 && p->pieces[0].turn);
	cr_expect(p->sliver == INCH / 2 && p->oversize == 0 &&
		  p->milliseconds == 2500);
	problem_delete(p);
}

static char *written(const struct problem *p)
{
	struct text t;

	text_init(&t, PROBLEM_TEXT_MAX);
	problem_write(p, &t);
	return text_take(&t);
}

Test(problem, is_the_same_after_writing_and_reading)
{
	for (uint64_t seed = 1; seed <= 200; seed++) {
		struct problem *p = draw_tiny(seed), *q;
		char *first = written(p), *second;
		struct err err;

		cr_assert(problem_read(first, strlen(first), &q, NULL, &err),
		    "seed %lu: %s", seed, err.text);
		second = written(q);
		cr_expect_str_eq(first, second, "seed %lu", seed);
		free(first);
		free(second);
		problem_delete(p);
		problem_delete(q);
	}
}

#define STOCK "\"stock\": [{\"width\": 100, \"length\": 100}]"
#define PIECES "\"pieces\": [{\"across\": 10, \"along\": 10, \"count\": 1}]"

Test(problem, is_refused_with_the_place_and_the_reason)
{
	static const struct {
		const char *json, *field, *word;
	} rows[] = {
	    {"", "", "not JSON"},
	    {"[1]", "", "an object"},
	    {"{} x", "", "not JSON"},
	    {"{\"stages\": 2, \"stages\": 3, " STOCK ", " PIECES "}", "",
		"duplicate"},
	    {"{" PIECES "}", "/stock", "missing"},
	    {"{" STOCK "}", "/pieces", "missing"},
	    {"{" STOCK ", \"pieces\": []}", "/pieces", "0 entries"},
	    {"\xef\xbb\xbf{" STOCK ", " PIECES "}", "", "not JSON"},
	    {"\xff\xfe{", "", "not JSON"},
	    {"{" STOCK ", " PIECES ", \"a\xff\": 1}", "", "not JSON"},
	    {"{" STOCK ", " PIECES ", \"prefer\": \"\\u0000\"}", "",
		"not allowed"},
	    {"{" STOCK ", " PIECES ", \"a/b~c\": 1}", "/a~1b~0c",
		"unknown key \"a/b~c\""},
	    {"{" STOCK ", " PIECES ", \"\xc3\xbc\\u0007x\": 1}", "/\xc3\xbc?x",
		"unknown key \"\xc3\xbc?x\""},
	    {"null", "", "not JSON"},
	    {"{\"stock\": {}, " PIECES "}", "/stock", "an object"},
	    {"{\"stock\": [\"roll\"], " PIECES "}", "/stock/0", "a string"},
	    {"{" STOCK ", \"pieces\": [null]}", "/pieces/0", "null"},
	    {"{" STOCK ", " PIECES ", \"prefer\": 1}", "/prefer",
		"a whole number"},
	    {"{" STOCK ", " PIECES ", \"estimate\": 1}", "/estimate",
		"true or false"},
	    {"{" STOCK ", " PIECES ", \"colour\": 1}", "/colour",
		"unknown key \"colour\""},
	    {"{" STOCK ", " PIECES ", \"stages\": 4}", "/stages", "2 or 3"},
	    {"{" STOCK ", " PIECES ", \"stages\": 2.0}", "/stages", "fraction"},
	    {"{" STOCK ", " PIECES ", \"sliver\": -1}", "/sliver", "-1"},
	    {"{" STOCK ", " PIECES ", \"prefer\": \"speed\"}", "/prefer",
		"\"speed\""},
	    {"{" STOCK ", " PIECES ", \"seconds\": 0}", "/seconds", "seconds"},
	    {"{" STOCK ", " PIECES ", \"seconds\": 1e99}", "/seconds", "1e+99"},
	    {"{" STOCK ", " PIECES ", \"seconds\": NaN}", "", "not JSON"},
	    {"{" STOCK ", \"pieces\": [{\"across\": \"1/3 in\", \"along\": 1, "
	     "\"count\": 1}]}",
		"/pieces/0/across", "1/3"},
	    {"{" STOCK
	     ", \"pieces\": [{\"across\": 0, \"along\": 1, \"count\": 1}]}",
		"/pieces/0/across", "across is 0"},
	    {"{" STOCK
	     ", \"pieces\": [{\"across\": 1, \"along\": 1, \"count\": 0}]}",
		"/pieces/0/count", "count is 0"},
	    {"{" STOCK
	     ", \"pieces\": [{\"across\": 1, \"along\": 1, \"count\": 1e3}]}",
		"/pieces/0/count", "fraction"},
	    {"{" STOCK ", \"pieces\": [{\"across\": 1, \"along\": 1}]}",
		"/pieces/0/count", "missing"},
	    {"{" STOCK ", \"pieces\": [{\"across\": 320000001, \"along\": 1, "
	     "\"count\": 1}]}",
		"/pieces/0/across", "1 km"},
	    {"{" STOCK ", \"pieces\": [{\"across\": 99999999999999999999, "
	     "\"along\": 1, \"count\": 1}]}",
		"", "too big"},
	    {"{" STOCK ", \"pieces\": [[[[[]]]]]}", "/pieces/0", "an array"},
	    {"{" STOCK
	     ", \"pieces\": [{\"across\": 1, \"along\": 1, \"count\": 600000},"
	     " {\"across\": 1, \"along\": 1, \"count\": 600000}]}",
		"/pieces", "1200000"},
	    {"{" STOCK ", \"pieces\": [{\"name\": \"a\\u0007\", \"across\": 1, "
	     "\"along\": 1, \"count\": "
	     "1}]}",
		"/pieces/0/name", "printable"},
	    {"{\"stock\": [{\"width\": 1, \"length\": 1, \"price\": "
	     "-5}], " PIECES "}",
		"/stock/0/price", "-5"},
	    {"{\"stock\": [{\"width\": 1, \"length\": 1, \"available\": "
	     "-1}], " PIECES "}",
		"/stock/0/available", "available is -1,"},
	    {"{\"stock\": [{\"width\": 1, \"length\": 9, \"spoiled\": [[3, "
	     "2]]}], " PIECES "}",
		"/stock/0/spoiled/0", "3 to 2"},
	    {"{\"stock\": [{\"width\": 1, \"length\": 9, \"spoiled\": [[3, 5], "
	     "[4, 6]]}], " PIECES "}",
		"/stock/0/spoiled/1", "before"},
	    {"{\"stock\": [{\"width\": 1, \"length\": 9, \"spoiled\": [3, "
	     "5]}], " PIECES "}",
		"/stock/0/spoiled/0", "[from, to]"},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct problem *p;
		struct err err;

		if (problem_read(
			rows[i].json, strlen(rows[i].json), &p, NULL, &err)) {
			cr_expect(false, "let through: %s", rows[i].json);
			problem_delete(p);
			continue;
		}
		cr_expect(err.kind == ERR_INPUT, "%s", rows[i].json);
		cr_expect_str_eq(
		    err.field, rows[i].field, "%s: %s", rows[i].json, err.text);
		cr_expect(strstr(err.text, rows[i].word) != NULL,
		    "%s: \"%s\" lacks \"%s\"", rows[i].json, err.text,
		    rows[i].word);
	}
}

/* What is no length must not become one: neither words for numbers nor other notations. */
Test(problem, refuses_text_that_is_no_length)
{
	static const char *const texts[] = {"NaN", "nan in", "inf mm",
	    "-inf in", "1e3 mm", "0x10 in", "1,5 in", "1.5.2 mm", "12 1/0 in",
	    "12 1/3 in", "in", "", " ", "1 in in", "1 furlong", "-1 in",
	    "+-1 in", "9999999999999999999 in", "1/9999999999999999999 in",
	    "0 in"};

	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++) {
		struct problem *p = NULL;
		struct text json;
		struct err err;

		text_init(&json, 4096);
		text_addf(&json,
		    "{" STOCK ", \"pieces\": [{\"across\": \"%s\", "
		    "\"along\": 1, \"count\": 1}]}",
		    texts[i]);
		cr_expect(!problem_read(json.data, json.len, &p, NULL, &err),
		    "let through: \"%s\"", texts[i]);
		cr_expect_str_eq(err.field, "/pieces/0/across", "\"%s\": %s",
		    texts[i], err.text);
		problem_delete(p);
		text_free(&json);
	}
}

/* A million brackets are refused before they become a tree. */
Test(problem, refuses_what_is_nested_without_end)
{
	enum { DEEP = 1000000 };
	char *json = malloc(DEEP + 1);
	struct problem *p = NULL;
	struct err err;

	memset(json, '[', DEEP);
	json[DEEP] = '\0';
	cr_expect(!problem_read(json, DEEP, &p, NULL, &err));
	cr_expect(err.kind == ERR_INPUT && strstr(err.text, "not JSON") != NULL,
	    "%s", err.text);
	for (size_t i = 0; i + 5 <= DEEP; i += 5)
		memcpy(json + i, "{\"a\":", 5);
	cr_expect(!problem_read(json, DEEP, &p, NULL, &err));
	free(json);
}

Test(problem, tells_the_first_ten_of_thousands_of_errors)
{
	struct text json, more;
	struct problem *p;
	struct err err;
	size_t lines = 0;

	text_init(&json, 1 << 20);
	text_init(&more, 1 << 16);
	text_add(&json, "{" STOCK ", \"pieces\": [");
	for (int i = 0; i < 5000; i++)
		text_addf(&json,
		    "%s{\"across\": -%d, \"along\": \"x\", \"wide\": 1}",
		    i > 0 ? "," : "", i);
	text_add(&json, "]}");
	cr_assert(!problem_read(json.data, json.len, &p, &more, &err));
	for (size_t i = 0; i < more.len; i++)
		lines += more.data[i] == '\n';
	cr_expect(lines == 10, "%zu lines:\n%s", lines, more.data);
	cr_expect_str_eq(err.field, "/pieces/0/wide");
	text_free(&json);
	text_free(&more);
}

/* Misspelt keys and numbers out of range in one file are told together. */
Test(problem, tells_mistakes_of_every_sort_at_once)
{
	static const char json[] =
	    "{\"stock\": [{\"width\": 10, \"length\": 10, \"price\": -1, "
	    "\"spoiled\": [[1, 2, 3]], \"wdth\": 1}],"
	    "\"pieces\": [{\"across\": 1, \"along\": 0, \"count\": 0}]}";
	static const char *const places[] = {
	    "/stock/0/wdth:", "/stock/0/spoiled/0:", "/stock/0/price:",
	    "/pieces/0/along:", "/pieces/0/count:"};
	struct problem *p = NULL;
	struct text more;
	struct err err;
	size_t lines = 0;

	text_init(&more, 1 << 16);
	cr_assert(!problem_read(json, strlen(json), &p, &more, &err));
	for (size_t i = 0; i < sizeof(places) / sizeof(places[0]); i++)
		cr_expect(strstr(more.data, places[i]) != NULL, "%s in\n%s",
		    places[i], more.data);
	for (size_t i = 0; i < more.len; i++)
		lines += more.data[i] == '\n';
	cr_expect_eq(lines, 5, "%s", more.data);
	text_free(&more);
}

Test(problem, check_refuses_what_the_reader_refuses)
{
	struct problem *p = draw_tiny(1);
	struct err err;

	cr_expect(problem_check(p, &err));
	p->pieces[0].along = 0;
	cr_expect(!problem_check(p, &err));
	cr_expect_str_eq(err.field, "/pieces/0/along");
	problem_delete(p);
}
