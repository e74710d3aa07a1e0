/* SPDX-License-Identifier: MIT */
/*
 * cli_when.c - instants in the studio's time zone.
 *
 * The C library converts only to the zone in TZ, so TZ is set around the conversion; this
 * program has one thread.  It takes a zone it does not have for UTC without a word, hence
 * the look into the zone files first.
 */
#include "cli_when.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "alloc.h"

static bool zone_is_known(const char *zone)
{
	char path[160];
	if (!zone || !*zone || strlen(zone) > 100 || *zone == '/' ||
	    strstr(zone, ".."))
		return false;
	if (strcmp(zone, "UTC") == 0)
		return true;
	snprintf(path, sizeof(path), "/usr/share/zoneinfo/%s", zone);
	return access(path, R_OK) == 0;
}

/* Set TZ; the old value is returned, to be given to leave_zone(). */
static char *enter_zone(const char *zone)
{
	const char *old = getenv("TZ");
	char *kept = old ? xstrdup(old) : NULL;
	setenv("TZ", zone, 1);
	tzset();
	return kept;
}

static void leave_zone(char *old)
{
	if (old)
		setenv("TZ", old, 1);
	else
		unsetenv("TZ");
	tzset();
	free(old);
}

/* n digits as a number; *at moves behind them. */
static bool take_digits(const char **at, int n, int *value)
{
	*value = 0;
	for (; n > 0; n--, ++*at) {
		if (**at < '0' || **at > '9')
			return false;
		*value = *value * 10 + (**at - '0');
	}
	return true;
}

static bool take_sign(const char **at, char sign)
{
	return **at == sign && ++*at;
}

/* YYYY-MM-DD at the beginning; what follows is in *rest. */
static bool read_day(const char *s, struct tm *tm, const char **rest)
{
	int y, m, d;
	if (!take_digits(&s, 4, &y) || !take_sign(&s, '-') ||
	    !take_digits(&s, 2, &m) || !take_sign(&s, '-') ||
	    !take_digits(&s, 2, &d))
		return false;
	*tm = (struct tm){
	    .tm_year = y - 1900, .tm_mon = m - 1, .tm_mday = d, .tm_isdst = -1};
	struct tm same = *tm;
	*rest = s;
	return y >= 1970 && timegm(&same) != (time_t)-1 && same.tm_mday == d &&
	       same.tm_mon == m - 1;
}

/* HH:MM[:SS[.fff]] after a day. */
static bool read_clock(const char *s, struct tm *tm, const char **rest)
{
	if (!take_digits(&s, 2, &tm->tm_hour) || !take_sign(&s, ':') ||
	    !take_digits(&s, 2, &tm->tm_min) || tm->tm_hour > 23 ||
	    tm->tm_min > 59)
		return false;
	if (take_sign(&s, ':')) {
		if (!take_digits(&s, 2, &tm->tm_sec) || tm->tm_sec > 60)
			return false;
		if (take_sign(&s, '.'))
			s += strspn(s, "0123456789");
	}
	*rest = s;
	return true;
}

/* "Z" or "+05:30" to minutes east. */
static bool read_offset(const char *s, int *minutes)
{
	int h, m;
	*minutes = 0;
	if (strcmp(s, "Z") == 0 || strcmp(s, "z") == 0)
		return true;
	bool west = *s == '-';
	if ((!take_sign(&s, '+') && !take_sign(&s, '-')) ||
	    !take_digits(&s, 2, &h) || !take_sign(&s, ':') ||
	    !take_digits(&s, 2, &m) || *s || h > 23 || m > 59)
		return false;
	*minutes = (h * 60 + m) * (west ? -1 : 1);
	return true;
}

static bool refuse(const char *text, struct err *err)
{
	err_set(err, ERR_INPUT, "\"%.60s\" is not a date and time", text);
	return err_hint(err, "Write 2026-11-27 17:00 (the studio's time), or "
			     "2026-11-27T17:00:00Z.");
}

static bool in_zone(const char *text, const char *zone, struct tm tm,
    time_t *out, struct err *err)
{
	if (!zone_is_known(zone)) {
		err_set(err, ERR_INPUT,
		    "\"%.60s\" needs a time zone, and this machine does not "
		    "know the studio's (%s)",
		    text, zone ? zone : "none");
		return err_hint(
		    err, "Write the offset: 2026-11-27T17:00:00-05:00.");
	}
	int hour = tm.tm_hour, minute = tm.tm_min;
	char *old = enter_zone(zone);
	*out = mktime(&tm);
	leave_zone(old);
	if (tm.tm_hour == hour && tm.tm_min == minute)
		return true;
	err_set(err, ERR_INPUT,
	    "\"%.60s\" does not exist in %s: the clocks are "
	    "put forward then",
	    text, zone);
	return err_hint(err, "Name a time an hour later.");
}

bool when_parse(const char *text, const char *zone,
    char out[static WHEN_TEXT_MAX], struct err *err)
{
	struct tm tm;
	const char *rest;
	int minutes;
	time_t t;
	if (!read_day(text, &tm, &rest))
		return refuse(text, err);
	if (!*rest) {
		tm.tm_hour = 23;
		tm.tm_min = 59;
	} else if ((*rest != ' ' && *rest != 'T' && *rest != 't') ||
		   !read_clock(rest + 1, &tm, &rest)) {
		return refuse(text, err);
	}
	while (*rest == ' ')
		rest++;
	if (!*rest) {
		if (!in_zone(text, zone, tm, &t, err))
			return false;
	} else if (read_offset(rest, &minutes)) {
		t = timegm(&tm) - minutes * 60;
	} else {
		return refuse(text, err);
	}
	struct tm utc;
	gmtime_r(&t, &utc);
	strftime(out, WHEN_TEXT_MAX, "%Y-%m-%dT%H:%M:%SZ", &utc);
	return true;
}

const char *when_print(
    char buf[static WHEN_TEXT_MAX], const char *instant, const char *zone)
{
	struct tm tm, local;
	const char *rest;
	int minutes;
	snprintf(buf, WHEN_TEXT_MAX, "%.60s", instant);
	if (!read_day(instant, &tm, &rest) || (*rest != 'T' && *rest != 't') ||
	    !read_clock(rest + 1, &tm, &rest) || !read_offset(rest, &minutes))
		return buf;
	time_t t = timegm(&tm) - minutes * 60;
	char *old = enter_zone(zone_is_known(zone) ? zone : "UTC");
	if (localtime_r(&t, &local))
		strftime(buf, WHEN_TEXT_MAX, "%Y-%m-%d %H:%M %Z", &local);
	leave_zone(old);
	return buf;
}

bool day_check(const char *text, struct err *err)
{
	struct tm tm;
	const char *rest;
	if (read_day(text, &tm, &rest) && !*rest)
		return true;
	err_set(err, ERR_INPUT, "\"%.60s\" is not a day", text);
	return err_hint(err, "Write it as 2026-11-28.");
}
