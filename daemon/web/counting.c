/* SPDX-License-Identifier: MIT */
/*
 * counting.c - the questions between a workshop and its shares.
 */
#include "counting.h"

#include <stdlib.h>

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
	    c->layouts, c->n_layouts, c->parts, rows, n);
	shares->plan_id = c->plan.plan_id;
	c->fn(c->ctx, shares);
}

/* [{"paper_id":1,"amount_minor":19200}, ...] of the lines that name a paper. */
static const char *parts_of(const struct counting *c)
{
	json_t *list = json_array();
	char *text = NULL;
	const char *copy = NULL;

	for (size_t p = 0; p < c->n_layouts; p++) {
		int64_t paper_id = c->layouts[p].job->paper_id;
		money sum = 0;
		bool there = false;

		for (size_t i = 0; i < c->n_lines; i++) {
			if (c->lines[i].paper_id != paper_id)
				continue;
			there = true;
			sum += c->lines[i].amount_minor;
		}
		if (there)
			json_array_append_new(
			    list, json_pack("{s: I, s: I}", "paper_id",
				      (json_int_t)paper_id, "amount_minor",
				      (json_int_t)sum));
	}
	text = json_dumps(list, JSON_COMPACT);
	copy = arena_strdup(c->call->arena, text);
	free(text);
	json_decref(list);
	return copy;
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
		kept[i] = row_keep_line(call->arena, &lines[i]);
	c->lines = kept;
	c->n_lines = n;
	c->parts = parts_of(c);
	store_balances(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_balances, c);
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
