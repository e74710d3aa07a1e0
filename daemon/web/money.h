/* SPDX-License-Identifier: MIT */
/*
 * From layouts and invoices to shares: the way to daemon/share of act_money.c, without the
 * store.
 */
#ifndef WEB_MONEY_H
#define WEB_MONEY_H

#include "act_money.h"
#include "act_plan.h"
#include "derive.h"
#include "invoice.h"

struct money_facts { /* what the shares of a workshop are made of */
	int64_t workshop_id;
	struct share_rules rules;
	const struct layout *layouts; /* of the accepted plan */
	size_t n_layouts;
	/* Of all invoices in force, without tax that is included in other lines. */
	const struct invoice_line_row *lines;
	size_t n_lines;
	const struct shelf_row *shelf; /* taken for the plan, by paper */
	size_t n_shelf;
	const struct balance_row *balances; /* who takes part, by id */
	size_t n_balances;
};

/*
 * The shares of a workshop: one row for each entry of balances, and for whoever else has a
 * part.  A paper costs what its invoices say once rolls of it were invoiced, the plan's price
 * of fresh stock before that; what was taken from the shelf comes on top.  Everything is
 * from the arena.  Fails when a number is past what shares are reckoned with.
 */
bool money_shares(const struct money_facts *facts, struct arena *arena,
    struct shares **out, struct err *err) MUST_USE;

#endif
