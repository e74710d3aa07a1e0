/* SPDX-License-Identifier: MIT */
/*
 * counting.c - the questions between a workshop and its shares.
 */
#include "counting.h"

#include "layout.h"
#include "money.h"
#include "rows.h"

static bool is_by_lines(const struct counting *c, int64_t paper_id)
{
	const struct money_facts *f = &c->facts;

	for (size_t i = 0; i < f->n_lines; i++)
		for (size_t k = 0; k < c->n_invoices; k++)
			if (f->lines[i].paper_id == paper_id &&
			    f->lines[i].kind == LINE_ROLLS &&
			    c->invoices[k].invoice_id ==
				f->lines[i].invoice_id &&
			    !c->invoices[k].by_paper)
				return true;
	return false;
}

struct shares *count_again(struct counting *c)
{
	struct shares *shares = NULL;
	struct err err;

	if (!money_shares(&c->facts, c->call->arena, &shares, &err)) {
		call_failed(c->call, &err);
		return NULL;
	}
	shares->plan_id = c->plan.plan_id;
	for (size_t i = 0; i < shares->n_papers; i++)
		shares->papers[i].by_lines =
		    is_by_lines(c, shares->papers[i].paper_id);
	return shares;
}

static void on_balances(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	const struct balance_row *balances = rows;
	struct balance_row *kept = NULL;
	struct shares *shares = NULL;

	if (call_failed(c->call, err))
		return;
	kept = arena_array(c->call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		kept[i] = row_keep_balance(c->call->arena, &balances[i]);
	c->facts.balances = kept;
	c->facts.n_balances = n;
	shares = count_again(c);
	if (shares)
		c->fn(c->ctx, shares);
}

static void on_shelf(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	struct call *call = c->call;
	struct shelf_row *kept = NULL;

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		kept[i] = ((const struct shelf_row *)rows)[i];
	c->facts.shelf = kept;
	c->facts.n_shelf = n;
	store_balances(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_balances, c);
}

/* Of an invoice in force, and no tax that is in other lines already. */
static bool counts(const struct counting *c, const struct invoice_line_row *l)
{
	for (size_t i = 0; i < c->n_invoices; i++)
		if (c->invoices[i].invoice_id == l->invoice_id)
			return l->kind != LINE_TAX ||
			       !c->invoices[i].tax_included;
	return false;
}

static void on_lines(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	struct call *call = c->call;
	const struct invoice_line_row *lines = rows;
	struct invoice_line_row *kept = NULL;

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		if (counts(c, &lines[i]))
			kept[c->facts.n_lines++] =
			    row_keep_line(call->arena, &lines[i]);
	c->facts.lines = kept;
	store_shelf_moves(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, c->plan.plan_id, on_shelf, c);
}

static void on_invoices(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	struct call *call = c->call;
	const struct invoice_row *invoices = rows;
	struct invoice_row *kept = NULL;

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		kept[i] = row_keep_invoice(call->arena, &invoices[i]);
	c->invoices = kept;
	c->n_invoices = n;
	store_invoice_lines(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_lines, c);
}

static void on_settlements(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	struct call *call = c->call;
	const struct settlement_row *settlements = rows;

	if (call_failed(call, err))
		return;
	if (n > 0)
		c->last = row_keep_settlement(call->arena, &settlements[n - 1]);
	store_invoices(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, false, on_invoices, c);
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct counting *c = ctx;

	c->facts.layouts = layouts;
	c->facts.n_layouts = n;
	store_settlements(c->call->tx, c->call->caller.studio_id,
	    c->call->workshop.workshop_id, on_settlements, c);
}

static void on_plan(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;

	if (call_failed(c->call, err))
		return;
	if (n == 0) {
		call_refuse(c->call, ERR_INTERNAL, NULL,
		    "workshop %lld has lost its plan",
		    (long long)c->call->workshop.workshop_id);
		return;
	}
	c->plan = row_keep_plan(c->call->arena, rows);
	layout_load(c->call, &c->plan, 0, on_layouts, c);
}

struct counting *count_shares(struct call *call, counted_fn *fn, void *ctx)
{
	struct counting *c = call_alloc(call, sizeof(*c));

	*c = (struct counting){.call = call, .fn = fn, .ctx = ctx};
	c->facts.workshop_id = call->workshop.workshop_id;
	c->facts.rules = (struct share_rules){
	    .policy = (enum share_policy)call->workshop.share_policy,
	    .ceiling = call->workshop.share_ceiling,
	    .shipping_each = call->workshop.shipping_each,
	};
	if (call->workshop.accepted_plan_id == 0) {
		call_refuse(call, ERR_CONFLICT, "Accept a plan first.",
		    "workshop %lld has no accepted plan, so there are no "
		    "shares",
		    (long long)call->workshop.workshop_id);
		return NULL;
	}
	store_plan(call->tx, call->caller.studio_id,
	    call->workshop.accepted_plan_id, on_plan, c);
	return c;
}
