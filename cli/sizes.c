/* SPDX-License-Identifier: MIT */
/*
 * sizes.c - sizes as people type them.
 *
 * The text is split from the outside in: at the "x" between the sides, at the signs
 * between terms, at the "*" within a term.  No unit holds an x, so the first one is the
 * sign between the sides.  A minus counts only between blanks, because "12-1/2 in" is
 * how carpenters write a mixed number.  Reading the lengths themselves is
 * base/measure's job and happens nowhere else.
 */
#include "sizes.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define TEXT_MAX 200
#define TERMS_MAX 16

struct piece_of_text {
	const char *at;
	size_t len;
};

static struct piece_of_text trimmed(const char *at, size_t len)
{
	while (len && (*at == ' ' || *at == '\t')) {
		at++;
		len--;
	}
	while (len && (at[len - 1] == ' ' || at[len - 1] == '\t'))
		len--;
	return (struct piece_of_text){at, len};
}

static bool begins(const char *s, size_t len, const char *word)
{
	size_t n = strlen(word);
	return len >= n && memcmp(s, word, n) == 0;
}

/* Where the unit of a term begins, or its end when it has none. */
static size_t unit_start(struct piece_of_text t)
{
	static const char *const primes[] = {"\"", "'", "\xE2\x80\xB2",
	    "\xE2\x80\xB3", "\xE2\x80\x99", "\xE2\x80\x9D"};
	for (size_t i = 0; i < t.len; i++) {
		if (isalpha((unsigned char)t.at[i]))
			return i;
		for (size_t p = 0; p < sizeof(primes) / sizeof(*primes); p++)
			if (begins(t.at + i, t.len - i, primes[p]))
				return i;
	}
	return t.len;
}

/* Length of the sign between two sides at s, 0 when there is none. */
static size_t side_sign(const char *s, size_t len)
{
	if (len && (*s == 'x' || *s == 'X'))
		return 1;
	if (begins(s, len, "\xC3\x97")) /* U+00D7 */
		return 2;
	return begins(s, len, " by ") ? 4 : 0;
}

static int split_sides(const char *s, struct piece_of_text side[2])
{
	size_t len = strlen(s);
	for (size_t i = 0; i < len; i++) {
		size_t sign = side_sign(s + i, len - i);
		if (!sign)
			continue;
		side[0] = trimmed(s, i);
		side[1] = trimmed(s + i + sign, len - i - sign);
		return 2;
	}
	side[0] = trimmed(s, len);
	return 1;
}

struct term {
	struct piece_of_text text;
	int side;
	int sign;
};

struct terms {
	struct term term[TERMS_MAX];
	size_t n;
};

static bool add_term(struct terms *terms, const char *at, size_t len, int side,
    int sign, struct err *err)
{
	if (terms->n == TERMS_MAX)
		return err_set(
		    err, ERR_INPUT, "a size of more than %d terms", TERMS_MAX);
	terms->term[terms->n++] = (struct term){trimmed(at, len), side, sign};
	return true;
}

static bool split_terms(
    struct piece_of_text side, int which, struct terms *terms, struct err *err)
{
	size_t start = 0;
	int sign = 1;
	for (size_t i = 0; i < side.len; i++) {
		bool plus = side.at[i] == '+';
		bool minus = begins(side.at + i, side.len - i, " - ");
		if (!plus && !minus)
			continue;
		if (!add_term(
			terms, side.at + start, i - start, which, sign, err))
			return false;
		sign = plus ? 1 : -1;
		i += minus ? 2 : 0;
		start = i + 1;
	}
	return add_term(
	    terms, side.at + start, side.len - start, which, sign, err);
}

/* "3 *" before a length, or nothing. */
static bool read_factor(
    struct piece_of_text *text, int64_t *factor, struct err *err)
{
	const char *star = memchr(text->at, '*', text->len);
	*factor = 1;
	if (!star)
		return true;
	struct piece_of_text n = trimmed(text->at, (size_t)(star - text->at));
	*factor = 0;
	for (size_t i = 0; i < n.len; i++) {
		if (!isdigit((unsigned char)n.at[i]) || i >= 6)
			n.len = 0;
		else
			*factor = *factor * 10 + (n.at[i] - '0');
	}
	if (n.len == 0) {
		err_set(err, ERR_INPUT,
		    "\"%.*s\" is not a length times a number", (int)text->len,
		    text->at);
		return err_hint(err, "Write the number first: 3 * 9 in.");
	}
	*text = trimmed(star + 1, text->len - (size_t)(star - text->at) - 1);
	return true;
}

static bool read_term(const struct term *term, struct piece_of_text unit,
    wide *sum, struct err *err)
{
	struct piece_of_text text = term->text;
	int64_t factor;
	length l;
	char buf[2 * TEXT_MAX + 2];
	if (!read_factor(&text, &factor, err))
		return false;
	if (unit_start(text) < text.len || text.len == 0)
		unit.len = 0;
	int len = snprintf(buf, sizeof(buf), "%.*s%s%.*s", (int)text.len,
	    text.at, unit.len ? " " : "", (int)unit.len, unit.at);
	if (!length_parse_or_zero(buf, (size_t)len, &l, err))
		return false;
	sum[term->side] += (wide)term->sign * factor * l;
	return true;
}

bool size_has_unit(const char *text)
{
	struct piece_of_text side[2] = {{text, 0}, {text, 0}};
	int n = split_sides(text, side);
	for (int s = 0; s < n; s++)
		if (unit_start(side[s]) < side[s].len)
			return true;
	return false;
}

/* The unit a term without one takes: that of the next term that has one, else the last seen. */
static struct piece_of_text unit_for(
    const struct terms *terms, size_t i, const char *otherwise)
{
	struct piece_of_text found = {
	    otherwise ? otherwise : "", otherwise ? strlen(otherwise) : 0};
	for (size_t k = 0; k < terms->n; k++) {
		struct piece_of_text t = terms->term[k].text;
		size_t start = unit_start(t);
		if (start == t.len)
			continue;
		found = (struct piece_of_text){t.at + start, t.len - start};
		if (k >= i)
			break;
	}
	return found;
}

/* Metres are not written by this program: centimetres hold them. */
static enum measure_system system_of(struct piece_of_text unit)
{
	if (unit.len && (unit.at[0] == 'c' || unit.at[0] == 'C'))
		return MEASURE_CM;
	if (unit.len && (unit.at[0] == 'm' || unit.at[0] == 'M'))
		return unit.len > 1 && strchr("mMiI", unit.at[1]) ? MEASURE_MM
								  : MEASURE_CM;
	return MEASURE_INCH;
}

static bool any_unit(const struct terms *terms)
{
	for (size_t i = 0; i < terms->n; i++)
		if (unit_start(terms->term[i].text) < terms->term[i].text.len)
			return true;
	return false;
}

static bool within(const char *text, wide sum, length *out, struct err *err)
{
	if (sum <= 0)
		return err_set(err, ERR_INPUT,
		    "\"%s\" has a side that is not above zero", text);
	if (sum > LENGTH_MAX)
		return err_set(
		    err, ERR_INPUT, "\"%s\" has a side longer than 1 km", text);
	*out = (length)sum;
	return true;
}

bool size_parse(
    const char *text, const char *unit, struct size *out, struct err *err)
{
	struct piece_of_text side[2] = {{text, 0}, {text, 0}};
	struct terms terms = {.n = 0};
	wide sum[2] = {0, 0};
	if (strlen(text) > TEXT_MAX)
		return err_set(err, ERR_INPUT,
		    "a size of more than %d characters", TEXT_MAX);
	int sides = split_sides(text, side);
	*out = (struct size){.sides = sides};
	if (!split_terms(side[0], 0, &terms, err) ||
	    (sides == 2 && !split_terms(side[1], 1, &terms, err)))
		return false;
	out->assumed = unit && !any_unit(&terms);
	for (size_t i = 0; i < terms.n; i++) {
		struct piece_of_text term_unit = unit_for(&terms, i, unit);
		out->written[terms.term[i].side] = system_of(term_unit);
		if (!read_term(&terms.term[i], term_unit, sum, err))
			return false;
	}
	return within(text, sum[0], &out->side[0], err) &&
	       (sides == 1 || within(text, sum[1], &out->side[1], err));
}

bool size_parse_both(
    const char *text, const char *unit, struct size *out, struct err *err)
{
	if (!size_parse(text, unit, out, err))
		return false;
	if (out->sides == 2)
		return true;
	err_set(err, ERR_INPUT, "\"%s\" is one length, not a size", text);
	return err_hint(err, "Write across x along: 9x12.5in, or 23 x 31 cm.");
}

bool size_add_margin(struct size *size, length margin, struct err *err)
{
	for (int s = 0; s < size->sides; s++) {
		length torn = size->side[s] + 2 * margin;
		if (torn > LENGTH_MAX)
			return err_set(err, ERR_INPUT,
			    "with its margins a side is longer than 1 km");
		size->side[s] = torn;
	}
	return true;
}

const char *size_print_side(
    char buf[static LENGTH_TEXT_MAX], const struct size *size, int side)
{
	return length_print(buf, size->side[side], size->written[side]);
}

const char *size_print(char buf[static SIZE_TEXT_MAX], const struct size *size,
    enum measure_system sys)
{
	char a[LENGTH_TEXT_MAX], b[LENGTH_TEXT_MAX];
	length_print(a, size->side[0], sys);
	if (size->sides == 1)
		snprintf(buf, SIZE_TEXT_MAX, "%s", a);
	else
		snprintf(buf, SIZE_TEXT_MAX, "%s x %s", a,
		    length_print(b, size->side[1], sys));
	return buf;
}
