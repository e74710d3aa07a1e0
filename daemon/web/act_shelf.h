/* SPDX-License-Identifier: MIT */
/*
 * Papers and stock.  Actions as in act_request.h.
 *
 * The row given is whole: ids and version of call->paper / call->stock when it is a change.
 */
#ifndef WEB_ACT_SHELF_H
#define WEB_ACT_SHELF_H

#include "call.h"

#define WEIGHT_MAX 2000
#define PRICE_MAX INT64_C(100000000000)
#define AVAILABLE_MAX 10000
#define COMPARE_MAX 20

typedef void act_paper_fn(struct call *call, const struct paper_row *paper);
void act_paper_add(
    struct call *call, const struct paper_row *paper, act_paper_fn *done);
void act_paper_change(
    struct call *call, const struct paper_row *paper, act_paper_fn *done);

typedef void act_stock_fn(struct call *call, const struct stock_row *stock);
void act_stock_add(
    struct call *call, const struct stock_row *stock, act_stock_fn *done);
void act_stock_change(
    struct call *call, const struct stock_row *stock, act_stock_fn *done);

/* "fresh", "roll-end", "offcut", "flat"; -1 when it is none. */
const char *stock_kind_name(int64_t kind);
int64_t stock_kind_from(const char *name);

#endif
