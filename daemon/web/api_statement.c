/* SPDX-License-Identifier: MIT */
/*
 * api_statement.c - statements and accounts, in every form: JSON, CSV, text, PDF.
 *
 * The forms are made of what one action gathered in one transaction, so they agree to the
 * cent.  A PDF is drawn on the drawing thread; the others are written here.
 */
#include "api.h"

#include <string.h>

#include "act_account.h"
#include "act_money.h"
#include "csv_out.h"
#include "drawer.h"
#include "json_in.h"
#include "json_out.h"
#include "papers.h"
#include "reference.h"
#include "web_inner.h"

enum paper_form { FORM_JSON, FORM_CSV, FORM_TEXT, FORM_PDF };

static const struct {
	const char *name, *type, *ending;
} forms[] = {
    [FORM_JSON] = {"json", "application/json", "json"},
    [FORM_CSV] = {"csv", "text/csv; charset=utf-8; header=present", "csv"},
    [FORM_TEXT] = {"text", "text/plain; charset=utf-8", "txt"},
    [FORM_PDF] = {"pdf", "application/pdf", "pdf"},
};
#define N_FORMS (sizeof(forms) / sizeof(forms[0]))

struct paper_ask {
	struct call *call;
	enum paper_form form;
	const char *name; /* of the file */
	struct folio *folio;
	struct drawing drawing;
};

static struct paper_ask *ask_new(struct call *call)
{
	const char *form = call_query(call, "form");
	struct paper_ask *ask = call_alloc(call, sizeof(*ask));

	ask->call = call;
	call->state = ask;
	for (size_t i = 0; form != NULL && i < N_FORMS; i++) {
		if (strcmp(forms[i].name, form) == 0) {
			ask->form = (enum paper_form)i;
			return ask;
		}
	}
	if (form != NULL)
		call_fault(call, "?form", "Send json, csv, text or pdf.",
		    "form \"%s\" is not known", shown(call, form));
	return ask;
}

static void answer(struct paper_ask *ask, const char *data, size_t len)
{
	struct call *call = ask->call;

	call_field(call, "Content-Disposition",
	    call_printf(call, "%s; filename=\"%s.%s\"",
		ask->form == FORM_CSV ? "attachment" : "inline", ask->name,
		forms[ask->form].ending));
	call_answer(call, 200, forms[ask->form].type, data, len);
}

static void on_drawn(void *ctx, const char *data, size_t len, size_t pages,
    const struct err *err)
{
	struct paper_ask *ask = ctx;

	(void)pages;
	folio_delete(ask->folio);
	if (!call_failed(ask->call, err))
		answer(ask, data, len);
}

static void draw(struct paper_ask *ask)
{
	struct call *call = ask->call;

	/* Everything is read: nothing holds the database while it is drawn. */
	store_rollback(call->tx);
	call->tx = NULL;
	ask->drawing = (struct drawing){.studio_id = call->caller.studio_id,
	    .folio = ask->folio,
	    .form = DRAW_PDF};
	if (!drawer_add(call->web->drawer, &ask->drawing, on_drawn, ask)) {
		folio_delete(ask->folio);
		call_field(call, "Retry-After", "5");
		call_refuse(call, ERR_LIMIT, "Wait until one is done.",
		    "too many prints of this studio are being drawn");
	}
}

/* Text or PDF of ask->folio, which goes with it. */
static void answer_folio(struct paper_ask *ask)
{
	struct text out;

	if (ask->form == FORM_PDF) {
		draw(ask);
		return;
	}
	text_init(&out, FOLIO_MAX);
	folio_text_form(ask->folio, &out);
	folio_delete(ask->folio);
	answer(ask, out.data, out.len);
	text_free(&out);
}

static void answer_csv(struct paper_ask *ask,
    const struct workshop_row *workshop, const struct entry_row *entries,
    size_t n)
{
	struct text out;

	text_init(&out, FOLIO_MAX);
	entries_csv(papers_lines(ask->call, workshop, entries, n), n, &out);
	answer(ask, out.data, out.len);
	text_free(&out);
}

/* ---- a statement ---- */

static json_t *entries_json(
    struct call *call, const struct statement *s, bool charges)
{
	json_t *list = json_array();

	for (size_t i = 0; i < s->n_entries; i++)
		if ((s->entries[i].settlement_id != 0) == charges)
			json_array_append_new(
			    list, json_entry(call, &s->entries[i]));
	return list;
}

/* As docs/share.md tells it, with this member's part only. */
static json_t *derivation_json(const struct statement *s, int64_t member_id)
{
	struct share_result own;
	struct text text;
	json_t *o = NULL;

	if (s->result == NULL)
		return json_null();
	own = *s->result;
	own.n_members = 0;
	for (size_t i = 0; i < s->result->n_members; i++) {
		if (s->result->members[i].member_id != member_id)
			continue;
		own.members = &s->result->members[i];
		own.n_members = 1;
	}
	if (own.n_members == 0)
		return json_null();
	text_init(&text, FOLIO_MAX);
	share_result_write(&own, &text);
	o = json_loadb(text.data, text.len, 0, NULL);
	text_free(&text);
	return o ? o : json_null();
}

static void answer_statement(struct call *call, const struct statement *s)
{
	json_t *o = json_object(), *requests = json_array(),
	       *papers = json_array();
	char reference[REFERENCE_MAX];

	for (size_t i = 0; i < s->n_requests; i++)
		json_array_append_new(
		    requests, json_request(call, &s->requests[i]));
	for (size_t i = 0; i < s->n_papers; i++)
		json_array_append_new(papers, json_share_paper(&s->papers[i]));
	json_object_set_new(o, "member", json_member(call, &call->member));
	json_object_set_new(o, "workshop", json_workshop(&s->workshop));
	json_object_set_new(
	    o, "currency", json_string(call->caller.studio.currency));
	json_object_set_new(o, "requests", requests);
	json_object_set_new(o, "papers", papers);
	json_object_set_new(
	    o, "share", s->has_share ? json_share_row(&s->share) : json_null());
	json_object_set_new(o, "charges", entries_json(call, s, true));
	json_object_set_new(o, "payments", entries_json(call, s, false));
	json_object_set_new(o, "charged_minor", json_integer(s->charged_minor));
	json_object_set_new(o, "paid_minor", json_integer(s->paid_minor));
	json_object_set_new(
	    o, "balance_minor", json_integer(s->charged_minor - s->paid_minor));
	json_object_set_new(
	    o, "derivation", derivation_json(s, call->member.member_id));
	json_object_set_new(o, "reference",
	    reference_of(
		reference, s->workshop.workshop_id, call->member.member_id)
		? json_string(reference)
		: json_null());
	call_answer_json(call, 200, o);
}

static void on_statement(struct call *call, const struct statement *s)
{
	struct paper_ask *ask = call->state;

	ask->name = call_printf(call, "statement-%lld-%lld",
	    (long long)s->workshop.workshop_id,
	    (long long)call->member.member_id);
	switch (ask->form) {
	case FORM_JSON:
		answer_statement(call, s);
		break;
	case FORM_CSV:
		answer_csv(ask, &s->workshop, s->entries, s->n_entries);
		break;
	case FORM_TEXT:
	case FORM_PDF:
		ask->folio = papers_statement(call, s, false);
		answer_folio(ask);
		break;
	}
}

void api_statement(struct call *call)
{
	static const char *const parts[] = {"workshop", "form", NULL};
	int64_t workshop_id;

	ask_new(call);
	if (act_statement_query(call, parts, &workshop_id))
		act_statement(call, workshop_id, on_statement);
}

/* ---- the account of a workshop ---- */

static void answer_account(struct call *call, const struct account *a)
{
	json_t *items = json_array(), *entries = json_array();
	money owed = 0;

	for (size_t i = 0; i < a->n_totals; i++) {
		const struct total_row *t = &a->totals[i];

		json_array_append_new(items,
		    json_pack("{s: s, s: o, s: o, s: s, s: I, s: I, s: I}",
			"account", account_kind_name(t->account), "member_id",
			json_id(t->member_id), "member",
			json_text(t->member_name), "currency", t->currency,
			"debit_minor", (json_int_t)t->debit_minor,
			"credit_minor", (json_int_t)t->credit_minor,
			"balance_minor",
			(json_int_t)(t->debit_minor - t->credit_minor)));
	}
	for (size_t i = 0; i < a->n_entries; i++) {
		const struct entry_row *e = &a->entries[i];

		owed +=
		    e->settlement_id != 0 ? e->amount_minor : -e->amount_minor;
		json_array_append_new(entries, json_entry(call, e));
	}
	call_answer_json(call, 200,
	    json_pack("{s: o, s: I, s: o}", "items", items, "outstanding_minor",
		(json_int_t)owed, "entries", entries));
}

static void on_account(struct call *call, const struct account *a)
{
	struct paper_ask *ask = call->state;

	ask->name = call_printf(
	    call, "account-%lld", (long long)call->workshop.workshop_id);
	switch (ask->form) {
	case FORM_JSON:
		answer_account(call, a);
		break;
	case FORM_CSV:
		answer_csv(ask, &call->workshop, a->entries, a->n_entries);
		break;
	case FORM_TEXT:
	case FORM_PDF:
		ask->folio = papers_account(call, a, false);
		answer_folio(ask);
		break;
	}
}

void api_account(struct call *call)
{
	ask_new(call);
	call_query_only(call, (const char *const[]){"form", NULL});
	if (!call_is_faulty(call))
		act_account(call, on_account);
}

/* ---- who still owes ---- */

static const char *reference_text(
    struct call *call, const struct owing_row *row)
{
	char reference[REFERENCE_MAX];

	return reference_of(reference, row->workshop_id, row->member_id)
		   ? arena_strdup(call->arena, reference)
		   : NULL;
}

static void answer_owing(
    struct call *call, const struct owing_row *rows, size_t n)
{
	json_t *items = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(items,
		    json_pack(
			"{s: I, s: s, s: I, s: s, s: s, s: I, s: s, s: s, "
			"s: o, s: I, s: o}",
			"workshop_id", (json_int_t)rows[i].workshop_id,
			"workshop", rows[i].workshop_name, "member_id",
			(json_int_t)rows[i].member_id, "member",
			rows[i].member_name, "contact", rows[i].contact,
			"owed_minor", (json_int_t)rows[i].owed_minor,
			"currency", call->caller.studio.currency, "since",
			rows[i].since_on, "due_on", json_text(rows[i].due_on),
			"late_days", (json_int_t)rows[i].late_days, "reference",
			json_text(reference_text(call, &rows[i]))));
	call_answer_json(call, 200, json_pack("{s: o}", "items", items));
}

static void answer_owing_csv(
    struct paper_ask *ask, const struct owing_row *rows, size_t n)
{
	static const char *const names[] = {"workshop_id", "workshop",
	    "member_id", "member", "contact", "owed_minor", "currency", "since",
	    "due_on", "late_days", "reference"};
	struct text out;

	text_init(&out, FOLIO_MAX);
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++)
		csv_text(&out, names[i]);
	csv_end(&out);
	for (size_t i = 0; i < n; i++) {
		csv_id(&out, rows[i].workshop_id);
		csv_text(&out, rows[i].workshop_name);
		csv_id(&out, rows[i].member_id);
		csv_text(&out, rows[i].member_name);
		csv_text(&out, rows[i].contact);
		csv_number(&out, rows[i].owed_minor);
		csv_text(&out, ask->call->caller.studio.currency);
		csv_text(&out, rows[i].since_on);
		csv_text(&out, rows[i].due_on);
		csv_number(&out, rows[i].late_days);
		csv_text(&out, reference_text(ask->call, &rows[i]));
		csv_end(&out);
	}
	answer(ask, out.data, out.len);
	text_free(&out);
}

static void on_owing(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct paper_ask *ask = call->state;

	if (call_failed(call, err))
		return;
	ask->name = "reminders";
	switch (ask->form) {
	case FORM_JSON:
		answer_owing(call, rows, n);
		break;
	case FORM_CSV:
		answer_owing_csv(ask, rows, n);
		break;
	case FORM_TEXT:
	case FORM_PDF:
		ask->folio = papers_reminders(call, rows, n, false);
		answer_folio(ask);
		break;
	}
}

void api_reminders(struct call *call)
{
	ask_new(call);
	call_query_only(call, (const char *const[]){"form", NULL});
	if (!call_is_faulty(call))
		store_owing(call->tx, call->caller.studio_id, on_owing, call);
}
