/* SPDX-License-Identifier: MIT */
/*
 * zone.c - a small reader of TZif files.
 *
 * Only the 64-bit block is read.  Debian's files are written "fat": every change of the clock up to
 * 2037 stands in them, so the rule in the footer (for later years) is left out; after the
 * last change its offset simply stays.
 */
#include "zone.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ZONE_FILE_MAX ((size_t)256 << 10)
#define HEAD 44

struct zone {
	unsigned char *bytes;
	size_t len;
	const unsigned char *times, *kinds, *types; /* into bytes */
	size_t n_times, n_types;
};

static uint32_t number(const unsigned char *p)
{
	return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 |
	       (uint32_t)p[2] << 8 | p[3];
}

static int64_t number64(const unsigned char *p)
{
	return (int64_t)((uint64_t)number(p) << 32 | number(p + 4));
}

static bool name_is_safe(const char *name)
{
	static const char allowed[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
				      "abcdefghijklmnopqrstuvwxyz"
				      "0123456789_+-/";
	return name && *name && *name != '/' && strlen(name) < 64 &&
	       strspn(name, allowed) == strlen(name);
}

static bool read_file(struct zone *z, const char *name)
{
	char path[128];
	snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
	FILE *f = fopen(path, "rbe");
	if (!f)
		return false;
	z->bytes = malloc(ZONE_FILE_MAX);
	z->len = z->bytes ? fread(z->bytes, 1, ZONE_FILE_MAX, f) : 0;
	fclose(f);
	return z->len >= HEAD && memcmp(z->bytes, "TZif", 4) == 0;
}

struct counts {
	size_t utc, standard, leaps, times, types, chars;
};

/* False when the block does not lie within the file. */
static bool read_counts(const struct zone *z, size_t at, size_t width,
    struct counts *c, size_t *size)
{
	if (at + HEAD > z->len)
		return false;
	const unsigned char *p = z->bytes + at + 20;
	*c = (struct counts){number(p), number(p + 4), number(p + 8),
	    number(p + 12), number(p + 16), number(p + 20)};
	if (c->times > 10000 || c->types > 256 || c->leaps > 10000 ||
	    c->chars > 10000 || c->utc > 256 || c->standard > 256)
		return false;
	*size = HEAD + c->times * (width + 1) + c->types * 6 + c->chars +
		c->leaps * (width + 4) + c->standard + c->utc;
	return at + *size <= z->len;
}

static bool zone_open(struct zone *z, const char *name)
{
	struct counts c;
	size_t first, second;
	if (!name_is_safe(name) || !read_file(z, name))
		return false;
	if (z->bytes[4] < '2' || !read_counts(z, 0, 4, &c, &first) ||
	    !read_counts(z, first, 8, &c, &second) || c.types == 0)
		return false;
	z->times = z->bytes + first + HEAD;
	z->kinds = z->times + c.times * 8;
	z->types = z->kinds + c.times;
	z->n_times = c.times;
	z->n_types = c.types;
	return true;
}

static void zone_close(struct zone *z)
{
	free(z->bytes);
}

static int64_t type_offset(const struct zone *z, size_t type)
{
	return type < z->n_types ? (int32_t)number(z->types + type * 6) : 0;
}

/* Seconds east of Greenwich at an instant. */
static int64_t offset_at(const struct zone *z, int64_t instant)
{
	size_t type = 0;
	for (size_t i = 0; i < z->n_times; i++) {
		if (number64(z->times + i * 8) > instant)
			break;
		type = z->kinds[i];
	}
	return type_offset(z, type);
}

/* Days since 1970-01-01 of a day in the Gregorian calendar, and back: counted in eras of 400
 * years that begin in March. */
static int64_t days_of(int64_t y, int64_t m, int64_t d)
{
	y -= m <= 2;
	int64_t era = (y >= 0 ? y : y - 399) / 400;
	int64_t of_era = y - era * 400;
	int64_t of_year = (153 * (m + (m > 2 ? -3 : 9)) + 2) / 5 + d - 1;
	return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 +
	       of_year - 719468;
}

static void day_of(int64_t days, int *y, int *m, int *d)
{
	days += 719468;
	int64_t era = (days >= 0 ? days : days - 146096) / 146097;
	int64_t n = days - era * 146097;
	int64_t year = (n - n / 1460 + n / 36524 - n / 146096) / 365;
	int64_t of_year = n - (365 * year + year / 4 - year / 100);
	int64_t month = (5 * of_year + 2) / 153;
	*d = (int)(of_year - (153 * month + 2) / 5 + 1);
	*m = (int)(month < 10 ? month + 3 : month - 9);
	*y = (int)(year + era * 400 + (*m <= 2));
}

/* "YYYY-MM-DDTHH:MM" and perhaps ":SS", as if it were UTC. */
static bool read_clock(const char *s, const char *end, int64_t *out)
{
	int y, m, d, h, min, sec = 0, n = 0;
	if (sscanf(s, "%4d-%2d-%2dT%2d:%2d%n", &y, &m, &d, &h, &min, &n) != 5 ||
	    n != 16)
		return false;
	if (s[n] == ':') {
		int more = 0;
		if (sscanf(s + n, ":%2d%n", &sec, &more) != 1 || more != 3)
			return false;
		n += more;
	}
	if (s[n] == '.')
		n += 1 + (int)strspn(s + n + 1, "0123456789");
	if (strcmp(s + n, end) != 0 || y < 1 || m < 1 || m > 12 || d < 1 ||
	    h < 0 || h > 23 || min < 0 || min > 59 || sec < 0 || sec > 60)
		return false;
	int64_t days = days_of(y, m, d);
	int y2, m2, d2;
	day_of(days, &y2, &m2, &d2);
	*out = days * 86400 + h * 3600 + min * 60 + sec;
	return y2 == y && m2 == m && d2 == d;
}

static int64_t floor_div(int64_t a, int64_t b)
{
	return a / b - (a % b < 0);
}

static void write_clock(
    char text[static ZONE_TEXT], int64_t seconds, bool with_seconds)
{
	int y, m, d;
	int64_t days = floor_div(seconds, 86400);
	unsigned rest = (unsigned)(seconds - days * 86400) % 86400u;
	day_of(days, &y, &m, &d);
	int n = snprintf(text, ZONE_TEXT, "%04u-%02u-%02uT%02u:%02u",
	    (unsigned)y % 10000u, (unsigned)m % 100u, (unsigned)d % 100u,
	    rest / 3600u, rest / 60u % 60u);
	if (with_seconds)
		snprintf(
		    text + n, (size_t)(ZONE_TEXT - n), ":%02uZ", rest % 60u);
}

bool zone_to_local(
    const char *zone, const char *instant, char local[static ZONE_TEXT])
{
	struct zone z = {0};
	int64_t seconds;
	bool ok = read_clock(instant, "Z", &seconds) && zone_open(&z, zone);
	if (ok)
		write_clock(local, seconds + offset_at(&z, seconds), false);
	zone_close(&z);
	return ok;
}

bool zone_to_instant(
    const char *zone, const char *local, char instant[static ZONE_TEXT])
{
	struct zone z = {0};
	int64_t clock;
	bool ok = read_clock(local, "", &clock) && zone_open(&z, zone);
	if (ok) {
		/* No zone is further than a day off, so these two are the offsets before and
		 * after a change of the clock nearby. */
		int64_t before = offset_at(&z, clock - 86400);
		int64_t after = offset_at(&z, clock + 86400);
		int64_t found = clock - before;
		if (offset_at(&z, found) != before &&
		    offset_at(&z, clock - after) == after)
			found = clock - after;
		write_clock(instant, found, true);
	}
	zone_close(&z);
	return ok;
}
