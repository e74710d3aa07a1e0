/* SPDX-License-Identifier: MIT */
/*
 * save.c - papers in files.
 */
#include "save.h"

#include <string.h>

#include "settings_file.h"
#include "status.h"

static const struct {
	const char *name, *type;
} forms[] = {
    {"pdf", "application/pdf"},
    {"text", "text/plain"},
    {"csv", "text/csv"},
};
#define N_FORMS (sizeof(forms) / sizeof(*forms))

bool save_is_asked(const struct call *call)
{
	for (size_t i = 0; i < N_FORMS; i++)
		if (call_option(call, forms[i].name))
			return true;
	return false;
}

static bool keep(
    struct call *call, size_t form, const char *path, struct err *err)
{
	const char *file = call_option(call, forms[form].name);
	struct answer paper = {.retry_after = -1};
	bool ok = call_fetch(call, &paper, err, "%s%sform=%s", path,
	    strchr(path, '?') ? "&" : "?", forms[form].name);

	if (ok && strcmp(paper.type, forms[form].type) != 0) {
		ok = cli_fail(err, CLI_PROTOCOL,
		    "the server sent \"%s\" instead of %s", paper.type,
		    forms[form].type);
		text_clean(err->text);
	}
	ok = ok && file_write_answer(file, paper.body, paper.len, err);
	if (ok && strcmp(file, "-") != 0)
		call_say(call, "Written to %s", file);
	answer_free(&paper);
	return ok;
}

bool save_form(struct call *call, const char *path, struct err *err)
{
	for (size_t i = 0; i < N_FORMS; i++)
		if (call_option(call, forms[i].name) &&
		    !keep(call, i, path, err))
			return false;
	return true;
}
