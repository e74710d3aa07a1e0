/* SPDX-License-Identifier: MIT */
/*
 * A log is put aside by the day of its first line, whoever writes it, and no line is lost.
 */
#include "aside.h"

#include <criterion/criterion.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "log.h"

static char folder[] = "/tmp/aside.XXXXXX";
static char path[64], old[64];

static void begin(void)
{
	cr_assert(mkdtemp(folder));
	snprintf(path, sizeof(path), "%s/log", folder);
	snprintf(old, sizeof(old), "%s/log.old", folder);
}

static void end(void)
{
	unlink(path);
	unlink(old);
	rmdir(folder);
}

TestSuite(aside, .init = begin, .fini = end);

static void fill(const char *name, const char *text)
{
	FILE *f = fopen(name, "w");
	cr_assert(f);
	fputs(text, f);
	fclose(f);
}

static const char *content(const char *name)
{
	static char text[4096];
	FILE *f = fopen(name, "r");
	if (!f)
		return "none";
	text[fread(text, 1, sizeof(text) - 1, f)] = '\0';
	fclose(f);
	return text;
}

#define LINES "2026-10-11T09:30:00.000Z a\n2026-11-20T09:30:00.000Z b\n"

Test(aside, goes_by_the_day_of_the_first_line)
{
	static const struct {
		const char *text, *day;
		bool aside;
	} rows[] = {
	    {LINES, "2026-10-12", true},
	    {LINES, "2026-10-11", false},
	    {LINES, "2026-10-10", false},
	    {"2026-10-11 09:30:00.000 UTC [7] as PostgreSQL writes\n",
		"2026-10-12", true},
	    {"", "2026-10-12", false},
	    {"no day at all\n", "2026-10-12", false},
	    {"2026-10", "2026-10-12", false},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		for (int way = ASIDE_RENAME; way <= ASIDE_COPY; way++) {
			fill(path, rows[i].text);
			fill(old, "what was aside before");
			cr_expect_eq(
			    aside_put(path, rows[i].day, (enum aside_way)way),
			    rows[i].aside, "row %zu", i);
			cr_expect_str_eq(content(old),
			    rows[i].aside ? rows[i].text
					  : "what was aside before");
			cr_expect_str_eq(
			    content(path), !rows[i].aside        ? rows[i].text
					   : way == ASIDE_RENAME ? "none"
								 : "");
		}
	}
	unlink(path);
	cr_expect(!aside_put(path, "2026-10-12", ASIDE_RENAME));
}

Test(aside, who_appends_for_ever_goes_on_at_the_beginning)
{
	fill(path, LINES);
	int fd = open(path, O_WRONLY | O_APPEND);
	cr_expect(aside_put(path, "2026-10-12", ASIDE_COPY));
	cr_assert_eq(write(fd, "next\n", 5), 5);
	close(fd);
	cr_expect_str_eq(content(path), "next\n");
}

Test(aside, the_log_turns_and_goes_on)
{
	struct err err;
	fill(path, LINES);
	cr_assert(log_open(path, LOG_INFO, &err));
	log_turn("2026-10-12");
	log_event(LOG_INFO, "after", "n=1");
	log_close();
	cr_expect_str_eq(content(old), LINES);
	cr_expect(strstr(content(path), "event=after n=1"));
	cr_expect(!strstr(content(path), "2026-10-11"));
}
