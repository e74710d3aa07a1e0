/* SPDX-License-Identifier: MIT */
/*
 * help: drawn from the tables of commands and options.
 */
#include <string.h>

#include "command.h"
#include "status.h"

/* Text in a column of its own: lines of at most 80 cells, the later ones indented. */
static void write_wrapped(FILE *out, int indent, const char *text)
{
	int at = indent;
	for (const char *word = text; *word;) {
		int len = (int)strcspn(word, " ");
		if (at > indent && at + 1 + len > 79) {
			fprintf(out, "\n%*s", indent, "");
			at = indent;
		}
		at += fprintf(out, "%s%.*s", at > indent ? " " : "", len, word);
		word += len;
		word += strspn(word, " ");
	}
	fputc('\n', out);
}

/* "-m, --margin LENGTH" and what it means. */
static void write_option(FILE *out, const struct option_row *o)
{
	char left[64], letter[8] = "";
	if (o->letter)
		snprintf(letter, sizeof(letter), "-%c, ", o->letter);
	snprintf(left, sizeof(left), "%s--%s%s%s", letter, o->name,
	    o->value ? " " : "", o->value ? o->value : "");
	fprintf(out, "  %-24s", left);
	if (strlen(left) > 23)
		fprintf(out, "\n%*s", 26, "");
	write_wrapped(out, 26, o->help);
}

static void write_options(FILE *out, const char *names)
{
	for (const struct option_row *o = option_rows; o->name; o++)
		if (name_in_list(o->name, names))
			write_option(out, o);
}

static void write_usage(FILE *out, const struct command *cmd)
{
	char title[64];
	fprintf(out, "tearshare %s%s%s%s\n", command_title(title, cmd),
	    *cmd->words ? " " : "", cmd->words,
	    *cmd->options ? " [options]" : "");
	fprintf(out, "  ");
	write_wrapped(out, 2, cmd->help);
}

static void write_columns(FILE *out, const struct command *cmd)
{
	if (!cmd->columns)
		return;
	fprintf(out, "\nColumns with --plain:\n  ");
	char list[900] = "";
	size_t len = 0;
	for (const struct column *c = cmd->columns; c->path; c++)
		if (c->name && len < sizeof(list))
			len += (size_t)snprintf(
			    list + len, sizeof(list) - len, " %s", c->name);
	write_wrapped(out, 2, list + 1);
}

/* All verbs of a name, or one of them. */
static bool help_one(
    struct call *call, const char *name, const char *verb, struct err *err)
{
	FILE *out = call->pen.out;
	int shown = 0;
	for (const struct command *c = commands; c->name; c++) {
		if (strcmp(c->name, name) != 0 ||
		    (verb && (!c->verb || strcmp(c->verb, verb) != 0)))
			continue;
		if (shown++)
			fputc('\n', out);
		write_usage(out, c);
		if (*c->options)
			fputc('\n', out);
		write_options(out, c->options);
		if (verb || !c[1].name ||
		    (strcmp(c[1].name, name) != 0 && shown == 1))
			write_columns(out, c);
	}
	if (shown)
		return true;
	cli_fail(err, CLI_USAGE, "there is no command \"%.40s%s%.40s\"", name,
	    verb ? " " : "", verb ? verb : "");
	return err_hint(err, "See them all: tearshare help");
}

/* Headings of the list of commands, each before the command it begins with. */
static const struct {
	const char *first, *heading;
} groups[] = {
    {"signin", "To begin with:"},
    {"ask", "For everybody who paints:"},
    {"workshop", "For the instructor:"},
    {"shares", "What it costs:"},
    {"studio", "The studio, its people, its paper:"},
    {"size", "Without a server:"},
};

static void write_heading(FILE *out, const struct command *c)
{
	for (size_t i = 0; i < sizeof(groups) / sizeof(*groups); i++)
		if (command_is_first(c) &&
		    strcmp(groups[i].first, c->name) == 0)
			fprintf(out, "\n%s\n", groups[i].heading);
}

static void help_all(struct call *call)
{
	FILE *out = call->pen.out;
	fputs("tearshare COMMAND [words] [options]\n"
	      "One purchase of paper for a whole workshop: ask, plan, tear, "
	      "share.\n",
	    out);
	for (const struct command *c = commands; c->name; c++) {
		char title[64], left[90];
		write_heading(out, c);
		command_title(title, c);
		snprintf(left, sizeof(left), "%s %s", title, c->words);
		fprintf(out, "  %-36s", left);
		if (strlen(left) > 35)
			fprintf(out, "\n%*s", 38, "");
		write_wrapped(out, 38, c->help);
	}
	fputs("\nOptions of every command:\n", out);
	write_options(out, general_options);
	fputs("\nOne command: tearshare help COMMAND.  All of it: man "
	      "tearshare\n",
	    out);
}

bool cmd_help(struct call *call, struct err *err)
{
	const struct command *cmd = call->command;
	if (strcmp(cmd->name, "help") != 0)
		return help_one(call, cmd->name,
		    command_is_first(cmd) ? NULL : cmd->verb, err);
	if (call->n_words)
		return help_one(
		    call, call_word(call, 0), call_word(call, 1), err);
	help_all(call);
	return true;
}
