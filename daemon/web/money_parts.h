/* SPDX-License-Identifier: MIT */
/*
 * Parts of the page of a workshop's money, between page_money.c and page_pay.c.
 */
#ifndef WEB_MONEY_PARTS_H
#define WEB_MONEY_PARTS_H

#include "act_money.h"
#include "call.h"
#include "html.h"

/* "/workshops/7" and more */
const char *money_path(struct call *call, const char *more);
/* "162.00", without its currency, for a field */
const char *money_major(struct call *call, money m);

void pay_write_form(
    struct call *call, struct html *h, const struct shares *shares);
/* Needs load_entries(). */
void pay_write_entries(struct call *call, struct html *h);

#endif
