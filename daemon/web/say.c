/* SPDX-License-Identifier: MIT */
/*
 * say.c - numbers into words.
 */
#include "say.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "act_people.h"
#include "figures.h"
#include "zone.h"

const char *say_length(struct call *call, length l)
{
	char text[LENGTH_TEXT_MAX];
	enum measure_system system =
	    (enum measure_system)call->caller.studio.measure;
	return call_printf(call, "%s", length_print(text, l, system));
}

const char *say_size(struct call *call, length across, length along)
{
	const char *first = say_length(call, across);
	const char *second = say_length(call, along);
	const char *unit = strrchr(first, ' ');
	const char *other = strrchr(second, ' ');
	int len = (int)strlen(first);
	if (unit && other && strcmp(unit, other) == 0)
		len = (int)(unit - first);
	return call_printf(call, "%.*s \u00d7 %s", len, first, second);
}

const char *say_area(struct call *call, area a)
{
	bool inches = call->caller.studio.measure == MEASURE_INCH;
	wide unit = inches ? (wide)INCH * INCH : (wide)100 * MM * 100 * MM;
	wide hundredths = ((wide)a * 100 + unit / 2) / unit;

	return call_printf(call, "%lld.%02d %s", (long long)(hundredths / 100),
	    (int)(hundredths % 100), inches ? "sq in" : "dm\u00b2");
}

const char *say_money(struct call *call, money m)
{
	const struct studio *s = &call->caller.studio;
	char text[FIGURES_MAX];

	return call_printf(
	    call, "%s", figures_money(text, m, s->currency, s->locale));
}

const char *say_count(
    struct call *call, int64_t n, const char *one, const char *many)
{
	return call_printf(call, "%lld %s", (long long)n, n == 1 ? one : many);
}

const char *say_sentence(struct call *call, const char *text)
{
	size_t len = strlen(text);
	char *s = call_printf(call, "%s%s", text,
	    len > 0 && !strchr(".?!", text[len - 1]) ? "." : "");

	if (*s >= 'a' && *s <= 'z')
		*s = (char)(*s - 'a' + 'A');
	return s;
}

static const char *const months[] = {"January", "February", "March", "April",
    "May", "June", "July", "August", "September", "October", "November",
    "December"};
static const char *const weekdays[] = {
    "Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};

/* Sakamoto's rule for the weekday of a day of the Gregorian calendar (from memory; tested). */
static int weekday(int y, int m, int d)
{
	static const int shift[] = {0, 3, 2, 5, 0, 3, 5, 1, 4, 6, 2, 4};
	if (m < 3)
		y--;
	return (y + y / 4 - y / 100 + y / 400 + shift[m - 1] + d) % 7;
}

const char *say_day(struct call *call, const char *day)
{
	int y, m, d, end = 0;
	if (!day)
		return "";
	if (sscanf(day, "%4d-%2d-%2d%n", &y, &m, &d, &end) != 3 || day[end] ||
	    y < 1 || m < 1 || m > 12)
		return call_printf(call, "%s", day);
	return call_printf(call, "%s %d %s %d", weekdays[weekday(y, m, d)], d,
	    months[m - 1], y);
}

/* "2026-11-27T17:00..." or "2026-11-27 17:00" */
static const char *say_local(struct call *call, const char *local)
{
	if (strlen(local) < 16)
		return call_printf(call, "%s", local);
	return call_printf(call, "%s, %.5s",
	    say_day(call, call_printf(call, "%.10s", local)), local + 11);
}

const char *say_closing(struct call *call, const struct workshop_row *workshop)
{
	return say_instant(call, workshop->closes_at);
}

const char *say_instant(struct call *call, const char *instant)
{
	char local[ZONE_TEXT];
	if (!instant || !*instant)
		return "never";
	if (zone_to_local(call->caller.studio.time_zone, instant, local))
		return say_local(call, local);
	return call_printf(call, "%s UTC", say_local(call, instant));
}

const char *say_roles(struct call *call, int64_t roles)
{
	const char *all = "";
	for (unsigned role = ROLE_STUDENT; role <= ROLE_OWNER; role *= 2)
		if (roles & role)
			all = call_printf(call, "%s%s%s", all, *all ? ", " : "",
			    role_name(role));
	return *all ? all : "none";
}

const char *say_state(const struct workshop_row *workshop)
{
	switch ((enum workshop_state)workshop->state) {
	case WORKSHOP_OPEN:
		return workshop->takes_requests ? "open for requests"
						: "the closing time is over";
	case WORKSHOP_CLOSED:
		return "closed, not planned yet";
	case WORKSHOP_PLANNED:
		return "planned";
	case WORKSHOP_TORN:
		return "the paper is torn";
	case WORKSHOP_SETTLED:
		return "settled";
	}
	return "";
}
