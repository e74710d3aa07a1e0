/* SPDX-License-Identifier: MIT */
/*
 * when.c - instants and days.
 *
 * Read by hand: strptime() takes what is not there (31 February) and the C library's way to
 * UTC goes through the process's time zone.
 */
#include "when.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static bool digits(const char **s, int n, int *out)
{
	*out = 0;
	for (; n > 0; n--, (*s)++) {
		if (**s < '0' || **s > '9')
			return false;
		*out = *out * 10 + (**s - '0');
	}
	return true;
}

static bool sign(const char **s, char c)
{
	if (**s != c)
		return false;
	(*s)++;
	return true;
}

static int days_in(int year, int month)
{
	static const int days[] = {
	    31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
	bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

	return days[month - 1] + (month == 2 && leap);
}

static bool read_date(const char **s, int *year, int *month, int *day)
{
	return digits(s, 4, year) && sign(s, '-') && digits(s, 2, month) &&
	       sign(s, '-') && digits(s, 2, day) && *year >= 2000 &&
	       *year <= 2199 && *month >= 1 && *month <= 12 && *day >= 1 &&
	       *day <= days_in(*year, *month);
}

bool day_read(const char *text, struct err *err)
{
	const char *s = text;
	int year, month, day;

	if (read_date(&s, &year, &month, &day) && *s == '\0')
		return true;
	err_set(err, ERR_INPUT, "\"%.40s\" is no day", text);
	return err_hint(err, "Write it like 2026-11-28.");
}

/* Fractions of a second only when they are none: we keep whole seconds and do not round. */
static bool read_time(const char **s, int *seconds)
{
	int hour, minute, second;

	if (!digits(s, 2, &hour) || !sign(s, ':') || !digits(s, 2, &minute) ||
	    !sign(s, ':') || !digits(s, 2, &second) || hour > 23 ||
	    minute > 59 || second > 59)
		return false;
	if (sign(s, '.')) {
		size_t n = strspn(*s, "0");

		if (n == 0)
			return false;
		*s += n;
	}
	*seconds = hour * 3600 + minute * 60 + second;
	return true;
}

static bool read_offset(const char **s, int *seconds)
{
	int hour, minute;
	int way = **s == '-' ? -1 : 1;

	*seconds = 0;
	if (sign(s, 'Z') || sign(s, 'z'))
		return true;
	if (!sign(s, '+') && !sign(s, '-'))
		return false;
	if (!digits(s, 2, &hour) || !sign(s, ':') || !digits(s, 2, &minute) ||
	    hour > 23 || minute > 59)
		return false;
	*seconds = way * (hour * 3600 + minute * 60);
	return true;
}

static void add_days(int *year, int *month, int *day, int by)
{
	*day += by;
	if (*day < 1) {
		*month -= 1;
		if (*month < 1) {
			*month = 12;
			*year -= 1;
		}
		*day += days_in(*year, *month);
	} else if (*day > days_in(*year, *month)) {
		*day -= days_in(*year, *month);
		*month += 1;
		if (*month > 12) {
			*month = 1;
			*year += 1;
		}
	}
}

/* Sakamoto's rule: 0 is Sunday (from memory; tested against known days). */
static int weekday(int year, int month, int day)
{
	static const int offset[] = {0, 3, 2, 5, 0, 3, 5, 1, 4, 6, 2, 4};

	if (month < 3)
		year--;
	return (year + year / 4 - year / 100 + year / 400 + offset[month - 1] +
		   day) %
	       7;
}

const char *day_print(
    const char *day_text, int shift, char out[static DAY_TEXT])
{
	static const char *const names[] = {
	    "Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
	const char *s = day_text;
	int year, month, day;

	out[0] = '\0';
	if (!read_date(&s, &year, &month, &day))
		return out;
	for (; shift > 0; shift--)
		add_days(&year, &month, &day, 1);
	for (; shift < 0; shift++)
		add_days(&year, &month, &day, -1);
	snprintf(out, DAY_TEXT, "%s %04u-%02u-%02u",
	    names[weekday(year, month, day)], (unsigned)year % 10000,
	    (unsigned)month % 100, (unsigned)day % 100);
	return out;
}

bool instant_read(
    const char *text, char utc[static INSTANT_TEXT], struct err *err)
{
	const char *s = text;
	int year, month, day, seconds, offset, by = 0;

	if (!read_date(&s, &year, &month, &day) ||
	    (!sign(&s, 'T') && !sign(&s, 't')) || !read_time(&s, &seconds) ||
	    !read_offset(&s, &offset) || *s != '\0') {
		err_set(err, ERR_INPUT, "\"%.40s\" is no instant", text);
		return err_hint(err, "Write it like 2026-11-27T17:00:00Z, or "
				     "with an offset: ...T12:00:00-05:00.");
	}
	seconds -= offset;
	if (seconds < 0) {
		seconds += 86400;
		by = -1;
	} else if (seconds >= 86400) {
		seconds -= 86400;
		by = 1;
	}
	add_days(&year, &month, &day, by);
	snprintf(utc, INSTANT_TEXT, "%04u-%02u-%02uT%02u:%02u:%02uZ",
	    (unsigned)year % 10000, (unsigned)month % 100, (unsigned)day % 100,
	    (unsigned)seconds / 3600 % 24, (unsigned)seconds / 60 % 60,
	    (unsigned)seconds % 60);
	return true;
}
