/* SPDX-License-Identifier: MIT */
/*
 * Our reader of time zone files against the C library's (localtime_r with TZ set), an
 * implementation of its own, over many instants and zones; and the changes of the clock of
 * 2026 as the IANA time zone database tells them.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "zone.h"

static const char *const zones[] = {"UTC", "America/New_York", "Europe/Berlin",
    "Asia/Kolkata", "Australia/Lord_Howe", "Asia/Tokyo", "America/St_Johns",
    "Pacific/Chatham", "Africa/Casablanca", NULL};

static void write_utc(char text[32], time_t t)
{
	struct tm tm;
	gmtime_r(&t, &tm);
	strftime(text, 32, "%Y-%m-%dT%H:%M:%SZ", &tm);
}

Test(zone, local_time_is_that_of_the_c_library)
{
	for (size_t z = 0; zones[z]; z++) {
		setenv("TZ", zones[z], 1);
		tzset();
		/* 2000 to 2037 in steps that meet every hour of the day */
		for (time_t t = 946684800; t < 2145916800; t += 1234567) {
			char utc[32], ours[ZONE_TEXT], theirs[32];
			struct tm tm;
			write_utc(utc, t);
			localtime_r(&t, &tm);
			strftime(theirs, sizeof theirs, "%Y-%m-%dT%H:%M", &tm);
			cr_assert(zone_to_local(zones[z], utc, ours), "%s %s",
			    zones[z], utc);
			cr_expect_str_eq(ours, theirs, "%s %s", zones[z], utc);
		}
	}
}

Test(zone, there_and_back_is_the_same_minute)
{
	for (size_t z = 0; zones[z]; z++)
		for (time_t t = 946684800; t < 2145916800; t += 86400 * 7) {
			char utc[32], local[ZONE_TEXT], back[ZONE_TEXT];
			write_utc(utc, t);
			cr_assert(zone_to_local(zones[z], utc, local));
			cr_assert(zone_to_instant(zones[z], local, back));
			cr_expect_str_eq(back, utc, "%s %s", zones[z], local);
		}
}

Test(zone, changes_of_the_clock_in_2026)
{
	static const struct {
		const char *zone, *local, *instant;
	} rows[] = {
	    {"America/New_York", "2026-03-08T01:59", "2026-03-08T06:59:00Z"},
	    {"America/New_York", "2026-03-08T03:00", "2026-03-08T07:00:00Z"},
	    /* leapt over: by the offset before */
	    {"America/New_York", "2026-03-08T02:30", "2026-03-08T07:30:00Z"},
	    /* twice: the first */
	    {"America/New_York", "2026-11-01T01:30", "2026-11-01T05:30:00Z"},
	    {"America/New_York", "2026-11-01T02:00", "2026-11-01T07:00:00Z"},
	    {"Europe/Berlin", "2026-03-29T03:00", "2026-03-29T01:00:00Z"},
	    {"Europe/Berlin", "2026-10-25T02:30", "2026-10-25T00:30:00Z"},
	    {"Asia/Kolkata", "2026-11-27T17:00", "2026-11-27T11:30:00Z"},
	    {"UTC", "2024-02-29T00:00", "2024-02-29T00:00:00Z"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char instant[ZONE_TEXT];
		cr_assert(
		    zone_to_instant(rows[i].zone, rows[i].local, instant));
		cr_expect_str_eq(instant, rows[i].instant, "%s %s",
		    rows[i].zone, rows[i].local);
	}
}

Test(zone, refuses_what_is_no_time_or_no_zone)
{
	static const struct {
		const char *zone, *local;
	} rows[] = {
	    {"UTC", ""},
	    {"UTC", "2026-11-27"},
	    {"UTC", "2026-02-30T10:00"},
	    {"UTC", "2026-13-01T10:00"},
	    {"UTC", "2026-11-27T24:00"},
	    {"UTC", "2026-11-27T10:60"},
	    {"UTC", "2026-11-27T10:00Z"},
	    {"UTC", "2026-11-27T10:00 "},
	    {"UTC", "27.11.2026 10:00"},
	    {"Atlantis/Nowhere", "2026-11-27T10:00"},
	    {"../../../etc/passwd", "2026-11-27T10:00"},
	    {"/etc/passwd", "2026-11-27T10:00"},
	    {"", "2026-11-27T10:00"},
	    {"tzdata.zi", "2026-11-27T10:00"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		char instant[ZONE_TEXT];
		cr_expect(
		    !zone_to_instant(rows[i].zone, rows[i].local, instant),
		    "%s %s", rows[i].zone, rows[i].local);
	}
}
