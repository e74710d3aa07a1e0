/* SPDX-License-Identifier: MIT */
/*
 * sheet: the tear sheet, as text on the terminal or in another form in a file; and its labels.
 */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "find.h"
#include "reach.h"
#include "settings_file.h"
#include "status.h"

#define QUERY_MAX 4000

struct form {
	const char *name, *type, *file; /* file NULL: standard output */
};

static bool choose_form(
    const struct call *call, struct form *form, struct err *err)
{
	static const struct form forms[] = {
	    {"pdf", "application/pdf", NULL},
	    {"svg", "image/svg+xml", NULL},
	    {"html", "text/html", NULL},
	    {"labels", "application/pdf", NULL},
	};
	bool json = call_option(call, "json") != NULL;
	size_t chosen = json;

	*form = json ? (struct form){"json", "application/json", NULL}
		     : (struct form){"text", "text/plain", NULL};
	for (size_t i = 0; i < sizeof(forms) / sizeof(*forms); i++) {
		const char *file = call_option(call, forms[i].name);
		if (!file)
			continue;
		*form = forms[i];
		form->file = file;
		chosen++;
	}
	return chosen <= 1 ||
	       cli_fail(err, CLI_USAGE,
		   "one of --pdf, --svg, --html, --labels and --json at a "
		   "time");
}

static bool choose_page(
    const struct call *call, const char **page, struct err *err)
{
	*page = call_option(call, "page");
	if (!*page || strcmp(*page, "a4") == 0 || strcmp(*page, "letter") == 0)
		return true;
	return cli_fail(
	    err, CLI_USAGE, "\"%.40s\" is neither a4 nor letter", *page);
}

/* All but the unreserved characters of RFC 3986, 2.3, as %XX. */
static void add_query(struct text *query, const char *name, const char *value)
{
	if (!value)
		return;
	text_addf(query, "&%s=", name);
	for (const char *p = value; *p; p++) {
		unsigned char c = (unsigned char)*p;
		if (isalnum(c) || strchr("-._~", c))
			text_add_char(query, *p);
		else
			text_addf(query, "%%%02X", c);
	}
}

/* What is left out is as the studio has it. */
static void write_query(const struct call *call, const struct form *form,
    const char *page, struct text *query)
{
	static const char *const names[][2] = {{"number", "number"},
	    {"language", "language"}, {"label-grid", "grid"}, {"skip", "skip"}};

	text_addf(query, "form=%s", form->name);
	add_query(query, "page", page);
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++)
		add_query(query, names[i][1], call_option(call, names[i][0]));
	if (call_option(call, "large"))
		text_add(query, "&large=yes");
}

/* Our sheets hold line feeds and form feeds only; whatever else steers is taken out. */
static void write_text(FILE *out, char *text)
{
	for (char *line = text, *end; line; line = end) {
		size_t len = strcspn(line, "\n\f");
		char ending = line[len];
		end = ending ? line + len + 1 : NULL;
		line[len] = '\0';
		text_clean(line);
		fputs(line, out);
		if (ending)
			fputc(ending, out);
	}
}

static bool keep_sheet(struct call *call, const struct form *form,
    struct answer *sheet, struct err *err)
{
	if (strcmp(sheet->type, form->type) != 0) {
		cli_fail(err, CLI_PROTOCOL,
		    "the server sent \"%s\" instead of %s", sheet->type,
		    form->type);
		text_clean(err->text);
		return false;
	}
	if (!form->file) {
		write_text(call->pen.out, sheet->body);
		return true;
	}
	if (!file_write_answer(form->file, sheet->body, sheet->len, err))
		return false;
	if (strcmp(form->file, "-") != 0)
		call_say(call, "The tear sheet is in %s", form->file);
	return true;
}

bool cmd_sheet(struct call *call, struct err *err)
{
	struct form form = {0};
	const char *page = NULL;
	struct answer sheet = {.retry_after = -1};
	struct text query;
	json_t *plan = NULL;
	bool ok = choose_form(call, &form, err) &&
		  choose_page(call, &page, err) &&
		  find_plan(call, call_word(call, 0), &plan, err);

	text_init(&query, QUERY_MAX);
	if (ok)
		write_query(call, &form, page, &query);
	ok = ok &&
	     call_fetch(call, &sheet, err, "/v1/plans/%lld/sheet?%s",
		 (long long)reach_int(plan, "id"), query.data) &&
	     keep_sheet(call, &form, &sheet, err);
	text_free(&query);
	answer_free(&sheet);
	json_decref(plan);
	return ok;
}
