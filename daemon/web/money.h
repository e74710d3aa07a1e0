/* SPDX-License-Identifier: MIT */
/*
 * From layouts and invoices to shares: the arithmetic of act_money.c, without the store.
 */
#ifndef WEB_MONEY_H
#define WEB_MONEY_H

#include "act_money.h"
#include "act_plan.h"

/*
 * The shares of a workshop: one row for each entry of balances (those who take part, by id),
 * and for whoever else has a part.  parts: the invoices of the last settlement as JSON
 * [{"paper_id":1,"amount_minor":19200}], or NULL.  Everything is from the arena.
 */
struct shares *money_shares(struct arena *arena, int64_t workshop_id,
    const struct layout *layouts, size_t n_layouts, const char *parts,
    const struct balance_row *balances, size_t n_balances);

#endif
