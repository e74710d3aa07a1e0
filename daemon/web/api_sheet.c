/* SPDX-License-Identifier: MIT */
/*
 * api_sheet.c - the tear sheet and its labels, in every form.
 *
 * Language, page and grid are the studio's; whoever asks may want others this once: a helper
 * who reads another language, a printer that holds other paper.
 */
#include "api.h"

#include <string.h>

#include "act_plan.h"
#include "drawer.h"
#include "json_in.h"
#include "json_out.h"
#include "web_inner.h"

struct sheet_ask {
	struct call *call;
	struct drawing drawing;
	struct sheet_wish wish;
};

/* shown: "inline", or "attachment" for what is to be kept and opened without us */
static const struct {
	const char *name, *type, *ending, *shown, *file;
} forms[] = {
    [DRAW_TEXT] = {"text", "text/plain; charset=utf-8", "txt", "inline",
	"tear-sheet"},
    [DRAW_PDF] = {"pdf", "application/pdf", "pdf", "inline", "tear-sheet"},
    [DRAW_SVG] = {"svg", "image/svg+xml; charset=utf-8", "svg", "inline",
	"tear-sheet"},
    [DRAW_HTML] = {"html", "text/html; charset=utf-8", "html", "attachment",
	"tear-sheet"},
    [DRAW_JSON] = {"json", "application/json", "json", "inline", "tear-sheet"},
    [DRAW_LABELS] = {"labels", "application/pdf", "pdf", "inline", "labels"},
};
#define N_FORMS (sizeof(forms) / sizeof(forms[0]))

static void on_drawn(void *ctx, const char *data, size_t len, size_t pages,
    const struct err *err)
{
	struct sheet_ask *ask = ctx;
	struct call *call = ask->call;
	enum draw_form form = ask->drawing.form;

	if (call_failed(call, err))
		return;
	if (form == DRAW_SVG)
		call_field(
		    call, "Sheet-Pages", call_printf(call, "%zu", pages));
	call_field(call, "Content-Disposition",
	    call_printf(call, "%s; filename=\"%s-%lld.%s\"", forms[form].shown,
		forms[form].file, (long long)call->plan.plan_id,
		forms[form].ending));
	call_answer(call, 200, forms[form].type, data, len);
}

static void on_sheet(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	struct sheet_ask *ask = call->state;

	(void)member_ids;
	/* Everything is read: nothing holds the database while it is drawn. */
	store_rollback(call->tx);
	call->tx = NULL;
	ask->drawing.input = input;
	if (!drawer_add(call->web->drawer, &ask->drawing, on_drawn, ask)) {
		call_field(call, "Retry-After", "5");
		call_refuse(call, ERR_LIMIT, "Wait until one is done.",
		    "too many prints of this studio are being drawn");
	}
}

static enum draw_form read_form(struct call *call)
{
	const char *form = call_query(call, "form");

	if (form == NULL)
		return DRAW_TEXT;
	for (size_t i = 0; i < N_FORMS; i++)
		if (strcmp(forms[i].name, form) == 0)
			return (enum draw_form)i;
	call_fault(call, "?form", "Send text, pdf, svg, html, json or labels.",
	    "form \"%s\" is not known", shown(call, form));
	return DRAW_TEXT;
}

static void read_page(struct call *call, enum sheet_page *page)
{
	const char *text = call_query(call, "page");

	if (text == NULL)
		return;
	if (strcmp(text, "letter") == 0)
		*page = SHEET_LETTER;
	else if (strcmp(text, "a4") == 0)
		*page = SHEET_A4;
	else
		call_fault(call, "?page", "Send a4 or letter.",
		    "page \"%s\" is not known", shown(call, text));
}

static void read_language(struct call *call, const char **language)
{
	const char *text = call_query(call, "language");

	if (text == NULL)
		return;
	if (sheet_speaks(text))
		*language = text;
	else
		call_fault(call, "?language", "Send en or de.",
		    "language \"%s\" is not known", shown(call, text));
}

static bool read_large(struct call *call)
{
	const char *text = call_query(call, "large");

	if (text != NULL && strcmp(text, "yes") != 0 && strcmp(text, "no") != 0)
		call_fault(call, "?large", "Send yes or no.",
		    "large \"%s\" is not known", shown(call, text));
	return text != NULL && strcmp(text, "yes") == 0;
}

/* The grid that was sent; else the studio's when it is for this page; else the usual one. */
static void read_grid(
    struct call *call, enum sheet_page page, struct label_grid *grid)
{
	const char *text = call_query(call, "grid");
	const struct studio *s = &call->caller.studio;
	struct err err = {0};

	if (text == NULL && page == (enum sheet_page)s->sheet_page)
		text = s->label_grid;
	if (!label_grid_read(text, page, grid, &err))
		call_fault(call, "?grid", err.hint, "%s", err.text);
	grid->skip = (size_t)call_query_number(
	    call, "skip", 0, (int64_t)(grid->columns * grid->rows) - 1, 0);
}

void api_sheet(struct call *call)
{
	static const char *const known[] = {"form", "page", "number", "large",
	    "language", "grid", "skip", NULL};
	struct sheet_ask *ask = call_alloc(call, sizeof(*ask));

	call->state = ask;
	ask->call = call;
	ask->wish = sheet_wish(call);
	read_page(call, &ask->wish.page);
	read_language(call, &ask->wish.language);
	ask->wish.large = read_large(call);
	ask->drawing.studio_id = call->caller.studio_id;
	ask->drawing.form = read_form(call);
	ask->drawing.number =
	    (size_t)call_query_number(call, "number", 1, 10000, 1);
	read_grid(call, ask->wish.page, &ask->drawing.grid);
	call_query_only(call, known);
	if (!call_is_faulty(call))
		act_plan_sheet(call, &ask->wish, on_sheet);
}
