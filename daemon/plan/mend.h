/* SPDX-License-Identifier: MIT */
/*
 * Shorter strips by planning a few of them anew.  Internal to plan/.
 */
#ifndef PLAN_MEND_H
#define PLAN_MEND_H

#include "master.h"

/*
 * Better `picks` in place: again and again some of its strips are taken out, and what
 * they hold is planned anew.  price and scale: what a size is worth and what a unit of
 * height costs, to see which strips are wasteful.  goal: stop when the total is down to
 * it.  Returns whether the total fell.
 */
bool mend_picks(struct master *ma, struct picks *picks, const int64_t price[],
    int64_t scale, length goal, int turns);

#endif
