/* SPDX-License-Identifier: MIT */
/*
 * mark.c - lengths as they are set on a ruler.
 *
 * The painter sets a straightedge at what is printed here.  A length that the studio's
 * ruler does not have must therefore never be bent to the nearest line without a word:
 * four pieces of 9 1/32 in on a ruler with sixteenths would come out wrong by an eighth.
 * A ruler has two sides; most lengths that are not on one are on the other.
 */
#include "mark.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "catalogue.h"

#define FINE_INCH                                                              \
	(INCH / 32) /* divisions that common rulers have on the other side */
#define FINE_MM (MM / 2)
#define AIM_MAX                                                                \
	(12 *                                                                  \
	    INCH) /* aiming marks at most a foot apart, as the hands like it */

/* With the decimal sign of the language: "377,8 mm" in German. */
static const char *print(
    char buf[static LENGTH_TEXT_MAX], length l, enum measure_system system)
{
	char *point;

	length_print(buf, l, system);
	point = strchr(buf, '.');
	if (point)
		*point = _("0.5")[1];
	return buf;
}

enum mark_kind mark_print(
    char buf[static LENGTH_TEXT_MAX], length l, const struct ruler *ruler)
{
	bool inch = ruler->system == MEASURE_INCH;
	enum measure_system other = inch ? MEASURE_MM : MEASURE_INCH;

	if (length_on_ruler(l, ruler->step)) {
		print(buf, l, ruler->system);
		return MARK_ON_RULER;
	}
	if (length_on_ruler(l, inch ? FINE_MM : FINE_INCH)) {
		print(buf, l, other);
		return MARK_OTHER_SIDE;
	}
	/* length_print falls back to millimetres, which hold every length */
	bool in_inch =
	    length_on_ruler(l, INCH / 64) && !length_on_ruler(l, MM / 10);
	print(buf, l,
	    in_inch ? MEASURE_INCH
	    : inch  ? MEASURE_MM
		    : ruler->system);
	return MARK_BETWEEN;
}

const char *mark_between(
    char buf[static MARK_TEXT_MAX], length l, const struct ruler *ruler)
{
	char low[LENGTH_TEXT_MAX], high[LENGTH_TEXT_MAX];
	length below = l - l % ruler->step;

	print(high, below + ruler->step, ruler->system);
	if (below == 0)
		snprintf(buf, MARK_TEXT_MAX, _("below %s"), high);
	else
		snprintf(buf, MARK_TEXT_MAX, _("between %s and %s"),
		    print(low, below, ruler->system), high);
	return buf;
}

const char *mark_print_size(char buf[static MARK_TEXT_MAX], length across,
    length along, const struct ruler *ruler, const char *times)
{
	char a[LENGTH_TEXT_MAX], b[LENGTH_TEXT_MAX];
	mark_print(a, across, ruler);
	mark_print(b, along, ruler);

	char *unit_a = strrchr(a, ' '), *unit_b = strrchr(b, ' ');
	if (unit_a && unit_b && strcmp(unit_a, unit_b) != 0 &&
	    length_on_ruler(across, MM / 10) &&
	    length_on_ruler(along, MM / 10)) {
		/* one unit for both is easier to picture */
		print(a, across, MEASURE_MM);
		print(b, along, MEASURE_MM);
		unit_a = strrchr(a, ' ');
		unit_b = strrchr(b, ' ');
	}
	if (unit_a && unit_b && strcmp(unit_a, unit_b) == 0)
		*unit_a = '\0';
	snprintf(buf, MARK_TEXT_MAX, "%s %s %s", a, times, b);
	return buf;
}

static size_t digits(const char *s)
{
	size_t n = 0;

	while (isdigit((unsigned char)s[n]) ||
	       (n > 0 && (s[n] == '.' || s[n] == ',') &&
		   isdigit((unsigned char)s[n + 1])))
		n++;
	return n;
}

size_t mark_span(const char *s)
{
	static const char *const units[] = {"in", "mm", "cm", "m", "kg", "g"};
	size_t n = digits(s),
	       more = n > 0 && s[n] == ' ' ? digits(s + n + 1) : 0;

	if (n == 0)
		return 0;
	if (more > 0 && s[n + 1 + more] == '/')
		n += 1 + more;
	if (s[n] == '/')
		n += 1 + digits(s + n + 1);
	for (size_t i = 0; s[n] == ' ' && i < sizeof(units) / sizeof(units[0]);
	     i++) {
		size_t len = strlen(units[i]);
		if (strncmp(s + n + 1, units[i], len) == 0 &&
		    !isalpha((unsigned char)s[n + 1 + len]))
			return n + 1 + len;
	}
	return 0;
}

struct aim aim_for(length tear, length straightedge, enum measure_system system)
{
	length unit = system == MEASURE_INCH ? INCH / 2 : 10 * MM;
	length reach = straightedge - straightedge / 4;
	bool shorter = straightedge > 0 && straightedge < tear;
	length most = shorter && reach < AIM_MAX ? reach : AIM_MAX;
	struct aim aim = {.placements = 1};
	int64_t gaps = ceil_div(tear, most);

	if (shorter)
		aim.placements = 1 + ceil_div(tear - straightedge, reach);
	if (gaps < aim.placements)
		gaps = aim.placements;
	if (gaps > 1) {
		/* even gaps on whole units; a tiny straightedge has none, then the exact
		 * distance stands */
		length even = length_snap_up(ceil_div(tear, gaps), unit);
		aim.spacing =
		    even <= most + unit && !(shorter && even >= straightedge)
			? even
			: most;
	}
	return aim;
}

int64_t weight_grams(length across, length along, int64_t grams_per_m2)
{
	const wide square_metre = (wide)(1000 * MM) * (1000 * MM);
	wide ten = (wide)across * along * grams_per_m2;

	return (int64_t)((ten + 5 * square_metre) / (10 * square_metre)) * 10;
}
