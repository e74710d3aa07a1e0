/* SPDX-License-Identifier: MIT */
/*
 * The two tables, and command lines taken apart by them.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "status.h"

#define ARGS_MAX 12

static bool parse(struct call *call, struct err *err, const char *const *args)
{
	static char copy[ARGS_MAX][100];
	static char *argv[ARGS_MAX + 1];
	int argc = 0;
	for (; args[argc]; argc++) {
		snprintf(copy[argc], sizeof(copy[argc]), "%s", args[argc]);
		argv[argc] = copy[argc];
	}
	argv[argc] = NULL;
	call_init(call, stdout, stderr);
	*err = (struct err){.kind = ERR_NONE};
	return parse_arguments(argc, argv, call, err);
}

#define PARSE(...)                                                             \
	parse(&call, &err,                                                     \
	    (const char *const[]){"tearshare", __VA_ARGS__, NULL})

Test(parse, finds_the_command_its_verb_and_its_words)
{
	struct call call;
	struct err err;
	cr_assert(PARSE("workshop", "close", "3"), "%s", err.text);
	cr_expect_str_eq(call.command->verb, "close");
	cr_expect_eq(call.n_words, 1);
	cr_expect_str_eq(call.word[0], "3");
	cr_assert(PARSE("workshop"));
	cr_expect_str_eq(call.command->verb, "list");
	cr_assert(PARSE("plan", "7"));
	cr_expect_null(call.command->verb);
	cr_expect_str_eq(call_word(&call, 0), "7");
	cr_expect_null(call_word(&call, 1));
}

Test(parse, takes_options_wherever_they_stand)
{
	struct call call;
	struct err err;
	cr_assert(PARSE(
	    "--profile", "anna", "ask", "-m1/2in", "10", "--turn", "9x12in"));
	cr_expect_str_eq(call_option(&call, "profile"), "anna");
	cr_expect_str_eq(call_option(&call, "margin"), "1/2in");
	cr_expect_str_eq(call_option(&call, "turn"), "");
	cr_expect_null(call_option(&call, "note"));
	cr_expect_eq(call.n_words, 2);
}

Test(parse, joins_the_words_of_a_size)
{
	struct call call;
	struct err err;
	cr_assert(PARSE("ask", "10", "9", "x", "12", "1/2", "in"));
	char *size = call_words_from(&call, 1);
	cr_expect_str_eq(size, "9 x 12 1/2 in");
	free(size);
}

Test(parse, keeps_every_value_of_a_repeated_option)
{
	struct call call;
	struct err err;
	size_t at = 0;
	cr_assert(PARSE(
	    "member", "add", "Ines", "--role", "instructor", "--role=student"));
	cr_expect_str_eq(call_each(&call, "role", &at), "instructor");
	cr_expect_str_eq(call_each(&call, "role", &at), "student");
	cr_expect_null(call_each(&call, "role", &at));
	cr_expect_str_eq(call_option(&call, "role"), "student");
}

Test(parse, chooses_how_to_answer)
{
	struct call call;
	struct err err;
	cr_assert(PARSE("asked"));
	cr_expect_eq(call.pen.style, STYLE_PEOPLE);
	cr_assert(PARSE("asked", "--plain"));
	cr_expect_eq(call.pen.style, STYLE_PLAIN);
	cr_assert(PARSE("asked", "--json"));
	cr_expect_eq(call.pen.style, STYLE_JSON);
}

Test(parse, refuses_what_is_not_in_the_tables_and_says_what_may_be_meant)
{
	static const struct {
		const char *name, *args[6], *text, *hint;
	} rows[] = {
	    {"no command", {NULL}, "a command is missing", "tearshare help"},
	    {"unknown command", {"frobnicate"}, "frobnicate", "tearshare help"},
	    {"a near miss", {"plna"}, "plna", "tearshare plan"},
	    {"unknown option", {"ask", "--fast", "1", "9x12in"}, "--fast",
		"help"},
	    {"unknown letter", {"ask", "-z", "1", "9x12in"}, "-z", "help"},
	    {"an option of another command",
		{"ask", "--uses", "3", "1", "9x12in"}, "--uses",
		"tearshare help ask"},
	    {"a value missing", {"ask", "1", "9x12in", "--margin"},
		"needs a value", "help"},
	    {"a value too many", {"ask", "1", "9x12in", "--turn=yes"},
		"no value", "help"},
	    {"too few words", {"ask", "10"}, "more words",
		"ask COUNT ACROSSxALONG"},
	    {"too many words", {"asked", "1", "2"}, "\"2\"",
		"asked [WORKSHOP]"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
		struct call call;
		struct err err;
		const char *args[8] = {"tearshare"};
		memcpy(args + 1, rows[i].args, sizeof(rows[i].args));
		cr_expect_not(parse(&call, &err, args), "%s", rows[i].name);
		cr_expect_eq(status_exit(&err), 64, "%s", rows[i].name);
		cr_expect(strstr(err.text, rows[i].text), "%s: %s",
		    rows[i].name, err.text);
		cr_expect(strstr(err.hint, rows[i].hint), "%s: %s",
		    rows[i].name, err.hint);
	}
}

Test(parse, takes_no_key_and_does_not_repeat_it)
{
	struct call call;
	struct err err;
	cr_expect_not(PARSE("signin", "https://a.example", "tsk_secret"));
	cr_expect_eq(status_exit(&err), 64);
	cr_expect_null(strstr(err.text, "secret"));
	cr_expect(strstr(err.hint, "standard input"));
}

Test(parse, knows_every_option_that_a_command_takes)
{
	for (const struct command *c = commands; c->name; c++) {
		char list[400];
		snprintf(
		    list, sizeof(list), "%s %s", c->options, general_options);
		for (char *name = strtok(list, " "); name;
		     name = strtok(NULL, " "))
			cr_expect(option_find(name), "%s: %s", c->name, name);
		cr_expect(c->run, "%s", c->name);
		cr_expect_leq(c->least, c->most, "%s", c->name);
	}
}

Test(parse, uses_every_option_and_no_letter_twice)
{
	char letters[128] = {0};
	for (const struct option_row *o = option_rows; o->name; o++) {
		bool used = name_in_list(o->name, general_options);
		for (const struct command *c = commands; c->name; c++)
			used |= name_in_list(o->name, c->options);
		cr_expect(used, "--%s", o->name);
		if (o->letter)
			cr_expect_eq(
			    letters[(int)o->letter]++, 0, "-%c", o->letter);
	}
}

Test(parse, keeps_the_verbs_of_a_command_together)
{
	for (const struct command *c = commands; c->name; c++)
		for (const struct command *d = c + 1; d->name; d++)
			cr_expect(strcmp(c->name, d->name) != 0 ||
				      !command_is_first(d),
			    "%s", d->name);
}
