/* SPDX-License-Identifier: MIT */
/*
 * api_invoice.c - invoices.
 */
#include "api.h"

#include "act_invoice.h"
#include "act_money.h"
#include "act_people.h"
#include "json_in.h"
#include "json_out.h"
#include "rows.h"

/* ---- in ---- */

static const char *const line_words[] = {
    "rolls", "shipping", "tax", "discount", "other", NULL};

static void read_percent(struct json_in *in, struct invoice_line_row *line)
{
	const char *text = NULL;

	line->tax_rate_ppm = -1;
	if (json_in_line(in, "tax_percent", MAY_LACK, 20, &text) &&
	    !percent_read(text, &line->tax_rate_ppm))
		call_fault(in->call, json_in_pointer(in, "tax_percent"),
		    "For example \"20\" or \"8.875\".",
		    "tax_percent \"%s\" is no percentage",
		    shown(in->call, text));
}

static void read_line(struct call *call, json_t *value, const char *at,
    struct invoice_line_row *line)
{
	struct json_in in;
	bool counted = false;

	json_in_begin(&in, call, value, at,
	    (const char *const[]){"kind", "paper_id", "stock_id", "description",
		"count", "unit_minor", "amount_minor", "tax_percent",
		"tax_base_minor", NULL});
	json_in_word(&in, "kind", NEEDED, line_words, &line->kind);
	json_in_number(
	    &in, "paper_id", MAY_LACK, 1, INT64_MAX / 16, &line->paper_id);
	json_in_number(
	    &in, "stock_id", MAY_LACK, 1, INT64_MAX / 16, &line->stock_id);
	line->description = "";
	json_in_line(
	    &in, "description", MAY_LACK, TEXT_MAX_SIGNS, &line->description);
	counted =
	    json_in_number(&in, "count", MAY_LACK, 1, 1000000, &line->count);
	json_in_number(&in, "unit_minor", counted ? NEEDED : MAY_LACK,
	    -AMOUNT_MAX, AMOUNT_MAX, &line->unit_minor);
	line->amount_minor = line->count * line->unit_minor;
	json_in_number(&in, "amount_minor", counted ? MAY_LACK : NEEDED,
	    -AMOUNT_MAX, AMOUNT_MAX, &line->amount_minor);
	read_percent(&in, line);
	line->has_tax_base = json_in_number(&in, "tax_base_minor", MAY_LACK,
	    -AMOUNT_MAX, AMOUNT_MAX, &line->tax_base_minor);
}

static const struct invoice_line_row *read_invoice(
    struct call *call, bool replaces, struct invoice_row *out)
{
	struct invoice_line_row *lines =
	    call_alloc(call, LINES_MAX * sizeof(*lines));
	json_t *list = NULL, *value = NULL;
	struct json_in in;
	size_t i = 0;

	*out = (struct invoice_row){
	    .number = "", .supplier = "", .note = "", .reason = ""};
	json_in_begin(&in, call, call->body, "",
	    replaces ? (const char *const[]){"number", "supplier", "dated_on",
			   "tax_included", "total_minor", "note", "advanced_by",
			   "lines", "reason", NULL}
		     : (const char *const[]){"number", "supplier", "dated_on",
			   "tax_included", "total_minor", "note", "advanced_by",
			   "lines", NULL});
	json_in_line(&in, "number", MAY_LACK, NAME_MAX_SIGNS, &out->number);
	json_in_line(&in, "supplier", MAY_LACK, NAME_MAX_SIGNS, &out->supplier);
	json_in_day(&in, "dated_on", MAY_BE_NULL, &out->dated_on);
	json_in_bool(&in, "tax_included", MAY_LACK, &out->tax_included);
	json_in_number(&in, "total_minor", NEEDED, -AMOUNT_MAX, AMOUNT_MAX,
	    &out->total_minor);
	json_in_line(&in, "note", MAY_LACK, TEXT_MAX_SIGNS, &out->note);
	json_in_number(
	    &in, "advanced_by", MAY_LACK, 1, INT64_MAX / 16, &out->advanced_by);
	if (replaces)
		json_in_name(
		    &in, "reason", NEEDED, TEXT_MAX_SIGNS, &out->reason);
	if (json_in_list(&in, "lines", NEEDED, LINES_MAX, &list))
		json_array_foreach(list, i, value)
		{
			read_line(call, value,
			    call_printf(call, "/lines/%zu", i), &lines[i]);
		}
	out->n_lines = (int64_t)i;
	return lines;
}

/* ---- out ---- */

static json_t *json_line(struct call *call, const struct invoice_line_row *l)
{
	return json_pack(
	    "{s: I, s: s, s: o, s: o, s: o, s: o, s: o, s: I, s: o, s: o}",
	    "line", (json_int_t)l->line, "kind", line_kind_name(l->kind),
	    "paper_id", json_id(l->paper_id), "stock_id", json_id(l->stock_id),
	    "description", json_text(l->description), "count",
	    json_id(l->count), "unit_minor",
	    l->count ? json_integer(l->unit_minor) : json_null(),
	    "amount_minor", (json_int_t)l->amount_minor, "tax_percent",
	    l->tax_rate_ppm < 0
		? json_null()
		: json_string(percent_text(call, l->tax_rate_ppm)),
	    "tax_base_minor",
	    l->has_tax_base ? json_integer(l->tax_base_minor) : json_null());
}

static json_t *json_invoice(struct call *call, const struct invoice_row *i,
    const struct invoice_line_row *lines, size_t n)
{
	json_t *o = json_object(), *list = json_array();

	for (size_t k = 0; k < n; k++)
		if (lines[k].invoice_id == i->invoice_id)
			json_array_append_new(list, json_line(call, &lines[k]));
	json_object_set_new(o, "id", json_integer(i->invoice_id));
	json_object_set_new(o, "workshop_id", json_integer(i->workshop_id));
	json_object_set_new(o, "number", json_text(i->number));
	json_object_set_new(o, "supplier", json_text(i->supplier));
	json_object_set_new(o, "dated_on", json_text(i->dated_on));
	json_object_set_new(o, "currency", json_text(i->currency));
	json_object_set_new(o, "tax_included", json_boolean(i->tax_included));
	json_object_set_new(o, "total_minor", json_integer(i->total_minor));
	json_object_set_new(o, "by_paper", json_boolean(i->by_paper));
	json_object_set_new(o, "withdrawn", json_boolean(i->withdrawn));
	json_object_set_new(o, "note", json_text(i->note));
	json_object_set_new(o, "advanced_by", json_id(i->advanced_by));
	json_object_set_new(o, "replaces_id", json_id(i->replaces_id));
	json_object_set_new(o, "replaced_by_id", json_id(i->replaced_by_id));
	json_object_set_new(o, "reason", json_text(i->reason));
	json_object_set_new(o, "lines", list);
	json_object_set_new(o, "created_at", json_text(i->created_at));
	json_object_set_new(o, "created_by", json_integer(i->created_by));
	return o;
}

/* ---- one ---- */

static void on_lines_of_one(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (!call_failed(call, err))
		call_answer_json(call, call->writes ? 201 : 200,
		    json_invoice(call, &call->invoice, rows, n));
}

static void answer_invoice(struct call *call, const struct invoice_row *invoice)
{
	call->invoice = *invoice;
	store_invoice_lines(call->tx, call->caller.studio_id, 0,
	    invoice->invoice_id, on_lines_of_one, call);
}

void api_invoice(struct call *call)
{
	answer_invoice(call, &call->invoice);
}

void api_invoice_add(struct call *call)
{
	struct invoice_row invoice;
	const struct invoice_line_row *lines =
	    read_invoice(call, false, &invoice);

	if (!call_is_faulty(call))
		act_invoice_add(call, &invoice, lines, answer_invoice);
}

void api_invoice_replace(struct call *call)
{
	struct invoice_row invoice;
	const struct invoice_line_row *lines =
	    read_invoice(call, true, &invoice);

	if (!call_is_faulty(call))
		act_invoice_replace(call, &invoice, lines, answer_invoice);
}

void api_invoice_withdraw(struct call *call)
{
	const char *reason = NULL;
	struct json_in in;

	json_in_begin(
	    &in, call, call->body, "", (const char *const[]){"reason", NULL});
	json_in_name(&in, "reason", NEEDED, TEXT_MAX_SIGNS, &reason);
	if (!call_is_faulty(call))
		act_invoice_withdraw(call, reason, answer_invoice);
}

/* ---- those of a workshop ---- */

struct listing {
	struct invoice_row *invoices;
	size_t n;
};

static void on_lines_of_all(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	const struct listing *l = call->state;
	json_t *items = json_array();

	if (call_failed(call, err)) {
		json_decref(items);
		return;
	}
	for (size_t i = 0; i < l->n; i++)
		json_array_append_new(
		    items, json_invoice(call, &l->invoices[i], rows, n));
	call_answer_json(call, 200, json_pack("{s: o}", "items", items));
}

static void on_invoices(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct listing *l = call_alloc(call, sizeof(*l));
	const struct invoice_row *invoices = rows;

	if (call_failed(call, err))
		return;
	l->invoices = arena_array(call->arena, n + 1, sizeof(*l->invoices));
	l->n = n;
	for (size_t i = 0; i < n; i++)
		l->invoices[i] = row_keep_invoice(call->arena, &invoices[i]);
	call->state = l;
	store_invoice_lines(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_lines_of_all, call);
}

/* All of them, also what was replaced: who reads what is in force looks at replaced_by_id. */
void api_invoices(struct call *call)
{
	call_query_only(call, (const char *const[]){NULL});
	if (!call_is_faulty(call))
		store_invoices(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, true, on_invoices, call);
}
