/* SPDX-License-Identifier: MIT */
/*
 * Linear programs: minimise cost over bounded columns and rows.
 *
 * The one place with floating point.  What comes out are suggestions: prices and
 * fractions that the callers turn into whole numbers before anything is decided.
 * Internal to plan/.
 */
#ifndef PLAN_LP_H
#define PLAN_LP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "budget.h"

#define LP_INFINITY 1e30

struct lp;

struct lp *lp_new(void);
void lp_delete(struct lp *lp); /* NULL is fine */

void lp_add_row(struct lp *lp, double lower, double upper);
/* rows[] and coefficients[] of the n entries that are not zero. */
void lp_add_column(struct lp *lp, double cost, double lower, double upper,
    size_t n, const int rows[], const double coefficients[]);
void lp_drop_columns(
    struct lp *lp, size_t first); /* this one and all after it */
void lp_bound_row(struct lp *lp, size_t row, double lower, double upper);
void lp_bound_column(struct lp *lp, size_t column, double lower, double upper);
void lp_cost(struct lp *lp, size_t column, double cost);

/*
 * Go on from the last basis to the optimum, the budget asked between some pivots and the
 * next; false: there is none, or the budget is out.  dual: use the dual simplex (after
 * changes of bounds).
 */
bool lp_run(struct lp *lp, bool dual, struct budget *budget);

double lp_value(const struct lp *lp);
const double *lp_columns(
    const struct lp *lp);                     /* borrowed until the next call */
const double *lp_prices(const struct lp *lp); /* one for each row */

#endif
