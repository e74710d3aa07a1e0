/* SPDX-License-Identifier: MIT */
/*
 * counting.c - the questions between a workshop and its shares.
 */
#include "counting.h"

#include "layout.h"
#include "money.h"
#include "rows.h"

static void on_balances(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct counting *c = ctx;
	struct shares *shares = NULL;

	if (call_failed(c->call, err))
		return;
	shares = money_shares(c->call->arena, c->call->workshop.workshop_id,
	    c->layouts, c->n_layouts,
	    c->last.number == 0 ? NULL : c->last.parts, rows, n);
	shares->plan_id = c->plan.plan_id;
	c->fn(c->ctx, shares);
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
	store_balances(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_balances, c);
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct counting *c = ctx;

	c->layouts = layouts;
	c->n_layouts = n;
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
