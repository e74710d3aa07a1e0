/* SPDX-License-Identifier: MIT */
/*
 * Text that stops at its limit, names that cannot break a line, log values that cannot
 * forge one, and arenas.
 */
#include "text.h"

#include <criterion/criterion.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "err.h"
#include "log.h"

Test(text, drops_whole_what_does_not_fit)
{
	struct text t;
	text_init(&t, 10);
	text_add(&t, "12345");
	cr_expect(text_fits(&t));
	text_add(&t, "678901");
	cr_expect(!text_fits(&t));
	cr_expect_str_eq(t.data, "12345");
	text_add(&t, "67890");
	cr_expect_str_eq(t.data, "1234567890");
	cr_expect(!text_fits(&t), "a cut is remembered");
	text_addf(&t, "%d", 1);
	cr_expect_eq(t.len, 10);
	text_free(&t);
	cr_expect_str_eq(t.data, "");
}

/* Malformed sequences as in RFC 3629 section 10 and the Unicode Standard, table 3-7. */
Test(text, knows_utf8)
{
	static const struct {
		const char *s;
		bool valid, line;
	} rows[] = {
	    {"plain", true, true},
	    {"gr\xC3\xBCn \xE2\x82\xAC \xF0\x9F\x8E\xA8", true, true},
	    {"\xC0\xAF", false, false},
	    {"\xE0\x80\xAF", false, false},
	    {"\xF0\x80\x80\xAF", false, false},
	    {"\xED\xA0\x80", false, false},
	    {"\xF4\x90\x80\x80", false, false},
	    {"\xE2\x82", false, false},
	    {"\x80", false, false},
	    {"\xFF", false, false},
	    {"two\nlines", true, false},
	    {"tab\there", true, false},
	    {"\x7F", true, false},
	    {"\xC2\x85", true, false},
	    {"\xE2\x80\xA8", true, false},
	    {"\xE2\x80\xAE", true, false},
	    {"\xE2\x81\xA6", true, false},
	    {"\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D", true, true},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		size_t len = strlen(rows[i].s);
		cr_expect_eq(
		    utf8_is_valid(rows[i].s, len), rows[i].valid, "row %zu", i);
		cr_expect_eq(
		    utf8_is_line(rows[i].s, len), rows[i].line, "row %zu", i);
	}
	cr_expect_eq(utf8_length("gr\xC3\xBCn"), 4);
}

Test(log, value_cannot_forge_a_line)
{
	char buf[LOG_VALUE_MAX];
	cr_expect_str_eq(
	    log_value(buf, "a\nlevel=info"), "\"a\\x0alevel=info\"");
	cr_expect_str_eq(
	    log_value(buf, "say \"hi\"\\"), "\"say \\\"hi\\\"\\\\\"");
	cr_expect_str_eq(log_value(buf, "\xFF\xFE"), "\"\\xff\\xfe\"");
	cr_expect_str_eq(log_value(buf, "gr\xC3\xBCn"), "\"gr\xC3\xBCn\"");
	char longer[1000];
	memset(longer, '\n', sizeof(longer));
	longer[999] = '\0';
	cr_expect_eq(strlen(log_value(buf, longer)), 802,
	    "200 bytes of four characters in quotes");
	memset(longer, 'x', 199);
	memcpy(longer + 199, "\xC3\xBC", 3);
	cr_expect_eq(strlen(log_value(buf, longer)), 201,
	    "a character is not cut in two");
}

Test(arena, tells_whoever_counts_what_it_takes)
{
	size_t held = 0;
	struct arena *a = arena_new(1 << 20), *b = arena_new(1 << 20);

	arena_alloc(a, 100000);
	arena_meter(a, &held);
	cr_expect(held >= 100000, "%zu", held);
	arena_meter(b, &held);
	for (int i = 0; i < 1000; i++)
		arena_alloc(b, 100);
	cr_expect(held >= 200000 && held < 400000, "%zu", held);
	arena_delete(a);
	cr_expect(held >= 100000 && held < 300000, "%zu", held);
	arena_delete(b);
	cr_expect_eq(held, 0);
}

Test(arena, holds_large_and_small_zeroed)
{
	struct arena *a = arena_new(4 << 20);
	for (size_t i = 1; i < 2000; i++) {
		unsigned char *p = arena_alloc(a, i);
		cr_assert_eq((uintptr_t)p % 16, 0);
		for (size_t j = 0; j < i; j++)
			cr_assert_eq(p[j], 0);
		memset(p, 0xAA, i);
	}
	cr_expect_str_eq(arena_printf(a, "%d sheets", 12), "12 sheets");
	arena_delete(a);
	arena_delete(NULL);
}

Test(err, is_cut_between_characters)
{
	struct err err;
	char longer[600];
	memset(longer, 'x', sizeof(longer));
	memcpy(longer + 510, "\xC3\xBC", 3);
	cr_expect(!err_set(&err, ERR_INPUT, "%s", longer));
	cr_expect(utf8_is_valid(err.text, strlen(err.text)));
	err_hint(&err, "Do this.");
	err_field(&err, "/a/%d", 3);
	cr_expect_str_eq(err.field, "/a/3");
	err_set(&err, ERR_BUSY, "again");
	cr_expect_str_eq(err.hint, "", "a new failure has no old advice");
	err_clear(&err);
	cr_expect_eq(err.kind, ERR_NONE);
}
