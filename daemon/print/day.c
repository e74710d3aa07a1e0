/* SPDX-License-Identifier: MIT */
/*
 * day.c - days as they are said, in the language of the sheet.
 *
 * Who does the arithmetic of days and zones hands over "Thu 2026-06-04 17:00"; a sheet on a
 * wall is read by people who would have to think which month 06 is.
 */
#include <stdio.h>
#include <string.h>

#include "catalogue.h"
#include "sheet.h"

static const char *const days[][2] = {{"Mon", N_("Monday")},
    {"Tue", N_("Tuesday")}, {"Wed", N_("Wednesday")}, {"Thu", N_("Thursday")},
    {"Fri", N_("Friday")}, {"Sat", N_("Saturday")}, {"Sun", N_("Sunday")}};
static const char *const months[] = {N_("January"), N_("February"), N_("March"),
    N_("April"), N_("May"), N_("June"), N_("July"), N_("August"),
    N_("September"), N_("October"), N_("November"), N_("December")};

static const char *day_name(const char *three)
{
	for (size_t i = 0; i < sizeof(days) / sizeof(days[0]); i++) {
		if (strcmp(days[i][0], three) == 0)
			return _(days[i][1]);
	}
	return NULL;
}

const char *sheet_day(
    char buf[static SHEET_DAY_MAX], const char *language, const char *when)
{
	char three[4], hour[6] = "";
	int year, month, day;
	int n = sscanf(when, "%3[A-Za-z] %4d-%2d-%2d %5[0-9:]", three, &year,
	    &month, &day, hour);

	catalogue_use(language);
	snprintf(buf, SHEET_DAY_MAX, "%s", when);
	if (n < 4 || month < 1 || month > 12 || day < 1 || day > 31 ||
	    !day_name(three))
		return buf;
	snprintf(buf, SHEET_DAY_MAX, _("%s, %d %s %d"), day_name(three), day,
	    _(months[month - 1]), year);
	if (n == 5) {
		size_t len = strlen(buf);
		snprintf(buf + len, SHEET_DAY_MAX - len, ", %s", hour);
	}
	return buf;
}

bool sheet_speaks(const char *language)
{
	return catalogue_known(language);
}
