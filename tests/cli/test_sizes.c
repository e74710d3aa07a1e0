/* SPDX-License-Identifier: MIT */
/*
 * Sizes as people type them.  The expected lengths follow from 1 in = 25.4 mm alone
 * (international yard and pound agreement, 1959): 8128 units an inch, 320 a millimetre.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "sizes.h"

#define IN(n, top, bottom) ((n)*INCH + INCH * (top) / (bottom))

struct good {
	const char *name, *text, *unit;
	int sides;
	length across, along;
	bool assumed;
};

static const struct good good[] = {
    {"two sides, a unit each", "9 in x 12 1/2 in", NULL, 2, IN(9, 0, 1),
	IN(12, 1, 2), false},
    {"the last unit counts for both", "9x12.5in", NULL, 2, IN(9, 0, 1),
	IN(12, 1, 2), false},
    {"blanks do not matter", "  9   x   12 1/2   in ", NULL, 2, IN(9, 0, 1),
	IN(12, 1, 2), false},
    {"the sign of multiplication",
	"23\xC3\x97"
	"31cm",
	NULL, 2, 230 * MM, 310 * MM, false},
    {"the word by", "23 by 31 cm", NULL, 2, 230 * MM, 310 * MM, false},
    {"a capital X", "23X31CM", NULL, 2, 230 * MM, 310 * MM, false},
    {"units may differ", "1 ft x 317 mm", NULL, 2, 12 * INCH, 317 * MM, false},
    {"primes", "9\xE2\x80\xB3x12\xC2\xBD\xE2\x80\xB3", NULL, 2, IN(9, 0, 1),
	IN(12, 1, 2), false},
    {"plain quotes", "9x12\"", NULL, 2, IN(9, 0, 1), IN(12, 0, 1), false},
    {"one length", "31.7 cm", NULL, 1, 317 * MM, 0, false},
    {"a sum", "9 in + 1/2 in", NULL, 1, IN(9, 1, 2), 0, false},
    {"a sum takes the unit behind", "9 + 1/2 in", NULL, 1, IN(9, 1, 2), 0,
	false},
    {"a difference", "9 in - 1/2 in", NULL, 1, IN(8, 1, 2), 0, false},
    {"a minus without blanks is a mixed number", "12-1/2 in", NULL, 1,
	IN(12, 1, 2), 0, false},
    {"a factor", "3 * 9 in + 2*1/2 in", NULL, 1, IN(28, 0, 1), 0, false},
    {"sums on both sides", "9 in + 1 in x 12 in + 1 in", NULL, 2, IN(10, 0, 1),
	IN(13, 0, 1), false},
    {"the unit of the house", "9x12", "in", 2, IN(9, 0, 1), IN(12, 0, 1), true},
    {"the unit of the house is not needed", "9x12cm", "in", 2, 90 * MM,
	120 * MM, false},
    {"a vulgar fraction without a unit", "9\xE2\x85\x9Bx12", "in", 2,
	IN(9, 1, 8), IN(12, 0, 1), true},
};

Test(sizes, are_read_as_people_type_them)
{
	for (size_t i = 0; i < sizeof(good) / sizeof(*good); i++) {
		const struct good *g = &good[i];
		struct size size;
		struct err err = {.kind = ERR_NONE};
		cr_expect(size_parse(g->text, g->unit, &size, &err), "%s: %s",
		    g->name, err.text);
		cr_expect_eq(size.sides, g->sides, "%s", g->name);
		cr_expect_eq(size.side[0], g->across, "%s: across %lld",
		    g->name, (long long)size.side[0]);
		cr_expect_eq(size.side[1], g->along, "%s: along %lld", g->name,
		    (long long)size.side[1]);
		cr_expect_eq(size.assumed, g->assumed, "%s", g->name);
	}
}

static const struct {
	const char *name, *text, *says;
} bad[] = {
    {"nothing", "", "empty"},
    {"no unit and no house", "9x12", "no unit"},
    {"a third", "1/3 in x 2 in", "1/320 mm"},
    {"zero", "0 in x 12 in", "above zero"},
    {"negative in the sum", "1 in - 2 in", "above zero"},
    {"a side missing", "9 in x", "empty"},
    {"three sides", "9 x 12 x 15 in", "unit"},
    {"a decimal comma", "9,5x12 in", "comma"},
    {"a factor that is no number", "a*9 in", "number"},
    {"too long a side", "2000 m x 1 m", "1 km"},
    {"too long a sum", "999999 * 10 m", "1 km"},
    {"words", "large", "number"},
};

Test(sizes, that_are_not_sizes_are_refused_with_the_reason)
{
	for (size_t i = 0; i < sizeof(bad) / sizeof(*bad); i++) {
		struct size size;
		struct err err = {.kind = ERR_NONE};
		cr_expect_not(size_parse(bad[i].text, NULL, &size, &err), "%s",
		    bad[i].name);
		cr_expect_eq(err.kind, ERR_INPUT, "%s", bad[i].name);
		cr_expect(strstr(err.text, bad[i].says), "%s: %s", bad[i].name,
		    err.text);
	}
}

Test(sizes, of_more_terms_or_letters_than_anybody_needs_are_refused)
{
	struct size size;
	struct err err;
	char text[400] = "1 in";
	for (int i = 0; i < 20; i++)
		strcat(text, "+1 in");
	cr_expect_not(size_parse(text, NULL, &size, &err));
	cr_expect(strstr(err.text, "terms"));
	memset(text, '9', sizeof(text) - 1);
	text[sizeof(text) - 1] = '\0';
	cr_expect_not(size_parse(text, NULL, &size, &err));
	cr_expect(strstr(err.text, "characters"));
}

Test(sizes, one_length_is_not_a_sheet)
{
	struct size size;
	struct err err;
	cr_expect_not(size_parse_both("9 in", NULL, &size, &err));
	cr_expect(strstr(err.hint, "across x along"));
}

Test(sizes, margins_are_added_on_both_sides)
{
	struct size size;
	struct err err;
	char text[SIZE_TEXT_MAX];
	cr_assert(size_parse_both("9 x 12 1/2 in", NULL, &size, &err));
	cr_assert(size_add_margin(&size, INCH / 2, &err));
	cr_expect_str_eq(
	    size_print(text, &size, MEASURE_INCH), "10 in x 13 1/2 in");
	size.side[0] = LENGTH_MAX;
	cr_expect_not(size_add_margin(&size, 1, &err));
}

Test(sizes, are_written_again_in_the_unit_that_was_typed)
{
	static const struct {
		const char *text, *across, *along;
	} rows[] = {
	    {"9x12.5in", "9 in", "12 1/2 in"},
	    {"31.7 cm x 1 m", "31.7 cm", "100 cm"},
	    {"230 mm x 1 ft", "230 mm", "12 in"},
	    {"45in x 10yd", "45 in", "360 in"},
	    {"1 in + 1 mm x 9 in", "26.4 mm", "9 in"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct size size;
		struct err err;
		char text[LENGTH_TEXT_MAX];
		cr_assert(size_parse(rows[i].text, NULL, &size, &err), "%s",
		    err.text);
		cr_expect_str_eq(
		    size_print_side(text, &size, 0), rows[i].across);
		cr_expect_str_eq(
		    size_print_side(text, &size, 1), rows[i].along);
	}
}

/* Printing and reading are inverse; the seed stands in the message. */
Test(sizes, that_were_printed_read_back_the_same)
{
	unsigned seed = 20261125;
	for (int i = 0; i < 2000; i++) {
		struct size size = {.sides = 2}, back;
		char text[SIZE_TEXT_MAX];
		struct err err;
		seed = seed * 1103515245 + 12345;
		size.side[0] = 1 + seed % 4000000;
		seed = seed * 1103515245 + 12345;
		size.side[1] = 1 + seed % 4000000;
		size_print(text, &size, (enum measure_system)(i % 3));
		cr_assert(size_parse_both(text, NULL, &back, &err),
		    "seed %u: %s: %s", seed, text, err.text);
		cr_assert(back.side[0] == size.side[0] &&
			      back.side[1] == size.side[1],
		    "seed %u: %s", seed, text);
	}
}
