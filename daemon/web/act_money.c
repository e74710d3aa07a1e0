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
#include "rows.h"
#include "text.h"

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

/* ---- what the shelf is worth otherwise ---- */

static void on_levelled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(d->call, err))
		enter_settled(d);
}

/* Roll-ends lie on the shelf at the value they had when they were put there.  What this
 * settlement lets the members off more, or less, the studio bears: then nothing is left on the
 * account of costs but what is estimated. */
static void on_totals(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;
	struct call *call = d->call;
	const struct total_row *totals = rows;
	int64_t workshop_id = call->workshop.workshop_id;
	money left = d->settlement.estimated_minor;
	struct booking_row booking = {
	    .studio_id = call->caller.studio_id,
	    .kind = BOOKING_CORRECTION,
	    .workshop_id = workshop_id,
	    .currency = call->caller.studio.currency,
	    .plan_id = d->counting->plan.plan_id,
	    .reason = "roll-ends were put on the shelf at another value",
	    .created_by = call->caller.member_id,
	    .key_id = call->caller.key_id,
	};

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		if (totals[i].account == ACCOUNT_COST)
			left += totals[i].debit_minor - totals[i].credit_minor;
	if (left == 0)
		enter_settled(d);
	else
		store_booking_add(call->tx, &booking,
		    (const struct leg[]){
			{ACCOUNT_COST, 0, workshop_id, -left},
			{ACCOUNT_WRITE_OFF, 0, workshop_id, left},
		    },
		    2, on_levelled, d);
}

static void level_shelf(struct dealing *d)
{
	struct call *call = d->call;

	if (call->workshop.state == WORKSHOP_TORN ||
	    call->workshop.state == WORKSHOP_SETTLED)
		store_totals(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, on_totals, d);
	else
		enter_settled(d);
}

static void on_charged(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct dealing *d = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(d->call, err))
		level_shelf(d);
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
		level_shelf(d);
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

/* Lines of an invoice entered by itself cannot be overruled by an amount. */
static void check_invoices(struct dealing *d)
{
	struct call *call = d->call;

	for (size_t i = 0; i < d->n_invoices; i++) {
		const struct invoice *invoice = &d->invoices[i];
		const char *pointer =
		    call_printf(call, "/invoices/%zu/paper_id", i);

		const struct share_paper *paper =
		    paper_of(d->shares, invoice->paper_id);

		if (paper == NULL)
			call_fault(call, pointer,
			    "Name papers that were planned.",
			    "paper %lld is not in the plan",
			    (long long)invoice->paper_id);
		if (paper != NULL && paper->by_lines)
			call_fault(call, pointer,
			    "Replace that invoice, then settle without an "
			    "amount for this paper.",
			    "paper %lld is on an invoice that was entered "
			    "line by line",
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
				call_fault(call, pointer,
				    "Name each paper once.",
				    "paper %lld is there twice",
				    (long long)invoice->paper_id);
	}
}

/* ---- the settlement itself ---- */

static const char *taken(struct dealing *d, char *text)
{
	const char *copy = arena_strdup(d->call->arena, text);

	free(text);
	return copy;
}

/* What is invoiced of each paper. */
static const char *parts_text(struct dealing *d)
{
	json_t *list = json_array();
	const char *text = NULL;

	for (size_t i = 0; i < d->shares->n_papers; i++) {
		const struct share_paper *paper = &d->shares->papers[i];

		if (paper->invoiced)
			json_array_append_new(list,
			    json_pack("{s: I, s: I}", "paper_id",
				(json_int_t)paper->paper_id, "amount_minor",
				(json_int_t)paper->invoice_minor));
	}
	text = taken(d, json_dumps(list, JSON_COMPACT));
	json_decref(list);
	return text;
}

static const char *ids_text(struct dealing *d)
{
	const struct counting *c = d->counting;
	json_t *list = json_array();
	const char *text = NULL;

	for (size_t i = 0; i < c->n_invoices; i++)
		json_array_append_new(
		    list, json_integer(c->invoices[i].invoice_id));
	text = taken(d, json_dumps(list, 0));
	json_decref(list);
	return text;
}

static const char *policy_text(struct dealing *d)
{
	const struct share_rules *rules = &d->counting->facts.rules;

	return call_printf(d->call,
	    "{\"policy\": \"%s\", \"ceiling\": %s, \"shipping_each\": %s}",
	    share_policy_name(rules->policy), rules->ceiling ? "true" : "false",
	    rules->shipping_each ? "true" : "false");
}

#define DERIVATION_MAX (64 * 1024 * 1024)

static const char *derivation_text(struct dealing *d)
{
	struct text text;

	text_init(&text, DERIVATION_MAX);
	share_result_write(d->shares->result, &text);
	return taken(d, text_take(&text));
}

static bool nothing_is_new(struct dealing *d)
{
	const struct settlement_row *last = &d->counting->last;
	bool same = last->number > 0 &&
		    last->plan_id == d->counting->plan.plan_id &&
		    last->invoice_minor == d->shares->invoice_minor &&
		    strcmp(last->invoices, d->settlement.invoices) == 0;

	for (size_t i = 0; i < d->shares->n_items; i++)
		same = same && d->shares->items[i].share_minor ==
				   d->shares->items[i].charged_minor;
	return same;
}

static void add_settlement(struct dealing *d)
{
	struct call *call = d->call;
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
	    .plan_id = d->counting->plan.plan_id,
	    .number = 0,
	    .currency = call->caller.studio.currency,
	    .invoice_minor = d->shares->invoice_minor,
	    .charged_minor = d->shares->sum_minor - before,
	    .estimated_minor = d->shares->estimated_minor,
	    .used_minor = d->shares->used_minor,
	    .kept_minor = d->shares->kept_minor,
	    .parts = parts_text(d),
	    .policy = policy_text(d),
	    .derivation = derivation_text(d),
	    .invoices = ids_text(d),
	    .created_by = call->caller.member_id,
	};
	if (nothing_is_new(d))
		call_refuse(call, ERR_CONFLICT, "Nothing is left to charge.",
		    "workshop %lld is settled with these invoices already",
		    (long long)call->workshop.workshop_id);
	else
		store_settlement_add(call->tx, &d->settlement, given,
		    d->shares->n_items, on_settlement, d);
}

/* ---- one amount a paper ---- */

static const struct invoice_row *by_paper(const struct counting *c)
{
	for (size_t i = 0; i < c->n_invoices; i++)
		if (c->invoices[i].by_paper)
			return &c->invoices[i];
	return NULL;
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

/* The lines of the invoice by paper as they are with the amounts given; sees whether they
 * are others than before. */
static struct invoice_line_row *lines_by_paper(
    struct dealing *d, const struct invoice_row *was, size_t *n, bool *is_new)
{
	const struct money_facts *f = &d->counting->facts;
	struct invoice_line_row *lines = arena_array(
	    d->call->arena, f->n_lines + d->n_invoices + 1, sizeof(*lines));

	*n = 0;
	*is_new = false;
	for (size_t i = 0; was && i < f->n_lines; i++)
		if (f->lines[i].invoice_id == was->invoice_id)
			lines[(*n)++] = f->lines[i];
	for (size_t i = 0; i < d->n_invoices; i++) {
		size_t k = 0;

		while (k < *n && lines[k].paper_id != d->invoices[i].paper_id)
			k++;
		if (k < *n &&
		    lines[k].amount_minor == d->invoices[i].amount_minor)
			continue;
		*is_new = true;
		lines[k] = (struct invoice_line_row){
		    .kind = LINE_ROLLS,
		    .paper_id = d->invoices[i].paper_id,
		    .amount_minor = d->invoices[i].amount_minor,
		    .tax_rate_ppm = -1,
		};
		*n += k == *n;
	}
	return lines;
}

/* One amount a paper is an invoice of one line a paper, and replaces the one before. */
static void put_invoice(struct dealing *d)
{
	struct counting *c = d->counting;
	struct money_facts *f = &c->facts;
	const struct invoice_row *was = by_paper(c);
	struct invoice_row invoice = {
	    .currency = d->call->caller.studio.currency,
	    .by_paper = true,
	    .replaces_id = was ? was->invoice_id : 0,
	    .reason = was ? "another amount was given" : "",
	};
	bool is_new = false;
	size_t n = 0, n_all = 0;
	struct invoice_line_row *lines = lines_by_paper(d, was, &n, &is_new);
	struct invoice_line_row *all =
	    arena_array(d->call->arena, f->n_lines + n + 1, sizeof(*all));

	for (size_t i = 0; i < f->n_lines; i++)
		if (!was || f->lines[i].invoice_id != was->invoice_id)
			all[n_all++] = f->lines[i];
	for (size_t i = 0; i < n; i++) {
		all[n_all++] = lines[i];
		invoice.total_minor += lines[i].amount_minor;
	}
	invoice.n_lines = (int64_t)n;
	f->lines = all;
	f->n_lines = n_all;
	d->shares = count_again(c);
	if (!d->shares)
		return;
	if (d->shares_done)
		d->shares_done(d->call, d->shares);
	else if (is_new)
		invoice_put(d->call, &invoice, lines, on_invoice_put, d);
	else
		add_settlement(d);
}

static void on_counted_to_settle(void *ctx, struct shares *shares)
{
	struct dealing *d = ctx;

	d->shares = shares;
	check_invoices(d);
	if (!call_is_faulty(d->call))
		put_invoice(d);
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

void act_settle_look(struct call *call, const struct invoice *invoices,
    size_t n, act_shares_fn *done)
{
	struct dealing *d = dealing_new(call);

	d->invoices = invoices;
	d->n_invoices = n;
	d->shares_done = done;
	d->counting = count_shares(call, on_counted_to_settle, d);
}
