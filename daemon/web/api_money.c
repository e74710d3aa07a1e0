/* SPDX-License-Identifier: MIT */
/*
 * api_money.c - shares, settlements, payments, statements.
 */
#include "api.h"

#include "act_money.h"
#include "act_people.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"
#include "reconcile.h"

/* ---- shares ---- */

static void on_shares(struct call *call, const struct shares *shares)
{
	call_answer_json(
	    call, 200, json_shares(call, shares, call_only_member(call)));
}

void api_shares(struct call *call)
{
	act_shares(call, on_shares);
}

/* ---- settlements ---- */

static void on_settlements(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct settlement_row *s = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		if (s[i].settlement_id > l->list.page.after)
			json_list_add(&l->list, s[i].settlement_id,
			    json_settlement(&s[i]));
	api_list_end(call);
}

void api_settlements(struct call *call)
{
	if (api_list_begin(call, LIST_KNOWN) != NULL)
		store_settlements(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, on_settlements, call);
}

static void on_settled(
    struct call *call, const struct settlement_row *settlement)
{
	call_answer_json(call, 201, json_settlement(settlement));
}

#define INVOICES_MAX 20

void api_settlement_add(struct call *call)
{
	struct invoice *invoices =
	    call_alloc(call, INVOICES_MAX * sizeof(*invoices));
	json_t *list = NULL, *value = NULL;
	struct json_in in, part;
	size_t i = 0;

	json_in_begin(
	    &in, call, call->body, "", (const char *const[]){"invoices", NULL});
	if (json_in_list(&in, "invoices", NEEDED, INVOICES_MAX, &list)) {
		json_array_foreach(list, i, value)
		{
			json_in_begin(&part, call, value,
			    call_printf(call, "/invoices/%zu", i),
			    (const char *const[]){
				"paper_id", "amount_minor", NULL});
			json_in_number(&part, "paper_id", NEEDED, 1,
			    INT64_MAX / 16, &invoices[i].paper_id);
			json_in_number(&part, "amount_minor", NEEDED, 0,
			    AMOUNT_MAX, &invoices[i].amount_minor);
		}
	}
	if (!call_is_faulty(call))
		act_settle(call, invoices, i, on_settled);
}

/* ---- payments ---- */

static void on_entries(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct entry_row *entries = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, entries[i].entry_id,
		    json_entry(call, &entries[i]));
	api_list_end(call);
}

void api_payments(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_entries(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, call_only_member(call), -1,
		    l->ask, on_entries, call);
}

static void on_entry(struct call *call, const struct entry_row *entry)
{
	call_answer_json(call, 201, json_entry(call, entry));
}

static void read_booking(struct json_in *in, struct entry_row *e)
{
	e->method = e->reference = e->reason = "";
	json_in_number(
	    in, "member_id", NEEDED, 1, INT64_MAX / 16, &e->member_id);
	json_in_line(in, "method", MAY_LACK, NAME_MAX_SIGNS, &e->method);
	json_in_line(in, "reference", MAY_LACK, NAME_MAX_SIGNS, &e->reference);
	if (json_in_has(in, "bank_reference"))
		json_in_name(in, "bank_reference", MAY_BE_NULL, NAME_MAX_SIGNS,
		    &e->bank_reference);
	json_in_day(in, "paid_on", MAY_BE_NULL, &e->paid_on);
	json_in_number(
	    in, "payee_id", MAY_LACK, 1, INT64_MAX / 16, &e->payee_id);
}

void api_payment_add(struct call *call)
{
	struct entry_row e = {.kind = BOOKING_PAYMENT};
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"member_id", "amount_minor", "method",
		"reference", "bank_reference", "paid_on", "payer_id",
		"payee_id", "reason", NULL});
	read_booking(&in, &e);
	json_in_number(
	    &in, "amount_minor", NEEDED, 1, AMOUNT_MAX, &e.amount_minor);
	json_in_number(
	    &in, "payer_id", MAY_LACK, 1, INT64_MAX / 16, &e.payer_id);
	json_in_line(&in, "reason", MAY_LACK, TEXT_MAX_SIGNS, &e.reason);
	if (!call_is_faulty(call))
		act_book(call, &e, 0, on_entry);
}

void api_booking_add(struct call *call)
{
	static const char *const words[] = {
	    "refund", "correction", "write-off", "transfer", "carry", NULL};
	static const enum booking_kind kinds[] = {BOOKING_REFUND,
	    BOOKING_CORRECTION, BOOKING_WRITE_OFF, BOOKING_TRANSFER,
	    BOOKING_CARRY};
	struct entry_row e = {0};
	int64_t word = 0, to = 0;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"kind", "member_id", "amount_minor", "reason",
		"to_member_id", "to_workshop_id", "method", "reference",
		"bank_reference", "paid_on", "payee_id", NULL});
	if (json_in_word(&in, "kind", NEEDED, words, &word))
		e.kind = kinds[word];
	read_booking(&in, &e);
	json_in_number(&in, "amount_minor", NEEDED,
	    e.kind == BOOKING_CORRECTION ? -AMOUNT_MAX : 1, AMOUNT_MAX,
	    &e.amount_minor);
	json_in_name(&in, "reason", NEEDED, TEXT_MAX_SIGNS, &e.reason);
	json_in_number(&in, "to_member_id",
	    e.kind == BOOKING_TRANSFER ? NEEDED : MAY_LACK, 1, INT64_MAX / 16,
	    &to);
	json_in_number(&in, "to_workshop_id",
	    e.kind == BOOKING_CARRY ? NEEDED : MAY_LACK, 1, INT64_MAX / 16,
	    &to);
	if (!call_is_faulty(call))
		act_book(call, &e, to, on_entry);
}

void api_payment_reverse(struct call *call)
{
	const char *reason = NULL;
	struct json_in in;

	json_in_begin(
	    &in, call, call->body, "", (const char *const[]){"reason", NULL});
	json_in_name(&in, "reason", NEEDED, TEXT_MAX_SIGNS, &reason);
	if (!call_is_faulty(call))
		act_reverse(call, reason, on_entry);
}

/* ---- do the books agree ---- */

static void on_trouble(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	const struct trouble_row *trouble = rows;
	json_t *items = json_array();

	if (call_failed(call, err)) {
		json_decref(items);
		return;
	}
	for (size_t i = 0; i < n; i++)
		json_array_append_new(
		    items, json_pack("{s: o, s: o, s: s}", "workshop_id",
			       json_id(trouble[i].workshop_id), "member_id",
			       json_id(trouble[i].member_id), "what",
			       trouble[i].what));
	call_answer_json(call, 200, json_pack("{s: o}", "items", items));
}

void api_reconciliation(struct call *call)
{
	store_reconcile(call->tx, call->caller.studio_id, on_trouble, call);
}
