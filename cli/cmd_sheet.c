/* SPDX-License-Identifier: MIT */
/*
 * sheet: the tear sheet, as text on the terminal or as PDF or SVG in a file.
 */
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "find.h"
#include "reach.h"
#include "settings_file.h"
#include "status.h"

struct form {
	const char *name, *type, *file; /* file NULL: standard output */
};

static bool choose_form(
    const struct call *call, struct form *form, struct err *err)
{
	const char *pdf = call_option(call, "pdf"),
		   *svg = call_option(call, "svg");
	*form = pdf   ? (struct form){"pdf", "application/pdf", pdf}
		: svg ? (struct form){"svg", "image/svg+xml", svg}
		      : (struct form){"text", "text/plain", NULL};
	return !(pdf && svg) ||
	       cli_fail(err, CLI_USAGE, "one of --pdf and --svg at a time");
}

static bool choose_page(
    const struct call *call, const char **page, struct err *err)
{
	const char *typed = call_option(call, "page");
	*page = typed ? typed : "a4";
	if (strcmp(*page, "a4") == 0 || strcmp(*page, "letter") == 0)
		return true;
	return cli_fail(
	    err, CLI_USAGE, "\"%.40s\" is neither a4 nor letter", typed);
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
	json_t *plan = NULL;
	bool ok = choose_form(call, &form, err) &&
		  choose_page(call, &page, err) &&
		  find_plan(call, call_word(call, 0), &plan, err) &&
		  call_fetch(call, &sheet, err,
		      "/v1/plans/%lld/sheet?form=%s&page=%s",
		      (long long)reach_int(plan, "id"), form.name, page) &&
		  keep_sheet(call, &form, &sheet, err);
	answer_free(&sheet);
	json_decref(plan);
	return ok;
}
