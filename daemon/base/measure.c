/* SPDX-License-Identifier: MIT */
/*
 * measure.c - text to length and back, exactly.
 *
 * A length is read as a fraction, number = whole + top / bottom, and multiplied by its
 * unit.  Only when the product is a whole number of 1/320 mm is it a length of ours;
 * otherwise it is refused: a size that was rounded in secret would be torn too small.
 * Decimals are fractions with a power of ten below.  12 1/2, 12½ and 12.5 are equal.
 */
#include "measure.h"

#include <stdio.h>
#include <string.h>

struct unit {
	const char *name;
	length units;
};

/* The longest spellings first where one begins like another. */
static const struct unit units[] = {
    {"millimetres", MM},
    {"millimeters", MM},
    {"centimetres", 10 * MM},
    {"centimeters", 10 * MM},
    {"metres", 1000 * MM},
    {"meters", 1000 * MM},
    {"mm", MM},
    {"cm", 10 * MM},
    {"m", 1000 * MM},
    {"inches", INCH},
    {"inch", INCH},
    {"in", INCH},
    {"\"", INCH},
    {"\xE2\x80\xB3", INCH}, /* U+2033 double prime */
    {"\xE2\x80\x9D", INCH}, /* U+201D, what phones type for it */
    {"''", INCH},
    {"feet", 12 * INCH},
    {"foot", 12 * INCH},
    {"ft", 12 * INCH},
    {"'", 12 * INCH},
    {"\xE2\x80\xB2", 12 * INCH}, /* U+2032 prime */
    {"\xE2\x80\x99", 12 * INCH}, /* U+2019 */
    {"yards", YARD},
    {"yard", YARD},
    {"yd", YARD},
};

/* The fractions Unicode has as one character (UnicodeData, <fraction> decompositions). */
static const struct {
	const char *sign;
	int top, bottom;
} vulgar[] = {
    {"\xC2\xBC", 1, 4},
    {"\xC2\xBD", 1, 2},
    {"\xC2\xBE", 3, 4},
    {"\xE2\x85\x90", 1, 7},
    {"\xE2\x85\x91", 1, 9},
    {"\xE2\x85\x92", 1, 10},
    {"\xE2\x85\x93", 1, 3},
    {"\xE2\x85\x94", 2, 3},
    {"\xE2\x85\x95", 1, 5},
    {"\xE2\x85\x96", 2, 5},
    {"\xE2\x85\x97", 3, 5},
    {"\xE2\x85\x98", 4, 5},
    {"\xE2\x85\x99", 1, 6},
    {"\xE2\x85\x9A", 5, 6},
    {"\xE2\x85\x9B", 1, 8},
    {"\xE2\x85\x9C", 3, 8},
    {"\xE2\x85\x9D", 5, 8},
    {"\xE2\x85\x9E", 7, 8},
};

/* Digits stop here: more cannot be a length of ours, and the products stay in 128 bits. */
#define DIGITS_MAX 15

struct reader {
	const char *at, *end;
	const char *text; /* what was given, for messages */
	size_t len;
};

struct fraction {
	wide top, bottom;
};

static bool refuse(const struct reader *r, struct err *err, const char *why)
{
	int shown = r->len > 40 ? 40 : (int)r->len;
	return err_set(err, ERR_INPUT, "\"%.*s\" is not a length: %s", shown,
	    r->text, why);
}

static bool take(struct reader *r, const char *word)
{
	size_t len = strlen(word);
	if ((size_t)(r->end - r->at) < len || memcmp(r->at, word, len) != 0)
		return false;
	r->at += len;
	return true;
}

/* Spaces as people and phones type them: blank, tab, no-break space, thin spaces. */
static bool skip_space(struct reader *r)
{
	const char *start = r->at;
	while (take(r, " ") || take(r, "\t") || take(r, "\xC2\xA0") ||
	       take(r, "\xE2\x80\x89") || take(r, "\xE2\x80\xAF"))
		;
	return r->at > start;
}

static bool is_digit(const struct reader *r)
{
	return r->at < r->end && *r->at >= '0' && *r->at <= '9';
}

/* Digits at the reader as a number; false when there are too many of them. */
static bool read_digits(struct reader *r, wide *value, int *count)
{
	*value = 0;
	for (*count = 0; is_digit(r); r->at++) {
		if (++*count > DIGITS_MAX)
			return false;
		*value = *value * 10 + (*r->at - '0');
	}
	return true;
}

static bool read_vulgar(struct reader *r, struct fraction *f)
{
	for (size_t i = 0; i < sizeof(vulgar) / sizeof(*vulgar); i++) {
		if (!take(r, vulgar[i].sign))
			continue;
		f->top = vulgar[i].top;
		f->bottom = vulgar[i].bottom;
		return true;
	}
	return false;
}

/* "/8" after its top; the slash may be U+2044 or U+2215 too. */
static bool at_slash(struct reader *r)
{
	return take(r, "/") || take(r, "\xE2\x81\x84") ||
	       take(r, "\xE2\x88\x95");
}

static bool read_bottom(struct reader *r, wide *bottom, struct err *err)
{
	int count;
	if (!read_digits(r, bottom, &count) || count == 0)
		return refuse(
		    r, err, "a fraction needs a whole number below its line");
	if (*bottom == 0)
		return refuse(
		    r, err, "a fraction cannot have zero below its line");
	return true;
}

/* The fraction behind a whole number: " 1/2", "½", or nothing. */
static bool read_mixed_part(
    struct reader *r, wide whole, struct fraction *f, struct err *err)
{
	*f = (struct fraction){0, 1};
	bool spaced = skip_space(r);
	if (!spaced)
		(void)take(r, "-"); /* "12-1/2 in", as carpenters write it */
	if (read_vulgar(r, f)) {
		f->top += whole * f->bottom;
		return true;
	}
	if (!is_digit(r)) {
		f->top = whole;
		return true;
	}
	int count;
	wide top;
	if (!read_digits(r, &top, &count))
		return refuse(r, err, "it has too many digits");
	if (!at_slash(r))
		return refuse(r, err,
		    spaced ? "a second number must be a fraction such as 1/2"
			   : "it has two numbers");
	if (!read_bottom(r, &f->bottom, err))
		return false;
	f->top = whole * f->bottom + top;
	return true;
}

static bool read_decimals(
    struct reader *r, wide whole, struct fraction *f, struct err *err)
{
	int count;
	wide part;
	if (!read_digits(r, &part, &count) || count == 0)
		return refuse(r, err, "a decimal point needs digits behind it");
	f->bottom = 1;
	for (int i = 0; i < count; i++)
		f->bottom *= 10;
	f->top = whole * f->bottom + part;
	return true;
}

static bool read_number(struct reader *r, struct fraction *f, struct err *err)
{
	int count;
	wide whole;
	*f = (struct fraction){0, 1};
	if (r->at < r->end && *r->at == '-')
		return refuse(r, err, "it is negative");
	if (read_vulgar(r, f))
		return true;
	if (!read_digits(r, &whole, &count))
		return refuse(r, err, "it has too many digits");
	if (count == 0 && !(r->at < r->end && *r->at == '.'))
		return refuse(r, err, "it does not begin with a number");
	if (take(r, "."))
		return read_decimals(r, whole, f, err);
	if (r->at < r->end && *r->at == ',') {
		refuse(r, err, "a comma can mean two things");
		return err_hint(
		    err, "Write decimals with a point, as in 12.5 in.");
	}
	if (at_slash(r)) {
		f->top = whole;
		return read_bottom(r, &f->bottom, err);
	}
	return read_mixed_part(r, whole, f, err);
}

static char lower(char c)
{
	return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool unit_matches(const struct reader *r, const char *name)
{
	size_t len = strlen(name);
	if ((size_t)(r->end - r->at) < len)
		return false;
	for (size_t i = 0; i < len; i++)
		if (lower(r->at[i]) != name[i])
			return false;
	return true;
}

static bool read_unit(struct reader *r, length *unit, struct err *err)
{
	skip_space(r);
	if (r->at == r->end) {
		refuse(r, err, "it has no unit");
		return err_hint(err,
		    "Say which: mm, cm, m, in, ft or yd, as in 12 1/2 in.");
	}
	for (size_t i = 0; i < sizeof(units) / sizeof(*units); i++) {
		if (!unit_matches(r, units[i].name))
			continue;
		struct reader rest = *r;
		rest.at += strlen(units[i].name);
		(void)take(&rest, "."); /* "in." */
		skip_space(&rest);
		if (rest.at != rest.end)
			continue;
		*r = rest;
		*unit = units[i].units;
		return true;
	}
	refuse(r, err, "its unit is not one we know");
	return err_hint(err,
	    "Units are mm, cm, m, in, ft and yd; one number and one unit.");
}

static bool to_units(const struct reader *r, const struct fraction *f,
    length unit, length *out, struct err *err)
{
	if (f->top > (wide)LENGTH_MAX * f->bottom)
		return refuse(r, err, "it is longer than 1 km");
	wide product = f->top * unit;
	if (product % f->bottom != 0) {
		refuse(r, err, "it is no whole number of 1/320 mm");
		return err_hint(err, "Inches go down to 1/64, millimetres to "
				     "0.1 (or 0.05, 0.025).");
	}
	if (product / f->bottom > LENGTH_MAX)
		return refuse(r, err, "it is longer than 1 km");
	*out = (length)(product / f->bottom);
	return true;
}

bool length_parse_or_zero(
    const char *s, size_t len, length *out, struct err *err)
{
	struct reader r = {s, s + len, s, len};
	struct fraction f = {0};
	length unit = 0;
	skip_space(&r);
	while (r.end > r.at && (r.end[-1] == ' ' || r.end[-1] == '\t'))
		r.end--;
	if (r.at == r.end)
		return refuse(&r, err, "it is empty");
	return read_number(&r, &f, err) && read_unit(&r, &unit, err) &&
	       to_units(&r, &f, unit, out, err);
}

bool length_parse(const char *s, size_t len, length *out, struct err *err)
{
	length l = 0;
	if (!length_parse_or_zero(s, len, &l, err))
		return false;
	if (l == 0) {
		struct reader r = {s, s + len, s, len};
		return refuse(&r, err, "it is zero");
	}
	*out = l;
	return true;
}

static int64_t common_divisor(int64_t a, int64_t b)
{
	while (b) {
		int64_t rest = a % b;
		a = b;
		b = rest;
	}
	return a;
}

static void print_inches(char *buf, size_t size, int64_t sixty_fourths)
{
	int64_t whole = sixty_fourths / 64, top = sixty_fourths % 64;
	int64_t d = top ? common_divisor(top, 64) : 1;
	if (top == 0)
		snprintf(buf, size, "%lld in", (long long)whole);
	else if (whole == 0)
		snprintf(buf, size, "%lld/%lld in", (long long)(top / d),
		    (long long)(64 / d));
	else
		snprintf(buf, size, "%lld %lld/%lld in", (long long)whole,
		    (long long)(top / d), (long long)(64 / d));
}

/* l as decimals of `unit`, which divides a power of ten times l: no zeros at the end. */
static void print_decimals(
    char *buf, size_t size, length l, length unit, const char *name)
{
	char digits[12] = "";
	size_t n = 0;
	for (length rest = l % unit; rest != 0 && n < sizeof(digits) - 1;
	     rest %= unit) {
		rest *= 10;
		digits[n++] = (char)('0' + rest / unit);
		digits[n] = '\0';
	}
	snprintf(buf, size, "%lld%s%s %s", (long long)(l / unit), n ? "." : "",
	    digits, name);
}

const char *length_print(
    char buf[static LENGTH_TEXT_MAX], length l, enum measure_system sys)
{
	assert(l >= 0);
	if (sys == MEASURE_INCH && l % (INCH / 64) == 0)
		print_inches(buf, LENGTH_TEXT_MAX, l / (INCH / 64));
	else if (sys == MEASURE_CM)
		print_decimals(buf, LENGTH_TEXT_MAX, l, 10 * MM, "cm");
	else
		print_decimals(buf, LENGTH_TEXT_MAX, l, MM, "mm");
	return buf;
}

length length_snap_up(length l, length step)
{
	assert(l >= 0 && step > 0);
	return ceil_div(l, step) * step;
}

const char *length_print_about(char buf[static LENGTH_TEXT_MAX], length l,
    length step, enum measure_system sys)
{
	length shown = (l + step / 2) / step * step;
	if (shown == l)
		return length_print(buf, l, sys);
	char exact[LENGTH_TEXT_MAX];
	snprintf(
	    buf, LENGTH_TEXT_MAX, "~%.40s", length_print(exact, shown, sys));
	return buf;
}
