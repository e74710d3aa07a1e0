/* SPDX-License-Identifier: MIT */
/*
 * amount.c - figures that a reader can check with a pocket calculator.
 *
 * An area of whole 1/16 in has up to eight decimals in square inches; six say which paper is
 * meant, and the sign ~ says that the sum was done with all of it.
 */
#include "amount.h"

#include <stdio.h>
#include <string.h>

#include "figures.h"
#include "mark.h"

const char *amount_money(
    struct arena *arena, const struct manner *manner, money m)
{
	char buf[FIGURES_MAX];

	return arena_strdup(
	    arena, figures_money(buf, m, manner->currency, manner->locale));
}

static wide power_of_ten(int n)
{
	wide p = 1;

	while (n-- > 0)
		p *= 10;
	return p;
}

/* value / 10^decimals as "12.3400", with as many decimals, value >= 0 and below 10^36. */
static const char *plain(char buf[static 64], wide value, int decimals)
{
	char digits[48];
	int n = 0, at = 0;

	do {
		digits[n++] = (char)('0' + (int)(value % 10));
		value /= 10;
	} while (value > 0 || n <= decimals);
	while (n > 0) {
		if (n == decimals)
			buf[at++] = '.';
		buf[at++] = digits[--n];
	}
	buf[at] = '\0';
	return buf;
}

/* Zeros behind the point, beyond `keep` decimals, are left out. */
static void drop_zeros(char *s, size_t keep)
{
	char *point = strchr(s, '.');
	size_t n = strlen(s);

	if (point == NULL)
		return;
	while (s[n - 1] == '0' && s + n - 1 > point + keep)
		s[--n] = '\0';
	if (s[n - 1] == '.')
		s[n - 1] = '\0';
}

const char *amount_exact(struct arena *arena, const struct manner *manner,
    money amount, area own, area total)
{
	int exponent = currency_exponent(manner->currency);
	wide size = amount < 0 ? -(wide)amount : amount;
	wide product = size * own, more = power_of_ten(4);
	wide rest = product % total * more;
	char buf[64], written[FIGURES_MAX];

	exponent = exponent < 0 ? 0 : exponent;
	plain(buf, product / total * more + rest / total, exponent + 4);
	drop_zeros(buf, (size_t)exponent);
	return arena_printf(arena, "%s%s%s", amount < 0 ? "-" : "",
	    figures_write(written, buf, manner->locale),
	    rest % total != 0 ? "..." : "");
}

const char *amount_area(
    struct arena *arena, const struct manner *manner, area a)
{
	bool inches = manner->system == MEASURE_INCH;
	wide unit = inches ? (wide)INCH * INCH : (wide)100 * MM * MM;
	wide scaled = (wide)a * power_of_ten(6);
	char buf[64], written[FIGURES_MAX];

	plain(buf, (scaled + unit / 2) / unit, 6);
	drop_zeros(buf, 0);
	return arena_printf(arena, "%s%s %s", scaled % unit != 0 ? "~" : "",
	    figures_write(written, buf, manner->locale),
	    inches ? "sq in" : "cm\xC2\xB2");
}

const char *amount_size(struct arena *arena, const struct manner *manner,
    length across, length along)
{
	char buf[MARK_TEXT_MAX];
	struct ruler ruler = {manner->system,
	    manner->system == MEASURE_INCH ? INCH / 64 : MM / 10};

	return arena_strdup(
	    arena, mark_print_size(buf, across, along, &ruler, "x"));
}
