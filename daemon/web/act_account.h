/* SPDX-License-Identifier: MIT */
/*
 * What the account of a workshop is made of.  An action as in act_request.h.
 */
#ifndef WEB_ACT_ACCOUNT_H
#define WEB_ACT_ACCOUNT_H

#include "act_money.h"
#include "invoice.h"
#include "shelf.h"

struct account { /* of call->workshop; lists live as long as the call */
	const struct shares *shares;  /* NULL: no plan is accepted */
	int64_t plan_id;              /* the accepted one, or 0 */
	struct invoice_row *invoices; /* also those that were replaced */
	size_t n_invoices;
	struct entry_row *entries;
	size_t n_entries;
	struct total_row *totals;
	size_t n_totals;
	struct stock_row *stock; /* of the whole studio */
	size_t n_stock;
	const char **trouble; /* of this workshop */
	size_t n_trouble;
};

typedef void act_account_fn(struct call *call, const struct account *account);
void act_account(struct call *call, act_account_fn *done);

#endif
