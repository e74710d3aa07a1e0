/* SPDX-License-Identifier: MIT */
/*
 * parse.c - argv to a command, its words and its options.
 *
 * Options may stand anywhere and be shortened; the command is the first word, its verb
 * the second when it is one of that command's verbs.  A near miss is named.
 */
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "command.h"
#include "status.h"

#define LONG_BASE 1000 /* val of a long option: its row number and this */

static size_t count_options(void)
{
	size_t n = 0;
	while (option_rows[n].name)
		n++;
	return n;
}

/* The same rows in the form getopt_long wants; yours to free. */
static struct option *make_long(char shorts[static 80])
{
	size_t n = count_options();
	struct option *list = xcalloc(n + 1, sizeof(*list));
	char *at = shorts;
	*at++ = ':';
	for (size_t i = 0; i < n; i++) {
		const struct option_row *row = &option_rows[i];
		list[i] = (struct option){row->name,
		    row->value ? required_argument : no_argument, NULL,
		    LONG_BASE + (int)i};
		if (row->letter) {
			*at++ = row->letter;
			if (row->value)
				*at++ = ':';
		}
	}
	*at = '\0';
	return list;
}

static const struct option_row *row_of(int val)
{
	if (val >= LONG_BASE)
		return &option_rows[val - LONG_BASE];
	for (const struct option_row *o = option_rows; o->name; o++)
		if (o->letter && o->letter == val)
			return o;
	return NULL;
}

static bool take_option(
    struct call *call, const struct option_row *row, struct err *err)
{
	if (call->n_given == OPTIONS_MAX)
		return cli_fail(
		    err, CLI_USAGE, "more than %d options", OPTIONS_MAX);
	call->given[call->n_given++] =
	    (struct given){row->name, row->value ? optarg : ""};
	return true;
}

static bool refuse_option(int found, char **argv, struct err *err)
{
	const char *shown = argv[optind - 1];
	if (found == ':')
		cli_fail(err, CLI_USAGE,
		    "the option %.80s needs a value behind it", shown);
	else if (optopt && optopt < LONG_BASE && shown[0] == '-' &&
		 shown[1] != '-')
		cli_fail(err, CLI_USAGE, "there is no option -%c", optopt);
	else
		cli_fail(err, CLI_USAGE, "%s option %.80s",
		    optopt >= LONG_BASE ? "no value belongs behind the"
					: "there is no, or more than one,",
		    shown);
	return err_hint(
	    err, "See the options of a command: tearshare help COMMAND");
}

static bool read_options(
    int argc, char **argv, struct call *call, struct err *err)
{
	char shorts[80];
	struct option *longs = make_long(shorts);
	bool ok = true;
	int found;
	opterr = 0;
	optind = 0; /* GNU: begin anew, and permute */
	while (ok &&
	       (found = getopt_long(argc, argv, shorts, longs, NULL)) != -1) {
		if (found == '?' || found == ':')
			ok = refuse_option(found, argv, err);
		else
			ok = take_option(call, row_of(found), err);
	}
	free(longs);
	return ok;
}

/* Changes of one letter that turn a into b, counted up to 3: enough to guess. */
static int distance(const char *a, const char *b)
{
	size_t n = strlen(a), m = strlen(b);
	int row[32], diagonal, above;
	if (n > 30 || m > 30)
		return 3;
	for (size_t j = 0; j <= m; j++)
		row[j] = (int)j;
	for (size_t i = 1; i <= n; i++) {
		diagonal = row[0];
		row[0] = (int)i;
		for (size_t j = 1; j <= m; j++) {
			above = row[j];
			int best = diagonal + (a[i - 1] != b[j - 1]);
			best = above + 1 < best ? above + 1 : best;
			best = row[j - 1] + 1 < best ? row[j - 1] + 1 : best;
			diagonal = above;
			row[j] = best;
		}
	}
	return row[m];
}

static bool no_command(const char *typed, struct err *err)
{
	const char *near = NULL;
	int least = 3;
	for (const struct command *c = commands; c->name; c++) {
		int d = distance(typed, c->name);
		if (d < least) {
			least = d;
			near = c->name;
		}
	}
	cli_fail(err, CLI_USAGE, "there is no command \"%.60s\"", typed);
	if (near)
		return err_hint(err, "Did you mean: tearshare %s", near);
	return err_hint(err, "See them all: tearshare help");
}

static const struct command *find_command(const char *name, const char *verb)
{
	const struct command *first = NULL;
	for (const struct command *c = commands; c->name; c++) {
		if (strcmp(c->name, name) != 0)
			continue;
		if (!first)
			first = c;
		if (verb && c->verb && strcmp(c->verb, verb) == 0)
			return c;
	}
	return first;
}

static bool check_options(const struct call *call, struct err *err)
{
	char title[64];
	for (size_t i = 0; i < call->n_given; i++) {
		const char *name = call->given[i].name;
		if (name_in_list(name, general_options) ||
		    name_in_list(name, call->command->options))
			continue;
		cli_fail(err, CLI_USAGE, "\"%s\" has no option --%s",
		    command_title(title, call->command), name);
		return err_hint(err, "See: tearshare help %s", title);
	}
	return true;
}

/* Whoever lists the processes of this machine sees every command line. */
static bool check_secrets(const struct call *call, struct err *err)
{
	for (size_t i = 0; i < call->n_words; i++) {
		if (strncmp(call->word[i], "tsk_", 4) != 0)
			continue;
		cli_fail(err, CLI_USAGE,
		    "a key does not belong on the command line, where others "
		    "can read it");
		return err_hint(err,
		    "Give it on standard input: tearshare signin URL < "
		    "keyfile\n"
		    "Have this key revoked if others use this machine.");
	}
	return true;
}

static bool check_words(const struct call *call, struct err *err)
{
	char title[64];
	const struct command *cmd = call->command;
	int n = (int)call->n_words;
	if (n >= cmd->least && n <= cmd->most)
		return true;
	command_title(title, cmd);
	if (n < cmd->least)
		cli_fail(err, CLI_USAGE, "\"%s\" wants more words", title);
	else
		cli_fail(err, CLI_USAGE,
		    "\"%.60s\" is a word too many for \"%s\"",
		    call->word[cmd->most], title);
	return err_hint(err, "Type: tearshare %s %s", title, cmd->words);
}

static void choose_style(struct call *call)
{
	if (call_option(call, "json"))
		call->pen.style = STYLE_JSON;
	else if (call_option(call, "plain"))
		call->pen.style = STYLE_PLAIN;
}

bool parse_arguments(int argc, char **argv, struct call *call, struct err *err)
{
	if (!read_options(argc, argv, call, err))
		return false;
	choose_style(call);
	char **word = argv + optind;
	int n = argc - optind;
	bool help = call_option(call, "help") != NULL;
	if (n == 0) {
		call->command = find_command("help", NULL);
		if (help || call_option(call, "version"))
			return true;
		cli_fail(err, CLI_USAGE, "a command is missing");
		return err_hint(err, "See them all: tearshare help");
	}
	call->command = find_command(word[0], n > 1 ? word[1] : NULL);
	if (!call->command)
		return no_command(word[0], err);
	int skip = n > 1 && call->command->verb &&
			   strcmp(call->command->verb, word[1]) == 0
		       ? 2
		       : 1;
	for (int i = skip; i < n; i++) {
		if (call->n_words == WORDS_MAX)
			return cli_fail(
			    err, CLI_USAGE, "more than %d words", WORDS_MAX);
		call->word[call->n_words++] = word[i];
	}
	return help || (check_secrets(call, err) && check_options(call, err) &&
			   check_words(call, err));
}
