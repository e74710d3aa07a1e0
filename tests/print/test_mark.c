/* SPDX-License-Identifier: MIT */
#include <criterion/criterion.h>
#include <string.h>

#include "mark.h"
#include "sheet.h"

Test(mark, is_printed_exactly_or_flagged)
{
	static const struct {
		const char *what;
		length mark;
		enum measure_system system;
		length step;
		const char *text;
		enum mark_kind kind;
	} rows[] = {
	    {"on a ruler with sixteenths", 12 * INCH + INCH / 2, MEASURE_INCH,
		INCH / 16, "12 1/2 in", MARK_ON_RULER},
	    {"a thirty-second on sixteenths", INCH / 32, MEASURE_INCH,
		INCH / 16, "1/32 in", MARK_BETWEEN},
	    {"the same on a finer ruler", INCH / 32, MEASURE_INCH, INCH / 32,
		"1/32 in", MARK_ON_RULER},
	    {"millimetres on an inch ruler", 200 * MM, MEASURE_INCH, INCH / 16,
		"200 mm", MARK_OTHER_SIDE},
	    {"half a millimetre", 200 * MM + MM / 2, MEASURE_INCH, INCH / 16,
		"200.5 mm", MARK_OTHER_SIDE},
	    {"a tenth lies between", 200 * MM + MM / 10, MEASURE_INCH,
		INCH / 16, "200.1 mm", MARK_BETWEEN},
	    {"inches on a metric ruler", 9 * INCH + INCH / 2, MEASURE_CM, MM,
		"9 1/2 in", MARK_OTHER_SIDE},
	    {"centimetres", 415 * MM, MEASURE_CM, MM, "41.5 cm", MARK_ON_RULER},
	    {"one unit, 1/320 mm", 1, MEASURE_MM, MM, "0.003125 mm",
		MARK_BETWEEN},
	    {"five inches are 127 mm: on both sides", 5 * INCH, MEASURE_MM, MM,
		"127 mm", MARK_ON_RULER},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		char buf[LENGTH_TEXT_MAX];
		struct ruler ruler = {rows[i].system, rows[i].step};
		enum mark_kind kind = mark_print(buf, rows[i].mark, &ruler);
		cr_expect_str_eq(buf, rows[i].text, "%s", rows[i].what);
		cr_expect_eq(kind, rows[i].kind, "%s", rows[i].what);
	}
}

/* Whatever the ruler, reading the mark gives the length: nothing is rounded. */
Test(mark, reads_back_as_the_same_length)
{
	static const length steps[] = {
	    INCH / 8, INCH / 16, INCH / 32, MM, MM / 2};
	static const enum measure_system systems[] = {
	    MEASURE_INCH, MEASURE_MM, MEASURE_CM};
	for (length l = 1; l < 400000; l += 37) {
		for (size_t i = 0; i < 15; i++) {
			char buf[LENGTH_TEXT_MAX];
			struct ruler ruler = {systems[i % 3], steps[i / 3]};
			struct err err;
			length back = 0;
			mark_print(buf, l, &ruler);
			cr_assert(length_parse(buf, strlen(buf), &back, &err),
			    "%s", buf);
			cr_assert_eq(back, l, "%s", buf);
		}
	}
}

Test(mark, lies_between_the_lines_that_are_named)
{
	struct ruler ruler = {MEASURE_INCH, INCH / 16};
	char buf[MARK_TEXT_MAX];
	cr_expect_str_eq(mark_between(buf, 12 * INCH + INCH / 32, &ruler),
	    "between 12 in and 12 1/16 in");
	cr_expect_str_eq(mark_between(buf, INCH / 64, &ruler), "below 1/16 in");
}

Test(mark, is_never_broken_across_lines)
{
	static const struct {
		const char *text;
		size_t n;
	} rows[] = {{"12 1/2 in, 25 in", 9}, {"1/2 in", 6}, {"31.7 cm.", 7},
	    {"3,1 kg", 6}, {"12 pieces", 0}, {"7 mmm", 0}, {"in", 0},
	    {"9 in", 4}, {"9", 0}, {"9 1/2", 0}, {"", 0}};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		cr_expect_eq(
		    mark_span(rows[i].text), rows[i].n, "%s", rows[i].text);
}

Test(mark, sizes_share_a_unit_where_they_can)
{
	struct ruler ruler = {MEASURE_INCH, INCH / 16};
	char buf[MARK_TEXT_MAX];
	cr_expect_str_eq(
	    mark_print_size(buf, 9 * INCH, 12 * INCH + INCH / 2, &ruler, "x"),
	    "9 x 12 1/2 in");
	cr_expect_str_eq(mark_print_size(buf, 200 * MM, 14 * INCH, &ruler, "x"),
	    "200 x 355.6 mm");
	cr_expect_str_eq(mark_print_size(buf, 200 * MM, INCH / 16, &ruler, "x"),
	    "200 mm x 1/16 in");
}

/* 15 in on a roll 45 in wide takes three or four placements: the trade's own example. */
Test(mark, straightedge_is_laid_as_often_as_it_must)
{
	struct aim aim = aim_for(45 * INCH, 15 * INCH, MEASURE_INCH);
	cr_expect_eq(aim.placements, 4);
	cr_expect_eq(aim.spacing, 11 * INCH + INCH / 2);
	aim = aim_for(45 * INCH, 48 * INCH, MEASURE_INCH);
	cr_expect_eq(aim.placements, 1);
	cr_expect_leq(aim.spacing, 12 * INCH);
	aim = aim_for(10 * INCH, 0, MEASURE_INCH);
	cr_expect_eq(aim.placements, 1);
	cr_expect_eq(aim.spacing, 0);
	/* always: two marks, or an edge and a mark, lie under each placement */
	for (length edge = 4 * INCH; edge < 60 * INCH; edge += INCH / 2) {
		for (length tear = INCH; tear < 70 * INCH; tear += 3 * INCH) {
			aim = aim_for(tear, edge, MEASURE_INCH);
			length gap = aim.spacing ? aim.spacing : tear;
			cr_expect(
			    edge >= tear ? aim.placements == 1 : gap < edge,
			    "%lld over %lld", (long long)edge, (long long)tear);
			/* placements, each three quarters over the next, cover the tear */
			cr_expect_geq(
			    edge + (aim.placements - 1) * (edge - edge / 4),
			    tear);
		}
	}
}

/* Rolls of 10 yd: 45 in at 300 and 640 g/m2, 60 in at 300; mass is area times grammage (ISO 536). */
Test(mark, rolls_weigh_what_the_arithmetic_says)
{
	cr_expect_eq(weight_grams(45 * INCH, 360 * INCH, 300), 3140);
	cr_expect_eq(weight_grams(45 * INCH, 360 * INCH, 640), 6690);
	cr_expect_eq(weight_grams(60 * INCH, 360 * INCH, 300), 4180);
	cr_expect_eq(weight_grams(1000 * MM, 1000 * MM, 300), 300);
	cr_expect_eq(
	    weight_grams(LENGTH_MAX, LENGTH_MAX, 1000), INT64_C(1000000000));
}

Test(code, is_unmistakable)
{
	static const size_t sizes[] = {
	    1, 14, 16, 17, 30, 96, 97, 500, 3456, 20000};
	for (size_t s = 0; s < sizeof(sizes) / sizeof(sizes[0]); s++) {
		char first[SHEET_CODE_MAX];
		size_t len = strlen(sheet_code(first, 0, sizes[s]));
		for (size_t i = 0; i < sizes[s]; i++) {
			char a[SHEET_CODE_MAX], b[SHEET_CODE_MAX];
			sheet_code(a, i, sizes[s]);
			cr_assert_null(strpbrk(a, "IOQSZBGJVW0158"), "%s", a);
			cr_assert(a[0] >= 'A' && a[0] <= 'Z', "%s", a);
			cr_assert_eq(strlen(a), len,
			    "all have the same number of signs: %s", a);
			if (i > 0)
				cr_assert_neq(a[0],
				    *sheet_code(b, i - 1, sizes[s]), "%s %s", a,
				    b);
			for (size_t k = sizes[s] <= 500 ? 0 : i; k < i; k++)
				cr_assert_str_neq(
				    a, sheet_code(b, k, sizes[s]));
		}
	}
}
