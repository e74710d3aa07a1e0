/* SPDX-License-Identifier: MIT */
/*
 * The least strip length in one frame: a linear program over strips, columns made on
 * demand, and whole plans rounded from it.  Internal to plan/.
 */
#ifndef PLAN_MASTER_H
#define PLAN_MASTER_H

#include "bounds.h"
#include "budget.h"
#include "columns.h"
#include "lp.h"
#include "strips.h"

struct master {
	const struct model *model;
	size_t frame;
	struct budget *budget;
	struct columns columns;
	struct strips *ruled; /* strips that may be torn */
	struct strips
	    *relaxed; /* strips for bounds; the same when no rule bites */
	struct lp *lp;
	size_t n_in_lp;        /* columns of the pool that the LP knows */
	int64_t *price, *most; /* by size, for the pricers */
	int64_t scale;         /* price of one unit of length */
	length step;           /* gcd of all heights */
};

struct master *master_new(
    const struct model *m, size_t frame, struct budget *budget);
void master_delete(struct master *ma); /* NULL is fine */

/* Offer a pattern (it is copied). */
void master_offer(struct master *ma, const struct pattern *p);

/*
 * Solve for `need` of each size with new columns until none helps, or `rounds` rounds.
 * True when it came to the end.  If w is given, it holds the best safe prices met.
 */
bool master_solve(
    struct master *ma, const int64_t need[], int rounds, struct worth *w);

double master_value(
    const struct master *ma); /* of the LP, in units of length */
/* The fraction in which column i is used now. */
double master_fraction(const struct master *ma, size_t i);

/* Strips chosen so often: a whole answer for some need. */
struct picks {
	const struct pattern **pattern;
	int64_t *copies;
	size_t n, cap;
	length total; /* sum of heights */
};

void picks_free(struct picks *p);
void picks_add(struct picks *p, const struct pattern *pattern, int64_t copies);

/*
 * Pieces too many (left < 0) are taken out of the strips again, which may lower them.
 * False: the sliver rule kept some of them in; left says which.
 */
bool picks_drop_surplus(const struct model *m, size_t frame,
    struct arena *arena, int64_t left[], struct picks *out);

/*
 * Round the LP to a whole answer for `need`: whole parts first, then one strip after the
 * other, with new columns for what is left.  bias 0 takes the largest fraction first;
 * others (1, 2, ...) stir the choice in a fixed way.  False when stopped before the end.
 */
bool master_dive(
    struct master *ma, const int64_t need[], int bias, struct picks *out);

#endif
