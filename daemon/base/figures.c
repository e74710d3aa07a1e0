/* SPDX-License-Identifier: MIT */
/*
 * figures.c - groups of digits.
 *
 * The table is that of Unicode's CLDR (latin digits); tests/base/figures.mjs compares it with
 * ICU's.  The C library's locales were left: a small Debian has none but C, and one daemon
 * writes for studios of several.  The minus sign is the plain one everywhere, so that an
 * amount can be copied into a form.
 */
#include "figures.h"

#include <stdio.h>
#include <string.h>

struct figures {
	const char *locale;
	const char *group, *point;
	size_t
	    least; /* digits before the first separator, for there to be one */
	size_t higher; /* digits in groups after the first; 3, or 2 in India */
};

#define NO_BREAK "\xC2\xA0"
#define NARROW "\xE2\x80\xAF"

static const struct figures table[] = {
    {"en", ",", ".", 1, 3},
    {"en-GB", ",", ".", 1, 3},
    {"en-IN", ",", ".", 1, 2},
    {"cs", NO_BREAK, ",", 1, 3},
    {"da", ".", ",", 1, 3},
    {"de", ".", ",", 1, 3},
    {"de-AT", NO_BREAK, ",", 1, 3},
    {"de-CH", "'", ".", 1, 3},
    {"es", ".", ",", 2, 3},
    {"fi", NO_BREAK, ",", 1, 3},
    {"fr", NARROW, ",", 1, 3},
    {"it", ".", ",", 2, 3},
    {"ja", ",", ".", 1, 3},
    {"nb", NO_BREAK, ",", 1, 3},
    {"nl", ".", ",", 1, 3},
    {"pl", NO_BREAK, ",", 2, 3},
    {"pt", ".", ",", 1, 3},
    {"pt-PT", NO_BREAK, ",", 2, 3},
    {"sv", NO_BREAK, ",", 1, 3},
};
#define N_TABLE (sizeof(table) / sizeof(table[0]))

static const struct figures *find(const char *locale)
{
	for (size_t i = 0; locale != NULL && i < N_TABLE; i++)
		if (strcmp(table[i].locale, locale) == 0)
			return &table[i];
	return NULL;
}

bool figures_known(const char *locale)
{
	return find(locale) != NULL;
}

const char *figures_locale(size_t i)
{
	return i < N_TABLE ? table[i].locale : NULL;
}

const char *figures_language(char buf[static 8], const char *locale)
{
	size_t n = locale == NULL ? 0 : strcspn(locale, "-");

	snprintf(buf, 8, "%.*s", n < 8 ? (int)n : 0, locale ? locale : "");
	return buf;
}

/* Does a separator stand before the last `left` digits? */
static bool separates(const struct figures *f, size_t left)
{
	return left >= 3 && (left == 3 || (left - 3) % f->higher == 0);
}

const char *figures_write(
    char buf[static FIGURES_MAX], const char *plain, const char *locale)
{
	const struct figures *f = find(locale);
	bool negative = *plain == '-';
	const char *digits = plain + negative;
	size_t whole = strspn(digits, "0123456789"), n = 0;

	f = f ? f : &table[0];
	buf[0] = '\0';
	if (negative)
		buf[n++] = '-';
	for (size_t i = 0; i < whole && n + 8 < FIGURES_MAX; i++) {
		if (i > 0 && whole >= 3 + f->least && separates(f, whole - i))
			n += (size_t)snprintf(
			    buf + n, FIGURES_MAX - n, "%s", f->group);
		buf[n++] = digits[i];
	}
	digits += whole;
	if (*digits == '.')
		snprintf(
		    buf + n, FIGURES_MAX - n, "%s%s", f->point, digits + 1);
	else
		snprintf(buf + n, FIGURES_MAX - n, "%s", digits);
	return buf;
}

const char *figures_money(
    char buf[static FIGURES_MAX], money m, const char *code, const char *locale)
{
	char plain[MONEY_TEXT_MAX];

	return figures_write(buf, money_print(plain, m, code), locale);
}
