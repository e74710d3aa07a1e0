/* SPDX-License-Identifier: MIT */
/*
 * Safe prices without strips: pieces as bars.  Internal to plan/.
 */
#ifndef PLAN_BARS_H
#define PLAN_BARS_H

#include "bounds.h"
#include "budget.h"

/*
 * Prices for stock in one frame such that what lies on any one line across the roll is
 * worth at most num / den for each unit of length.  Valid for every plan, whatever its
 * stages.  False when stopped; w is valid even then if w->num > 0.
 */
bool bars_worth(const struct model *m, size_t frame, struct budget *budget,
    struct worth *w);

/* Not less than the dearest row across the frame, for each unit of length, at prices p. */
int64_t bars_dearest(const struct model *m, size_t frame, const int64_t price[],
    struct budget *budget);

#endif
