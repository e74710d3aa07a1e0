/* SPDX-License-Identifier: MIT */
/*
 * act_payment.c - payments, their reversals, and what a member reads about it.
 *
 * An entry is never changed: a payment that was wrong is reversed by one that names it.
 */
#include "act_money.h"

#include "counting.h"
#include "rows.h"

struct dealing {
	struct call *call;
	struct entry_row entry;
	struct statement statement;
	const char *event;
	act_entry_fn *entry_done;
	act_statement_fn *statement_done;
};

static struct dealing *dealing_new(struct call *call)
{
	struct dealing *d = call_alloc(call, sizeof(*d));

	d->call = call;
	call->act = d;
	return d;
}

/* ---- payments ---- */

static void on_entry_noted(struct call *call)
{
	struct dealing *d = call->act;

	d->entry_done(call, &d->entry);
}

static void on_entry(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)n;
	if (call_failed(d->call, err))
		return;
	d->entry = row_keep_entry(d->call->arena, rows);
	call_event(d->call, d->event, d->entry.workshop_id, d->entry.member_id,
	    json_pack("{s: I, s: I}", "entry_id", (json_int_t)d->entry.entry_id,
		"amount_minor", (json_int_t)d->entry.amount_minor),
	    on_entry_noted);
}

static void book_payment(struct dealing *d)
{
	const struct entry_row *e = &d->entry;
	struct booking_row booking = {
	    .studio_id = e->studio_id,
	    .kind = BOOKING_PAYMENT,
	    .workshop_id = e->workshop_id,
	    .currency = d->call->caller.studio.currency,
	    .payer_id = e->payer_id,
	    .method = e->method,
	    .reference = e->reference,
	    .reason = e->reason,
	    .bank_reference = e->bank_reference,
	    .paid_on = e->paid_on,
	    .created_by = e->created_by,
	    .key_id = e->key_id,
	};
	struct leg legs[] = {
	    {.account = ACCOUNT_PAYEE,
		.member_id = e->payee_id,
		.workshop_id = e->workshop_id,
		.amount_minor = e->amount_minor},
	    {.account = ACCOUNT_MEMBER,
		.member_id = e->member_id,
		.workshop_id = e->workshop_id,
		.amount_minor = -e->amount_minor},
	};

	store_booking_add(d->call->tx, &booking, legs, 2, on_entry, d);
}

static void on_payer(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)rows;
	if (call_failed(d->call, err))
		return;
	if (n == 0)
		call_fault(d->call, "/member_id",
		    "Name a member of the workshop.",
		    "member %lld does not take part in this workshop",
		    (long long)d->entry.member_id);
	if (!call_is_faulty(d->call))
		book_payment(d);
}

void act_pay(
    struct call *call, const struct entry_row *entry, act_entry_fn *done)
{
	struct dealing *d = dealing_new(call);

	d->entry_done = done;
	d->event = "payment-added";
	d->entry = *entry;
	d->entry.studio_id = call->caller.studio_id;
	d->entry.workshop_id = call->workshop.workshop_id;
	d->entry.created_by = call->caller.member_id;
	d->entry.key_id = call->caller.key_id;
	if (entry->amount_minor < 1 || entry->amount_minor > AMOUNT_MAX)
		call_fault(call, "/amount_minor",
		    "Give whole minor units above 0; to take a payment back, "
		    "reverse it.",
		    "amount_minor %lld is out of range",
		    (long long)entry->amount_minor);
	store_is_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, entry->member_id, on_payer, d);
}

void act_reverse(struct call *call, const char *reason, act_entry_fn *done)
{
	struct dealing *d = dealing_new(call);
	const struct entry_row *of = &call->entry;
	struct booking_row back = {
	    .studio_id = of->studio_id,
	    .reverses_id = of->booking_id,
	    .reason = reason,
	    .created_by = call->caller.member_id,
	    .key_id = call->caller.key_id,
	};

	d->entry_done = done;
	d->event = "payment-reversed";
	if (of->kind != BOOKING_PAYMENT) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	if (of->reversed_by_id != 0) {
		call_refuse(call, ERR_CONFLICT, NULL,
		    "payment %lld was reversed before, by entry %lld",
		    (long long)of->entry_id, (long long)of->reversed_by_id);
		return;
	}
	store_booking_reverse(call->tx, &back, on_entry, d);
}

/* ---- a statement ---- */

#define STATEMENT_ROWS 10000

static void on_counted_to_state(void *ctx, struct shares *shares)
{
	struct dealing *d = ctx;
	struct statement *s = &d->statement;

	s->papers = shares->papers;
	s->n_papers = shares->n_papers;
	for (size_t i = 0; i < shares->n_items; i++) {
		if (shares->items[i].member_id != d->call->member.member_id)
			continue;
		s->share = shares->items[i];
		s->has_share = true;
	}
	d->statement_done(d->call, s);
}

static void on_entries(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	const struct entry_row *entries = rows;
	struct entry_row *kept = NULL;
	struct statement *s = &d->statement;

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++) {
		if (entries[i].settlement_id != 0)
			s->charged_minor += entries[i].amount_minor;
		else
			s->paid_minor += entries[i].amount_minor;
		kept[s->n_entries++] = row_keep_entry(call->arena, &entries[i]);
	}
	s->entries = kept;
	if (call->workshop.accepted_plan_id != 0)
		count_shares(call, on_counted_to_state, d);
	else
		d->statement_done(call, s);
}

static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	const struct request_row *requests = rows;
	struct request_row *kept = NULL;
	struct page all = {.after = 0, .limit = STATEMENT_ROWS};

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		kept[i] = row_keep_request(call->arena, &requests[i]);
	d->statement.requests = kept;
	d->statement.n_requests = n;
	store_entries(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, -1, all,
	    on_entries, d);
}

static void on_takes_part(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	struct page all = {.after = 0, .limit = STATEMENT_ROWS};

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	store_requests(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, all,
	    on_requests, d);
}

static void on_workshop(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	call->workshop = row_keep_workshop(call->arena, rows);
	d->statement.workshop = call->workshop;
	store_is_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, on_takes_part,
	    d);
}

void act_statement(
    struct call *call, int64_t workshop_id, act_statement_fn *done)
{
	struct dealing *d = dealing_new(call);

	d->statement_done = done;
	store_workshop(
	    call->tx, call->caller.studio_id, workshop_id, on_workshop, d);
}
