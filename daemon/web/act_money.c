/* SPDX-License-Identifier: MIT */
/*
 * act_money.c - shares and settlements.
 *
 * A settlement charges every member the share of the invoice less what was charged before, so
 * an invoice that comes later, or changes, is a difference with a reason of its own; nothing
 * that was written is touched.  The database checks at commit that the charges add up.
 */
#include "act_money.h"

#include <stdlib.h>
#include <string.h>

#include "counting.h"
#include "invoicing.h"
#include "measure.h"
#include "money.h"
#include "rows.h"

struct dealing { /* one action */
	struct call *call;
	struct counting *counting;
	struct shares *shares;
	const struct invoice *invoices;
	size_t n_invoices;
	struct settlement_row settlement;
	act_shares_fn *shares_done;
	act_settlement_fn *settlement_done;
};

static struct dealing *dealing_new(struct call *call)
{
	struct dealing *d = call_alloc(call, sizeof(*d));

	d->call = call;
	call->act = d;
	return d;
}

static const char *printed(struct call *call, money m)
{
	char text[MONEY_TEXT_MAX];

	return arena_strdup(
	    call->arena, money_print(text, m, call->caller.studio.currency));
}

static void on_counted(void *ctx, struct shares *shares)
{
	struct dealing *d = ctx;

	d->shares_done(d->call, shares);
}

void act_shares(struct call *call, act_shares_fn *done)
{
	struct dealing *d = dealing_new(call);

	d->shares_done = done;
	count_shares(call, on_counted, d);
}

/* ---- settling ---- */

static void on_settle_noted(struct call *call)
{
	struct dealing *d = call->act;

	d->settlement_done(call, &d->settlement);
}

static void note_settlement(struct dealing *d)
{
	call_event(d->call, "workshop-settled", d->call->workshop.workshop_id,
	    0,
	    json_pack("{s: I, s: I, s: I}", "settlement_id",
		(json_int_t)d->settlement.settlement_id, "invoice_minor",
		(json_int_t)d->settlement.invoice_minor, "charged_minor",
		(json_int_t)d->settlement.charged_minor),
	    on_settle_noted);
}

static void on_settled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(d->call, err))
		note_settlement(d);
}

static const char *charge_reason(struct dealing *d)
{
	const struct settlement_row *last = &d->counting->last;
	struct call *call = d->call;

	if (last->number == 0)
		return call_printf(call, "share of the invoice, %s",
		    printed(call, d->settlement.invoice_minor));
	return call_printf(call, "share of the invoice, %s instead of %s",
	    printed(call, d->settlement.invoice_minor),
	    printed(call, last->invoice_minor));
}

static void enter_settled(struct dealing *d)
{
	struct call *call = d->call;

	if (call->workshop.state == WORKSHOP_TORN)
		store_workshop_enter(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, WORKSHOP_TORN, WORKSHOP_SETTLED,
		    call->workshop.accepted_plan_id, on_settled, d);
	else
		note_settlement(d);
}

static void on_charged(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(d->call, err))
		enter_settled(d);
}

/* What each share is more, or less, than what was charged before. */
static size_t fill_legs(const struct dealing *d, struct leg *legs)
{
	int64_t workshop_id = d->call->workshop.workshop_id;
	size_t n = 0;

	for (size_t i = 0; i < d->shares->n_items; i++) {
		const struct share_row *row = &d->shares->items[i];

		if (row->share_minor != row->charged_minor)
			legs[n++] = (struct leg){.account = ACCOUNT_MEMBER,
			    .member_id = row->member_id,
			    .workshop_id = workshop_id,
			    .amount_minor =
				row->share_minor - row->charged_minor};
	}
	if (d->settlement.charged_minor != 0)
		legs[n++] = (struct leg){.account = ACCOUNT_COST,
		    .workshop_id = workshop_id,
		    .amount_minor = -d->settlement.charged_minor};
	return n;
}

static void on_settlement(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	struct leg *legs = NULL;
	struct booking_row booking = {
	    .studio_id = call->caller.studio_id,
	    .kind = d->counting->last.number == 0 ? BOOKING_CHARGE
						  : BOOKING_ADJUSTMENT,
	    .workshop_id = call->workshop.workshop_id,
	    .currency = call->caller.studio.currency,
	    .plan_id = d->counting->plan.plan_id,
	    .created_by = call->caller.member_id,
	    .key_id = call->caller.key_id,
	};

	(void)n;
	if (call_failed(call, err))
		return;
	d->settlement = row_keep_settlement(call->arena, rows);
	booking.settlement_id = d->settlement.settlement_id;
	booking.reason = charge_reason(d);
	legs = arena_array(call->arena, d->shares->n_items + 1, sizeof(*legs));
	n = fill_legs(d, legs);
	if (n == 0)
		enter_settled(d);
	else
		store_booking_add(call->tx, &booking, legs, n, on_charged, d);
}

static struct share_paper *paper_of(struct shares *shares, int64_t paper_id)
{
	for (size_t i = 0; i < shares->n_papers; i++)
		if (shares->papers[i].paper_id == paper_id)
			return &shares->papers[i];
	return NULL;
}

static void check_invoices(struct dealing *d)
{
	struct call *call = d->call;

	for (size_t i = 0; i < d->n_invoices; i++) {
		const struct invoice *invoice = &d->invoices[i];

		if (paper_of(d->shares, invoice->paper_id) == NULL)
			call_fault(call,
			    call_printf(call, "/invoices/%zu/paper_id", i),
			    "Name papers that were planned.",
			    "paper %lld is not in the plan",
			    (long long)invoice->paper_id);
		if (invoice->amount_minor < 0 ||
		    invoice->amount_minor > AMOUNT_MAX)
			call_fault(call,
			    call_printf(call, "/invoices/%zu/amount_minor", i),
			    "Give whole minor units, 0 or more.",
			    "amount_minor %lld is out of range",
			    (long long)invoice->amount_minor);
		for (size_t k = 0; k < i; k++)
			if (d->invoices[k].paper_id == invoice->paper_id)
				call_fault(call,
				    call_printf(
					call, "/invoices/%zu/paper_id", i),
				    "Name each paper once.",
				    "paper %lld is there twice",
				    (long long)invoice->paper_id);
	}
}

/* The invoices as they stand now: those given, and those entered before. */
static const char *parts_text(struct dealing *d)
{
	json_t *list = json_array();
	char *text = NULL;
	const char *copy = NULL;

	for (size_t i = 0; i < d->shares->n_papers; i++) {
		struct share_paper *paper = &d->shares->papers[i];

		for (size_t k = 0; k < d->n_invoices; k++) {
			if (d->invoices[k].paper_id != paper->paper_id)
				continue;
			paper->invoiced = true;
			paper->invoice_minor = d->invoices[k].amount_minor;
		}
		if (paper->invoiced)
			json_array_append_new(list,
			    json_pack("{s: I, s: I}", "paper_id",
				(json_int_t)paper->paper_id, "amount_minor",
				(json_int_t)paper->invoice_minor));
	}
	text = json_dumps(list, JSON_COMPACT);
	copy = arena_strdup(d->call->arena, text);
	free(text);
	json_decref(list);
	return copy;
}

/* ---- the settlement itself ---- */

static const char *ids_text(struct dealing *d)
{
	const struct counting *c = d->counting;
	const char *text = "[";

	for (size_t i = 0; i < c->n_invoices; i++)
		text = call_printf(d->call, "%s%s%lld", text, i ? "," : "",
		    (long long)c->invoices[i].invoice_id);
	return call_printf(d->call, "%s]", text);
}

static money estimated(const struct shares *shares)
{
	money sum = 0;

	for (size_t i = 0; i < shares->n_papers; i++)
		if (!shares->papers[i].invoiced)
			sum += shares->papers[i].cost_minor;
	return sum;
}

static void add_settlement(struct dealing *d)
{
	struct call *call = d->call;
	const struct counting *c = d->counting;
	money before = 0;
	struct share_given *given =
	    arena_array(call->arena, d->shares->n_items + 1, sizeof(*given));

	for (size_t i = 0; i < d->shares->n_items; i++) {
		const struct share_row *row = &d->shares->items[i];

		given[i] = (struct share_given){
		    .member_id = row->member_id,
		    .share_minor = row->share_minor,
		};
		before += row->charged_minor;
	}
	d->settlement = (struct settlement_row){
	    .studio_id = call->caller.studio_id,
	    .workshop_id = call->workshop.workshop_id,
	    .plan_id = c->plan.plan_id,
	    .number = 0,
	    .currency = call->caller.studio.currency,
	    .invoice_minor = d->shares->sum_minor,
	    .charged_minor = d->shares->sum_minor - before,
	    .estimated_minor = estimated(d->shares),
	    .parts = c->parts,
	    .invoices = ids_text(d),
	    .created_by = call->caller.member_id,
	};
	store_settlement_add(call->tx, &d->settlement, given,
	    d->shares->n_items, on_settlement, d);
}

static void on_invoice_put(void *ctx, const struct invoice_row *invoice)
{
	struct dealing *d = ctx;
	struct counting *c = d->counting;
	struct invoice_row *now =
	    arena_array(d->call->arena, c->n_invoices + 1, sizeof(*now));
	size_t n = 0;

	for (size_t i = 0; i < c->n_invoices; i++)
		if (!c->invoices[i].by_paper)
			now[n++] = c->invoices[i];
	now[n++] = *invoice;
	c->invoices = now;
	c->n_invoices = n;
	add_settlement(d);
}

/* One amount a paper is an invoice of one line a paper, and replaces the one before. */
static void put_invoice(struct dealing *d)
{
	struct call *call = d->call;
	const struct counting *c = d->counting;
	struct invoice_row invoice = {
	    .currency = call->caller.studio.currency,
	    .by_paper = true,
	};
	struct invoice_line_row *lines =
	    arena_array(call->arena, d->shares->n_papers + 1, sizeof(*lines));

	for (size_t i = 0; i < c->n_invoices; i++)
		if (c->invoices[i].by_paper) {
			invoice.replaces_id = c->invoices[i].invoice_id;
			invoice.reason = "another amount was given";
		}
	for (size_t i = 0; i < d->shares->n_papers; i++) {
		const struct share_paper *paper = &d->shares->papers[i];

		if (!paper->invoiced)
			continue;
		lines[invoice.n_lines++] = (struct invoice_line_row){
		    .kind = LINE_ROLLS,
		    .paper_id = paper->paper_id,
		    .amount_minor = paper->invoice_minor,
		    .tax_rate_ppm = -1,
		};
		invoice.total_minor += paper->invoice_minor;
	}
	invoice_put(call, &invoice, lines, on_invoice_put, d);
}

static void on_recounted(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	struct counting *c = d->counting;
	const char *parts = NULL;
	bool same = false;

	if (call_failed(call, err))
		return;
	parts = parts_text(d);
	same = strcmp(parts, c->parts) == 0;
	if (c->last.number > 0 && c->last.plan_id == c->plan.plan_id &&
	    strcmp(c->last.parts, parts) == 0) {
		call_refuse(call, ERR_CONFLICT, "Nothing is left to charge.",
		    "workshop %lld is settled with these invoices already",
		    (long long)call->workshop.workshop_id);
		return;
	}
	c->parts = parts;
	d->shares = money_shares(call->arena, call->workshop.workshop_id,
	    c->layouts, c->n_layouts, parts, rows, n);
	if (same)
		add_settlement(d);
	else
		put_invoice(d);
}

static void on_counted_to_settle(void *ctx, struct shares *shares)
{
	struct dealing *d = ctx;
	struct call *call = d->call;

	d->shares = shares;
	check_invoices(d);
	if (!call_is_faulty(call))
		store_balances(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, 0, on_recounted, d);
}

void act_settle(struct call *call, const struct invoice *invoices, size_t n,
    act_settlement_fn *done)
{
	struct dealing *d = dealing_new(call);

	d->invoices = invoices;
	d->n_invoices = n;
	d->settlement_done = done;
	d->counting = count_shares(call, on_counted_to_settle, d);
}
