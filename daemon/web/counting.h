/* SPDX-License-Identifier: MIT */
/*
 * The way from a workshop to its shares: its accepted plan, the layouts, the last settlement,
 * the invoices in force, the balances.
 */
#ifndef WEB_COUNTING_H
#define WEB_COUNTING_H

#include "act_money.h"
#include "act_plan.h"
#include "invoice.h"
#include "money.h"

typedef void counted_fn(void *ctx, struct shares *shares);

struct counting {
	struct call *call;
	struct plan_row plan;
	struct settlement_row last;         /* number 0: none */
	const struct invoice_row *invoices; /* in force */
	size_t n_invoices;
	struct money_facts facts;
	counted_fn *fn;
	void *ctx;
};

/* The shares of call->workshop; the call has ended (and NULL is returned) without a plan. */
struct counting *count_shares(struct call *call, counted_fn *fn, void *ctx);

/* The shares of c->facts again, after they were changed; NULL: the call has ended. */
struct shares *count_again(struct counting *c);

#endif
