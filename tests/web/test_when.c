/* SPDX-License-Identifier: MIT */
/*
 * Instants and days, read strictly and shifted; compared with timegm() and gmtime() of the C
 * library, which know the same calendar by another way.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "when.h"

Test(when, an_instant_becomes_utc)
{
	static const struct {
		const char *text, *utc; /* NULL: refused */
	} rows[] = {
	    {"2026-11-27T17:00:00Z", "2026-11-27T17:00:00Z"},
	    {"2026-11-27t17:00:00z", "2026-11-27T17:00:00Z"},
	    {"2026-11-27T12:00:00-05:00", "2026-11-27T17:00:00Z"},
	    {"2026-12-31T23:30:00-01:00", "2027-01-01T00:30:00Z"},
	    {"2028-03-01T00:30:00+01:00", "2028-02-29T23:30:00Z"},
	    {"2027-03-01T00:30:00+01:00", "2027-02-28T23:30:00Z"},
	    {"2026-11-27T17:00:00.000Z", "2026-11-27T17:00:00Z"},
	    {"2026-11-27T17:00:00.5Z", NULL},
	    {"2026-11-27T17:00:00.Z", NULL},
	    {"2026-11-27T17:00:00", NULL},
	    {"2026-11-27T17:00Z", NULL},
	    {"2026-11-27 17:00:00Z", NULL},
	    {"2026-02-29T00:00:00Z", NULL},
	    {"2026-13-01T00:00:00Z", NULL},
	    {"2026-00-01T00:00:00Z", NULL},
	    {"2026-01-00T00:00:00Z", NULL},
	    {"2026-01-01T24:00:00Z", NULL},
	    {"2026-01-01T00:60:00Z", NULL},
	    {"2026-01-01T00:00:60Z", NULL},
	    {"1999-12-31T00:00:00Z", NULL},
	    {"2200-01-01T00:00:00Z", NULL},
	    {"2026-01-01T00:00:00+24:00", NULL},
	    {"2026-01-01T00:00:00Zx", NULL},
	    {"", NULL},
	    {"now", NULL},
	};
	char utc[INSTANT_TEXT];
	struct err err;

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		bool good = instant_read(rows[i].text, utc, &err);

		cr_expect_eq(good, rows[i].utc != NULL, "%s", rows[i].text);
		if (good && rows[i].utc != NULL)
			cr_expect_str_eq(utc, rows[i].utc, "%s", rows[i].text);
		if (!good)
			cr_expect(err.text[0] != '\0' && err.hint[0] != '\0',
			    "%s", rows[i].text);
	}
}

/* Every day of the years we take, by the C library's calendar. */
Test(when, days_and_weekdays_are_those_of_the_c_library)
{
	struct err err;

	for (time_t t = 946684800; t < 7258118400; t += 86400) {
		char day[16], next[DAY_TEXT], theirs[DAY_TEXT];
		struct tm tm;
		time_t later = t + 3 * 86400;

		gmtime_r(&t, &tm);
		strftime(day, sizeof(day), "%Y-%m-%d", &tm);
		cr_assert(day_read(day, &err), "%s", day);
		gmtime_r(&later, &tm);
		strftime(theirs, sizeof(theirs), "%a %Y-%m-%d", &tm);
		cr_assert_str_eq(
		    day_print(day, 3, next), theirs, "%s and three days", day);
	}
	for (time_t t = 978307200; t < 1010000000; t += 86400) {
		char day[16], before[DAY_TEXT], theirs[DAY_TEXT];
		struct tm tm;
		time_t earlier = t - 365 * 86400;

		gmtime_r(&t, &tm);
		strftime(day, sizeof(day), "%Y-%m-%d", &tm);
		gmtime_r(&earlier, &tm);
		strftime(theirs, sizeof(theirs), "%a %Y-%m-%d", &tm);
		cr_assert_str_eq(day_print(day, -365, before), theirs,
		    "%s and a year less", day);
	}
}

Test(when, what_is_no_day_is_refused)
{
	static const char *const bad[] = {"", "2026-2-1", "2026-02-30",
	    "2026-02-29", "20260201", "2026-02-01 ", "2026-02-01T00:00:00Z",
	    "1999-12-31", "2200-01-01", "2026-04-31", NULL};
	struct err err;

	for (size_t i = 0; bad[i] != NULL; i++)
		cr_expect_not(day_read(bad[i], &err), "%s", bad[i]);
	cr_expect(day_read("2028-02-29", &err), "2028 is a leap year");
	cr_expect(day_read("2000-02-29", &err), "2000 is a leap year");
	cr_expect_not(day_read("2100-02-29", &err), "2100 is none");
}
