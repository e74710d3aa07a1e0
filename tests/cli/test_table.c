/* SPDX-License-Identifier: MIT */
/*
 * Tables for people and for programs.
 */
#include <criterion/criterion.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli_columns.h"
#include "command.h"
#include "table.h"
#include "cli_when.h"

static void choose_locale(void)
{
	setlocale(LC_CTYPE, "C.UTF-8");
}

static const struct column columns[] = {
    {"id", "id", "id", COL_NUMBER, NULL},
    {"name", "name", "name", COL_TEXT, NULL},
    {"size_u", "size", "size", COL_LENGTH, NULL},
    {"price_minor", "price", "price", COL_MONEY, NULL},
    {"there", "there", "there", COL_NUMBER, "any"},
    {"turn", "turn", "turn", COL_YES, NULL},
    {"list", NULL, "list", COL_LIST, NULL},
    {NULL, NULL, NULL, 0, NULL},
};

static const char items[] =
    "[{\"id\":1,\"name\":\"\xC3\x85sa\",\"size\":{\"u\":101600,\"text\":\"12 "
    "1/2 in\"},"
    "\"price\":19200,\"there\":null,\"turn\":true,\"list\":[1,2]},"
    "{\"id\":12,\"name\":\"\xE7\xB4\x99\xE3\x81\xAE\xE4\xBA\xBA\",\"size\":{"
    "\"u\":8128,\"text\":"
    "\"1 "
    "in\"},\"price\":5,\"there\":3,\"turn\":false,\"list\":[\"a\"],\"more\":{}}"
    "]";

static char *written(const char *json, enum style style, int width)
{
	char *text = NULL;
	size_t len = 0;
	json_t *list = json_loads(json, 0, NULL);
	cr_assert(list);
	FILE *out = open_memstream(&text, &len);
	struct paper_and_pen pen = {
	    .out = out, .style = style, .width = width, .currency = "USD"};
	table_write(&pen, columns, list);
	fclose(out);
	json_decref(list);
	return text;
}

Test(table, lines_up_for_people_in_cells_of_the_terminal, .init = choose_locale)
{
	char *text = written(items, STYLE_PEOPLE, 80);
	cr_expect_str_eq(text,
	    "id  name         size       price  there  turn\n"
	    " 1  \xC3\x85sa     12 1/2 in  192.00 USD    any  yes\n"
	    "12  \xE7\xB4\x99\xE3\x81\xAE\xE4\xBA\xBA       1 in    0.05 USD   "
	    "   3\n");
	free(text);
}

Test(table, is_whole_numbers_between_tabs_for_programs, .init = choose_locale)
{
	char *text = written(items, STYLE_PLAIN, 20);
	cr_expect_str_eq(text,
	    "id\tname\tsize_u\tprice_minor\tthere\tturn\tlist\n"
	    "1\t\xC3\x85sa\t101600\t19200\t\tyes\t1,2\n"
	    "12\t\xE7\xB4\x99\xE3\x81\xAE\xE4\xBA\xBA\t8128\t5\t3\tno\ta\n");
	free(text);
}

Test(table, never_grows_wider_than_asked_while_texts_can_give_way,
    .init = choose_locale)
{
	char json[900];
	char name[161];
	memset(name, 'n', 160);
	name[160] = '\0';
	snprintf(json, sizeof(json),
	    "[{\"id\":1,\"name\":\"%s\",\"price\":100}]", name);
	for (int width = 45; width < 120; width++) {
		char *text = written(json, STYLE_PEOPLE, width), *save = NULL;
		for (char *line = strtok_r(text, "\n", &save); line;
		     line = strtok_r(NULL, "\n", &save))
			cr_expect_leq(text_cells(line), width, "width %d: %s",
			    width, line);
		free(text);
	}
}

Test(table, lets_no_value_steer_the_terminal_or_break_a_line,
    .init = choose_locale)
{
	static const char hostile[] = "[{\"id\":1,\"name\":\"a\\u001b["
				      "31m\\tb\\nc\\u009bd\\u202ee\\u007f\"}]";
	for (int style = STYLE_PEOPLE; style <= STYLE_PLAIN; style++) {
		char *text = written(hostile, (enum style)style, 80);
		cr_expect(strstr(text, "a?[31m?b?c?d?e?"), "%s", text);
		cr_expect_null(strchr(text, '\x1b'));
		free(text);
	}
}

Test(table, reads_gaps_where_members_are_missing_or_of_another_type,
    .init = choose_locale)
{
	char *text = written("[{\"id\":\"x\",\"name\":3,\"size\":[],\"price\":{"
			     "},\"list\":7}, 5, null]",
	    STYLE_PLAIN, 80);
	cr_expect_str_eq(strchr(text, '\n') + 1,
	    "0\t\t0\t0\t\t\t\n\t\t\t\t\t\t\n\t\t\t\t\t\t\n");
	free(text);
}

Test(table, shortens_between_characters, .init = choose_locale)
{
	static const struct {
		const char *from;
		int cells;
		const char *to;
	} rows[] = {
	    {"abcdef", 6, "abcdef"},
	    {"abcdefgh", 6, "abcde\xE2\x80\xA6"},
	    {"\xE7\xB4\x99\xE7\xB4\x99\xE7\xB4\x99", 4,
		"\xE7\xB4\x99\xE2\x80\xA6"},
	    {"\xC3\x85\xC3\x85\xC3\x85\xC3\x85", 3,
		"\xC3\x85\xC3\x85\xE2\x80\xA6"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		char buf[40];
		strcpy(buf, rows[i].from);
		text_shorten(buf, rows[i].cells);
		cr_expect_str_eq(buf, rows[i].to, "%s: %s", rows[i].from, buf);
	}
}

Test(table, writes_json_that_cannot_steer_a_terminal)
{
	char *text = NULL;
	size_t len = 0;
	FILE *out = open_memstream(&text, &len);
	json_t *value = json_loads("{\"a\":\"\\u009b\\u202e\"}", 0, NULL);
	json_write(out, value);
	fclose(out);
	cr_expect(
	    strstr(text, "\\u009B") || strstr(text, "\\u009b"), "%s", text);
	json_decref(value);
	free(text);
}

/* The smallest tables of the program itself must fit the eighty cells of a plain terminal. */
Test(table, headings_of_every_command_fit_eighty_cells)
{
	for (const struct command *c = commands; c->name; c++) {
		int total = 0;
		for (const struct column *col = c->columns; col && col->path;
		     col++)
			if (col->title)
				total += (int)strlen(col->title) + 2;
		if (strcmp(c->name, "studio") !=
		    0) /* shown as lines, not as a table */
			cr_expect_leq(total - 2, 80, "%s %s", c->name,
			    c->verb ? c->verb : "");
	}
}

Test(when, reads_the_studio_s_time_and_offsets)
{
	static const struct {
		const char *text, *zone, *expected;
	} rows[] = {
	    /* New York: UTC-5 in winter, UTC-4 in summer; begins 2026-03-08 02:00 (tz database). */
	    {"2026-11-27 12:00", "America/New_York", "2026-11-27T17:00:00Z"},
	    {"2026-07-01T12:30", "America/New_York", "2026-07-01T16:30:00Z"},
	    {"2026-11-27", "Europe/Berlin", "2026-11-27T22:59:00Z"},
	    {"2026-11-27T17:00:00Z", NULL, "2026-11-27T17:00:00Z"},
	    {"2026-11-27T17:00:00.25+05:30", NULL, "2026-11-27T11:30:00Z"},
	    {"2026-11-27 17:00 -05:00", NULL, "2026-11-27T22:00:00Z"},
	    {"2026-11-27 17:00", NULL, NULL},
	    {"2026-11-27 17:00", "Nowhere/Else", NULL},
	    {"2026-03-08 02:30", "America/New_York", NULL},
	    {"2026-02-30 12:00", "UTC", NULL},
	    {"2026-13-01", "UTC", NULL},
	    {"2026-11-27 24:00", "UTC", NULL},
	    {"2026-11-27 17:00 pm", "UTC", NULL},
	    {"tomorrow", "UTC", NULL},
	    {"", "UTC", NULL},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		char out[WHEN_TEXT_MAX];
		struct err err = {.kind = ERR_NONE};
		bool ok = when_parse(rows[i].text, rows[i].zone, out, &err);
		cr_expect_eq(ok, rows[i].expected != NULL, "%s: %s",
		    rows[i].text, err.text);
		if (ok && rows[i].expected)
			cr_expect_str_eq(
			    out, rows[i].expected, "%s: %s", rows[i].text, out);
		else if (!ok)
			cr_expect(err.hint[0], "%s", rows[i].text);
	}
}

Test(when, shows_the_studio_s_time)
{
	char buf[WHEN_TEXT_MAX];
	cr_expect_str_eq(
	    when_print(buf, "2026-11-27T17:00:00Z", "America/New_York"),
	    "2026-11-27 12:00 EST");
	cr_expect_str_eq(
	    when_print(buf, "2026-11-27T17:00:00.123456+00:00", NULL),
	    "2026-11-27 17:00 UTC");
	cr_expect_str_eq(when_print(buf, "soon", "UTC"), "soon");
}
