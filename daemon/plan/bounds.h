/* SPDX-License-Identifier: MIT */
/*
 * Bounds from prices.
 *
 * Give every size a whole price and let no roll hold more than its worth: whatever the
 * prices are, pieces worth D need rolls worth D.  docs/plan.md, "Prices", has the proof.
 * Internal to plan/.
 */
#ifndef PLAN_BOUNDS_H
#define PLAN_BOUNDS_H

#include "budget.h"
#include "model.h"
#include "plan.h"

struct worth {
	int64_t *size; /* price of one piece of each size */
	int64_t *
	    stock; /* for each stock, not less than the dearest content of one roll of it */
	/* no strip on fresh stock holds more than height * num / den; num 0 when no fresh
	 * stock holds anything */
	int64_t num, den;
};

struct worth *worth_new(const struct model *m, struct arena *arena);

/* Prices as areas: weak where widths do not add up, but always there. */
void worth_by_area(const struct model *m, struct worth *w);

/*
 * The same for prices already in w->size: what a roll can hold is worked out by dynamic
 * programming, exactly in two stages, and in three where the heights are few; else by
 * bars.  False when the budget ran out: w->stock and w->num then say nothing.
 */
bool worth_by_prices(
    const struct model *m, struct budget *budget, struct worth *w) MUST_USE;

/* The most that lengths of the ways' heights can add up to within run, or more. */
length heights_reach(const struct model *m, const struct frame *f, length run);

/*
 * Raise *b where these prices show more.  `plan` is the plan the bounds will stand
 * beside: what stands before a goal is taken to be as good as there.
 */
void bounds_raise(const struct model *m, const struct worth *w,
    const struct totals *plan, struct bounds *b);

/* The fewest fresh rolls by these prices alone, whatever the rolls would cost. */
int64_t bounds_rolls(
    const struct model *m, const struct worth *w, int64_t unplaced);

/* Mark what is proven: where the plan meets its bound. */
void bounds_prove(struct plan *plan, const struct bounds *b);

/* The greatest common divisor of the heights of all ways (0 without ways). */
length heights_step(const struct model *m);

#endif
