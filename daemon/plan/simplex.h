/* SPDX-License-Identifier: MIT */
/*
 * A dual simplex for branch and bound: few rows, many columns, thousands of solves that
 * each differ from the last by a bound or a row.  Like lp.h it only suggests; what is
 * decided is decided by the callers in whole numbers.  Internal to plan/.
 */
#ifndef PLAN_SIMPLEX_H
#define PLAN_SIMPLEX_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SIMPLEX_NO_BOUND 1e15 /* as high as this: none, for rows only */

struct simplex;

/* One nonzero of the matrix. */
struct simplex_entry {
	size_t at; /* row of a column, or column of a row */
	double value;
};

/* Costs are >= 0; bounds are finite, but for the upper ones of rows. */
struct simplex *simplex_new(void);
void simplex_delete(struct simplex *s); /* NULL is fine */

void simplex_add_column(struct simplex *s, double cost, double low, double high,
    const struct simplex_entry entries[], size_t n);
void simplex_add_row(struct simplex *s, double low, double high,
    const struct simplex_entry entries[], size_t n);
void simplex_bound_column(
    struct simplex *s, size_t column, double low, double high);
void simplex_bound_row(struct simplex *s, size_t row, double low, double high);

/*
 * Rows that bind nothing may go: where drop[row] is set and the row's own variable is in
 * the basis.  drop[] comes back as done; the other rows keep their order.
 */
void simplex_drop_rows(struct simplex *s, bool drop[]);

enum simplex_end {
	SIMPLEX_DONE,  /* at the optimum */
	SIMPLEX_ABOVE, /* the cost is above the cutoff: prices say so */
	SIMPLEX_MORE,  /* pivots are used up, or numbers went bad */
};

/* Go on from the last basis.  *steps grows by the work done. */
enum simplex_end simplex_solve(
    struct simplex *s, double cutoff, int pivots, int64_t *steps);

/* The cost at the prices in hand: in a branch at its optimum the least there is. */
double simplex_value(const struct simplex *s);

/* The values of the columns, and a price for each row: borrowed until the next call. */
const double *simplex_columns(struct simplex *s);
const double *simplex_prices(struct simplex *s);

#endif
