/* SPDX-License-Identifier: MIT */
/*
 * How pages say things.  Weekdays are checked against the C library's timegm and gmtime.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "arena.h"
#include "say.h"

static struct call call;

static void forget(void)
{
	arena_delete(call.arena);
	call.arena = NULL;
}

TestSuite(words, .fini = forget);

static void studio_in(const char *currency, enum measure_system system)
{
	if (!call.arena)
		call.arena = arena_new((size_t)16 << 20);
	call.caller.studio.currency = currency;
	call.caller.studio.measure = system;
	call.caller.studio.time_zone = "America/New_York";
}

Test(words, sizes_name_a_common_unit_once)
{
	studio_in("USD", MEASURE_INCH);
	cr_expect_str_eq(say_size(&call, 19 * INCH / 2, 25 * INCH / 2),
	    "9 1/2 \u00d7 12 1/2 in");
	/* what inches cannot hold is written in millimetres */
	cr_expect_str_eq(
	    say_size(&call, 9 * INCH, 10 * MM), "9 in \u00d7 10 mm");
}

Test(words, days_have_the_weekday_of_the_calendar)
{
	studio_in("USD", MEASURE_INCH);
	for (time_t t = 946684800; t < 4102444800; t += 86400 * 13) {
		struct tm tm;
		char day[16], expected[64];
		gmtime_r(&t, &tm);
		strftime(day, sizeof day, "%Y-%m-%d", &tm);
		strftime(expected, sizeof expected, "%a %-d %B %Y", &tm);
		cr_expect_str_eq(say_day(&call, day), expected);
	}
	cr_expect_str_eq(say_day(&call, "soon"), "soon");
	cr_expect_str_eq(say_day(&call, "2026-13-01"), "2026-13-01");
}

Test(words, instants_are_told_in_the_studio_s_time)
{
	studio_in("USD", MEASURE_INCH);
	cr_expect_str_eq(say_instant(&call, "2026-11-27T22:00:00Z"),
	    "Fri 27 November 2026, 17:00");
	cr_expect_str_eq(say_instant(&call, NULL), "never");
	call.caller.studio.time_zone = "Nowhere/Atlantis";
	cr_expect_str_eq(say_instant(&call, "2026-11-27T22:00:00Z"),
	    "Fri 27 November 2026, 22:00 UTC");
}

/* Decimals by ISO 4217, groups and points by the studio's locale, up to the last amount. */
Test(words, amounts_are_written_as_the_studio_writes_them)
{
	static const struct {
		const char *currency, *locale;
		money m;
		const char *text;
	} rows[] = {
	    {"USD", "en", 16200, "162.00 USD"},
	    {"USD", "en", 123456789, "1,234,567.89 USD"},
	    {"EUR", "de", 123456789, "1.234.567,89 EUR"},
	    {"EUR", "de", -5, "-0,05 EUR"},
	    {"JPY", "ja", 1234567, "1,234,567 JPY"},
	    {"JPY", "de", 1234567, "1.234.567 JPY"},
	    {"KWD", "en", 1234567, "1,234.567 KWD"},
	    {"BHD", "de", 1, "0,001 BHD"},
	    {"INR", "en-IN", 1234567890, "1,23,45,678.90 INR"},
	    {"CHF", "de-CH", 123456789, "1'234'567.89 CHF"},
	    {"USD", "en", INT64_C(1000000000000000),
		"10,000,000,000,000.00 USD"},
	    {"USD", "en", INT64_MAX, "92,233,720,368,547,758.07 USD"},
	    {"USD", "en", INT64_MIN, "-92,233,720,368,547,758.08 USD"},
	    {"KWD", "de", INT64_MIN, "-9.223.372.036.854.775,808 KWD"},
	    {"JPY", "en", INT64_MIN, "-9,223,372,036,854,775,808 JPY"},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		studio_in(rows[i].currency, MEASURE_INCH);
		call.caller.studio.locale = rows[i].locale;
		cr_expect_str_eq(say_money(&call, rows[i].m), rows[i].text);
	}
}

Test(words, areas_are_told_to_the_hundredth)
{
	studio_in("USD", MEASURE_INCH);
	cr_expect_str_eq(
	    say_area(&call, 19 * INCH / 2 * (25 * INCH / 2)), "118.75 sq in");
	call.caller.studio.measure = MEASURE_MM;
	cr_expect_str_eq(say_area(&call, 297 * MM * 210 * MM), "6.24 dm\u00b2");
}

Test(words, messages_become_sentences)
{
	studio_in("USD", MEASURE_INCH);
	cr_expect_str_eq(say_sentence(&call, "count 0 is too small"),
	    "Count 0 is too small.");
	cr_expect_str_eq(say_sentence(&call, "Done."), "Done.");
	cr_expect_str_eq(say_sentence(&call, ""), "");
}

Test(words, one_and_many)
{
	studio_in("USD", MEASURE_INCH);
	cr_expect_str_eq(say_count(&call, 1, "sheet", "sheets"), "1 sheet");
	cr_expect_str_eq(say_count(&call, 0, "sheet", "sheets"), "0 sheets");
	cr_expect_str_eq(say_count(&call, 10, "sheet", "sheets"), "10 sheets");
}
