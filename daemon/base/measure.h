/* SPDX-License-Identifier: MIT */
/*
 * Lengths, areas and money as whole numbers, and the only two functions that turn
 * text into a length and a length into text.
 *
 * The unit of length is 1/320 mm: the coarsest grid that holds 0.1 mm and 1/64 in
 * exactly.  1 in = 25.4 mm exactly (international yard and pound agreement 1959).
 * What the grid cannot hold ("1/3 in") is refused, never rounded.
 */
#ifndef BASE_MEASURE_H
#define BASE_MEASURE_H

#include <assert.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"

typedef int64_t length; /* 1/320 mm */
typedef int64_t
    area; /* length * length; a roll of 45 in x 10 yd is about 1.07e12 */
typedef int64_t money; /* minor units of a currency */
__extension__ typedef __int128
    wide; /* products of the above; divide once, at the end */

#define MM INT64_C(320)
#define INCH INT64_C(8128)
#define YARD (36 * INCH)
#define LENGTH_MAX                                                             \
	(1000 * 1000 * MM) /* 1 km: longer than any roll, and its square fits */
static_assert(10 * INCH == 254 * MM, "1 in is 25.4 mm");
static_assert(INCH == 64 * 127, "1/64 in is 127 units");

/* How lengths are written: on the studio's ruler. */
enum measure_system { MEASURE_INCH, MEASURE_MM, MEASURE_CM };

#define LENGTH_TEXT_MAX 48

/*
 * Read a length with its unit: "12 1/2 in", "12½″", "31.7 cm", "10yd", "9.15 m".
 * Units: mm cm m in ″ " inch inches ft ′ ' foot feet yd yard yards.  Decimals with
 * a point, fractions and mixed numbers, Unicode fractions and primes.  The result is
 * > 0 and <= LENGTH_MAX.  Refused with a message: no unit, zero, negative, a decimal
 * comma, exponents, more than the grid can hold.
 */
bool length_parse(
    const char *s, size_t len, length *out, struct err *err) MUST_USE;

/* As length_parse, but zero is a length too (margins, slivers). */
bool length_parse_or_zero(
    const char *s, size_t len, length *out, struct err *err) MUST_USE;

/*
 * Write l exactly: "12 1/2 in" in lowest terms, "31.7 cm", "317 mm".  A length that
 * the system asked for cannot hold exactly is written in millimetres with as many
 * decimals as it takes (at most seven), which holds every length.  Reading it back
 * gives l again.  Returns buf.
 */
const char *length_print(
    char buf[static LENGTH_TEXT_MAX], length l, enum measure_system sys);

/* True when l lies on the ruler whose smallest step is `step`. */
static inline bool length_on_ruler(length l, length step)
{
	return l % step == 0;
}

/* The smallest multiple of step that is not below l; l >= 0, step > 0. */
length length_snap_up(length l, length step);

/*
 * Nearest on a coarser grid, for showing only: "~29 15/16 in", "~279.4 mm".  The sign ~
 * stands before the number when it is not exact.  step is in units (INCH / 16, MM / 10).
 */
const char *length_print_about(char buf[static LENGTH_TEXT_MAX], length l,
    length step, enum measure_system sys);

/* The number of decimals of an ISO 4217 currency, -1 when the code is not one we know. */
int currency_exponent(const char *code);

#define MONEY_TEXT_MAX 48
/* "162.00 USD", "-5.50 EUR", "1200 JPY", "1.234 KWD"; an unknown code shows minor units. */
const char *money_print(
    char buf[static MONEY_TEXT_MAX], money m, const char *code);
/* "162", "162.00" or "162.00 USD" in major units to minor units; exact or refused. */
bool money_parse(const char *s, size_t len, const char *code, money *out,
    struct err *err) MUST_USE;

/* ceil(a / b) for a >= 0, b > 0. */
static inline int64_t ceil_div(int64_t a, int64_t b)
{
	return a / b + (a % b != 0);
}

/* The greatest common divisor of lengths >= 0; of 0 and a it is a. */
static inline length length_gcd(length a, length b)
{
	while (b != 0) {
		length rest = a % b;

		a = b;
		b = rest;
	}
	return a;
}

#endif
