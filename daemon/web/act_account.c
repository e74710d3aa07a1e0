/* SPDX-License-Identifier: MIT */
/*
 * act_account.c - the account of a workshop, gathered in one transaction, so that what is
 * printed together was so together.
 */
#include "act_account.h"

#include "counting.h"
#include "reconcile.h"
#include "rows.h"

#define ROWS 100000

struct accounting {
	struct call *call;
	struct account account;
	act_account_fn *done;
};

static void on_counted(void *ctx, struct shares *shares)
{
	struct accounting *a = ctx;

	a->account.shares = shares;
	a->done(a->call, &a->account);
}

static void on_trouble(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accounting *a = ctx;
	struct call *call = a->call;
	const struct trouble_row *trouble = rows;

	if (call_failed(call, err))
		return;
	a->account.trouble =
	    arena_array(call->arena, n + 1, sizeof(*a->account.trouble));
	for (size_t i = 0; i < n; i++)
		if (trouble[i].workshop_id == call->workshop.workshop_id)
			a->account.trouble[a->account.n_trouble++] =
			    arena_strdup(call->arena, trouble[i].what);
	a->account.plan_id = call->workshop.accepted_plan_id;
	if (a->account.plan_id != 0)
		count_shares(call, on_counted, a);
	else
		a->done(call, &a->account);
}

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accounting *a = ctx;
	struct call *call = a->call;
	const struct stock_row *stock = rows;

	if (call_failed(call, err))
		return;
	a->account.stock =
	    arena_array(call->arena, n + 1, sizeof(*a->account.stock));
	for (size_t i = 0; i < n; i++)
		a->account.stock[a->account.n_stock++] =
		    row_keep_stock(call->arena, &stock[i]);
	store_reconcile(call->tx, call->caller.studio_id, on_trouble, a);
}

static void on_totals(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accounting *a = ctx;
	struct call *call = a->call;
	const struct total_row *t = rows;
	struct page all = {.after = 0, .limit = ROWS};

	if (call_failed(call, err))
		return;
	a->account.totals =
	    arena_array(call->arena, n + 1, sizeof(*a->account.totals));
	for (size_t i = 0; i < n; i++) {
		struct total_row *copy = &a->account.totals[i];

		*copy = t[i];
		copy->member_name = t[i].member_name ? arena_strdup(call->arena,
							   t[i].member_name)
						     : NULL;
		copy->currency = arena_strdup(call->arena, t[i].currency);
	}
	a->account.n_totals = n;
	store_stocks(call->tx, call->caller.studio_id, 0, all, on_stock, a);
}

static void on_entries(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accounting *a = ctx;
	struct call *call = a->call;
	const struct entry_row *entries = rows;

	if (call_failed(call, err))
		return;
	a->account.entries =
	    arena_array(call->arena, n + 1, sizeof(*a->account.entries));
	for (size_t i = 0; i < n; i++)
		a->account.entries[i] =
		    row_keep_entry(call->arena, &entries[i]);
	a->account.n_entries = n;
	store_totals(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_totals, a);
}

static void on_invoices(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accounting *a = ctx;
	struct call *call = a->call;
	const struct invoice_row *invoices = rows;
	struct page all = {.after = 0, .limit = ROWS};

	if (call_failed(call, err))
		return;
	a->account.invoices =
	    arena_array(call->arena, n + 1, sizeof(*a->account.invoices));
	for (size_t i = 0; i < n; i++)
		a->account.invoices[i] =
		    row_keep_invoice(call->arena, &invoices[i]);
	a->account.n_invoices = n;
	store_entries(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, -1, all, on_entries, a);
}

void act_account(struct call *call, act_account_fn *done)
{
	struct accounting *a = call_alloc(call, sizeof(*a));

	a->call = call;
	a->done = done;
	store_invoices(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, true, on_invoices, a);
}
