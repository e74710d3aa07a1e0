/* SPDX-License-Identifier: MIT */
/*
 * Lengths and money against the table of checks (each row names its source there), and
 * the two promises that no table can hold: printing and parsing are inverse, and what
 * is refused leaves nothing behind.
 */
#include "measure.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "csv.h"

#define CHECKS DATA_DIR "/trade/checks.csv"

static bool parse(const char *s, length *out, struct err *err)
{
	return length_parse(s, strlen(s), out, err);
}

/* "12 1/2 in -> u" against "101600" or "refuse". */
static void check_to_units(
    const char *id, const char *from, const char *expected)
{
	struct err err = {0};
	length l = -1;
	bool ok = parse(from, &l, &err);
	if (strcmp(expected, "refuse") == 0) {
		cr_expect(
		    !ok, "%s: \"%s\" is taken as %lld", id, from, (long long)l);
		cr_expect(err.kind == ERR_INPUT && err.text[0],
		    "%s: refused without a reason", id);
		cr_expect_eq(l, -1, "%s: a refusal wrote a length", id);
		return;
	}
	cr_expect(ok, "%s: \"%s\" is refused: %s", id, from, err.text);
	char digits[32];
	snprintf(digits, sizeof(digits), "%lld", (long long)l);
	cr_expect_str_eq(digits, expected, "%s: \"%s\"", id, from);
}

/* "101600 u -> in" against "12 1/2 in". */
static void check_from_units(
    const char *id, long long units, const char *to, const char *expected)
{
	char buf[LENGTH_TEXT_MAX];
	enum measure_system sys =
	    strcmp(to, "in") == 0 ? MEASURE_INCH : MEASURE_MM;
	cr_expect_str_eq(length_print(buf, units, sys), expected, "%s", id);
}

/* "760 mm -> in, nearest 1/16" against "29 15/16 in": ours says with ~ that it is not exact. */
static void check_nearest(
    const char *id, const char *from, const char *to, const char *expected)
{
	char buf[LENGTH_TEXT_MAX];
	struct err err;
	length l = 0;
	cr_assert(parse(from, &l, &err), "%s: %s", id, err.text);
	bool inch = strncmp(to, "in", 2) == 0;
	length step = inch ? INCH / 16 : MM / 10;
	const char *shown =
	    length_print_about(buf, l, step, inch ? MEASURE_INCH : MEASURE_MM);
	shown += *shown == '~';
	char plain[64];
	snprintf(plain, sizeof(plain), "%s", expected);
	char *zero = strstr(plain,
	    ".0 mm"); /* the table keeps one decimal, we write the shortest */
	if (zero)
		memmove(zero, zero + 2, strlen(zero + 2) + 1);
	cr_expect_str_eq(shown, plain, "%s: %s", id, from);
}

static void check_convert(
    const char *id, const char *input, const char *expected)
{
	const char *arrow = strstr(input, "-> ");
	cr_assert(arrow, "%s: no arrow", id);
	char from[128];
	snprintf(from, sizeof(from), "%.*s", (int)(arrow - input), input);
	long long units;
	char u = 0;
	if (strstr(arrow, "nearest"))
		check_nearest(id, from, arrow + 3, expected);
	else if (sscanf(from, "%lld %c", &units, &u) == 2 && u == 'u')
		check_from_units(id, units, arrow + 3, expected);
	else
		check_to_units(id, from, expected);
}

Test(measure, converts_as_tabled)
{
	struct csv *csv = csv_open(CHECKS);
	size_t rows = 0;
	while (csv_next(csv)) {
		if (strcmp(csv_field(csv, 1), "convert") != 0)
			continue;
		check_convert(
		    csv_field(csv, 0), csv_field(csv, 2), csv_field(csv, 3));
		rows++;
	}
	csv_close(csv);
	cr_expect_eq(rows, 172, "the table has %zu rows of conversions", rows);
}

Test(measure, torn_size_is_size_and_margin_on_both_sides)
{
	struct csv *csv = csv_open(CHECKS);
	size_t rows = 0;
	while (csv_next(csv)) {
		char across[32], along[32], margin[32], expected[64];
		if (sscanf(csv_field(csv, 2),
			"finished %31[^x]x %31[^m]margin %31[^-]->", across,
			along, margin) != 3)
			continue;
		struct err err = {0};
		length a = 0, b = 0, m = 0;
		/* "margin" begins with the m of mm: sizes in mm are read by the unit before it */
		if (!parse(across, &a, &err) || !parse(along, &b, &err) ||
		    !parse(margin, &m, &err))
			continue;
		snprintf(expected, sizeof(expected), "%lld u x %lld u",
		    (long long)(a + 2 * m), (long long)(b + 2 * m));
		cr_expect_str_eq(
		    expected, csv_field(csv, 3), "%s", csv_field(csv, 0));
		rows++;
	}
	csv_close(csv);
	cr_expect_gt(rows, 3, "%zu rows", rows);
}

Test(measure, reads_what_people_type)
{
	static const struct {
		const char *text;
		length expected;
	} rows[] = {
	    {"12\xC2\xBD in", 101600},
	    {"12 \xC2\xBD\xE2\x80\xB3", 101600},
	    {"\xC2\xBE in", 6096},
	    {"12 1\xE2\x81\x84"
	     "2 in",
		101600},
	    {"12-1/2 in", 101600},
	    {"12 1/2\"", 101600},
	    {"3'", 36 * INCH},
	    {"1 ft", 12 * INCH},
	    {"30 CM", 96000},
	    {"9.15 m", 2928000},
	    {"12 in.", 12 * INCH},
	    {"12\xC2\xA0in", 12 * INCH},
	    {".5 in", INCH / 2},
	    {"24/2 in", 12 * INCH},
	    {"1000 m", LENGTH_MAX},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct err err = {0};
		length l = 0;
		cr_expect(parse(rows[i].text, &l, &err), "\"%s\": %s",
		    rows[i].text, err.text);
		cr_expect_eq(l, rows[i].expected, "\"%s\" gave %lld",
		    rows[i].text, (long long)l);
	}
}

Test(measure, refuses_with_the_value_named)
{
	static const char *const rows[] = {"0 in", "0.0 mm", "1000.1 m",
	    "12 -1/2 in", "- 3 in", "+3 in", "nan mm", "inf in", "0x10 mm",
	    "1 in 2 in", "1 2 in", "1/ in", "/2 in", "12 mm x", "5 m m",
	    "1. in", "in 5", "\xC2\xBD\xC2\xBD in", "1/2\xC2\xBD in",
	    "\xFF\xFE in", "999999999999999999999999 in",
	    "1/99999999999999999999 in", "1 000 mm"};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct err err = {0};
		length l = -1;
		cr_expect(!parse(rows[i], &l, &err), "\"%s\" is taken as %lld",
		    rows[i], (long long)l);
		cr_expect(strstr(err.text, rows[i]) || strlen(rows[i]) > 40,
		    "\"%s\": %s", rows[i], err.text);
	}
	struct err err = {0};
	length l = -1;
	cr_expect(
	    !length_parse("12\0 in", 6, &l, &err), "a zero byte is no blank");
	cr_expect(length_parse_or_zero("0 in", 4, &l, &err) && l == 0,
	    "a margin may be zero");
}

/* Steele's and Vigna's generators are overkill here: Lehmer's, modulus 2^31 - 1 (Park and Miller 1988). */
static uint64_t step(uint64_t *seed)
{
	return *seed = *seed * 48271 % 2147483647;
}

Test(measure, printing_and_parsing_are_inverse)
{
	uint64_t seed = 20261125;
	for (int i = 0; i < 30000; i++) {
		length l =
		    (length)(step(&seed) * step(&seed) % (uint64_t)LENGTH_MAX) +
		    1;
		if (i % 3 == 0)
			l = l / 127 * 127 + 127;
		if (i % 7 == 0)
			l = l % (4 * INCH) + 1;
		for (int sys = MEASURE_INCH; sys <= MEASURE_CM; sys++) {
			char buf[LENGTH_TEXT_MAX];
			struct err err = {0};
			length back = 0;
			length_print(buf, l, (enum measure_system)sys);
			cr_assert(parse(buf, &back, &err),
			    "seed 20261125 step %d: \"%s\": %s", i, buf,
			    err.text);
			cr_assert_eq(back, l,
			    "seed 20261125 step %d: %lld became \"%s\"", i,
			    (long long)l, buf);
		}
	}
}

Test(measure, snaps_up_and_never_down)
{
	for (length l = 0; l < 3 * INCH; l += 61) {
		length s = length_snap_up(l, INCH / 16);
		cr_assert(s >= l && s < l + INCH / 16 &&
			      length_on_ruler(s, INCH / 16),
		    "%lld", (long long)l);
	}
}

Test(money, has_the_decimals_of_iso_4217)
{
	struct csv *csv = csv_open(CHECKS);
	size_t rows = 0;
	while (csv_next(csv)) {
		char code[8];
		if (sscanf(csv_field(csv, 2), "minor digits %7s", code) != 1)
			continue;
		char digits[8];
		snprintf(digits, sizeof(digits), "%d", currency_exponent(code));
		cr_expect_str_eq(digits, csv_field(csv, 3), "%s", code);
		rows++;
	}
	csv_close(csv);
	cr_expect_eq(rows, 15);
	cr_expect_eq(currency_exponent("XAU"), -1,
	    "gold is not a currency to charge in");
	cr_expect_eq(currency_exponent("usd"), -1);
	cr_expect_eq(currency_exponent("US"), -1);
	cr_expect_eq(currency_exponent("D U"), -1,
	    "the list is not searched across its blanks");
}

Test(money, is_written_in_full)
{
	static const struct {
		money m;
		const char *code, *expected;
	} rows[] = {
	    {16200, "USD", "162.00 USD"},
	    {-5, "EUR", "-0.05 EUR"},
	    {0, "JPY", "0 JPY"},
	    {1200, "JPY", "1200 JPY"},
	    {1234, "KWD", "1.234 KWD"},
	    {7, "XXX", "7 minor units"},
	    {INT64_MIN, "USD", "-92233720368547758.08 USD"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		char buf[MONEY_TEXT_MAX];
		cr_expect_str_eq(money_print(buf, rows[i].m, rows[i].code),
		    rows[i].expected);
	}
}

Test(money, is_read_exactly_or_not_at_all)
{
	static const struct {
		const char *text, *code;
		money expected; /* -1: refused */
	} rows[] = {
	    {"162", "USD", 16200},
	    {"162.5", "USD", 16250},
	    {"162.00 USD", "USD", 16200},
	    {"1200", "JPY", 1200},
	    {"1.234", "KWD", 1234},
	    {"-5.50", "EUR", -550},
	    {"1.5", "JPY", -1},
	    {"1.234", "USD", -1},
	    {"1,50", "EUR", -1},
	    {"162 EUR", "USD", -1},
	    {"", "USD", -1},
	    {"1e3", "USD", -1},
	    {"99999999999999999999", "USD", -1},
	    {"5", "XYZ", -1},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct err err = {0};
		money m = -1;
		bool ok = money_parse(
		    rows[i].text, strlen(rows[i].text), rows[i].code, &m, &err);
		cr_expect_eq(m, rows[i].expected, "\"%s\" %s gave %lld",
		    rows[i].text, rows[i].code, (long long)m);
		cr_expect_eq(ok, rows[i].expected != -1, "\"%s\": %s",
		    rows[i].text, err.text);
	}
}
