/* SPDX-License-Identifier: MIT */
/*
 * The man page is the contract: every command, option, column and exit status of the tables
 * stands in it, and every one that stands in it is in the tables.
 */
#include <criterion/criterion.h>
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "status.h"

static char *page;
static char *flowed; /* the page with each line break as one blank */

static void read_page(void)
{
	FILE *f = fopen(SOURCE_DIR "/docs/tearshare.1", "r");
	cr_assert(f);
	page = calloc(1, 200000);
	cr_assert_gt(fread(page, 1, 199999, f), 0);
	fclose(f);
	flowed = strdup(page);
	for (char *at = flowed; (at = strchr(at, '\n'));)
		*at = ' ';
}

static void free_page(void)
{
	free(page);
	free(flowed);
}

TestSuite(manual, .init = read_page, .fini = free_page);

/* True when a line of the page begins so and goes on with the end of a word. */
static bool has_line(const char *begin)
{
	size_t len = strlen(begin);
	for (const char *at = page; at; at = strchr(at, '\n')) {
		at += *at == '\n';
		if (strncmp(at, begin, len) == 0 &&
		    !isalnum((unsigned char)at[len]) && at[len] != '-')
			return true;
	}
	return false;
}

Test(manual, names_every_command)
{
	for (const struct command *c = commands; c->name; c++) {
		char title[64], line[100];
		snprintf(
		    line, sizeof(line), ".It Ic %s", command_title(title, c));
		cr_expect(has_line(line), "%s", title);
	}
}

Test(manual, names_every_option_with_its_letter_and_value)
{
	for (const struct option_row *o = option_rows; o->name; o++) {
		char line[160], letter[16] = "";
		if (o->letter)
			snprintf(letter, sizeof(letter), "Fl %c , ", o->letter);
		snprintf(line, sizeof(line), ".It %sFl -%s%s%s\n", letter,
		    o->name, o->value ? " Ar " : "", o->value ? o->value : "");
		cr_expect(strstr(page, line), "%s", line);
	}
}

Test(manual, names_no_option_that_there_is_not)
{
	for (const char *at = page; (at = strstr(at, "Fl -"));) {
		char name[60];
		at += 4;
		size_t len = strspn(at, "abcdefghijklmnopqrstuvwxyz-");
		snprintf(name, sizeof(name), "%.*s", (int)len, at);
		cr_expect(option_find(name), "--%s", name);
	}
}

Test(manual, names_the_columns_of_every_command_in_order)
{
	for (const struct command *c = commands; c->name; c++) {
		char list[1000] = " ";
		for (const struct column *col = c->columns; col && col->path;
		     col++)
			if (col->name) {
				strcat(list, list[1] ? ", " : "");
				strcat(list, col->name);
			}
		strcat(list, " .");
		if (c->columns)
			cr_expect(strstr(flowed, list), "%s:%s", c->name, list);
	}
}

Test(manual, names_every_exit_status_with_its_meaning)
{
	const char *section = strstr(page, ".Sh EXIT STATUS");
	cr_assert(section);
	for (const struct status *s = statuses; s->meaning; s++) {
		char line[20];
		snprintf(line, sizeof(line), ".It %d\n", s->exit);
		cr_expect(strstr(section, line), "%d", s->exit);
		cr_expect(strstr(flowed, s->meaning), "%s", s->meaning);
	}
}
