/* SPDX-License-Identifier: MIT */
/*
 * Safe prices in three stages: strips of every height.  Internal to plan/.
 */
#ifndef PLAN_TALL_H
#define PLAN_TALL_H

#include "bounds.h"
#include "budget.h"

/*
 * Prices for stock in one frame such that no strip of three stages is worth more than
 * num / den for each unit of its height, as good as an LP over strips of all heights finds
 * them.  Better ones already in *w (num 0: none) stay.  False when stopped; w is valid
 * even then if w->num > 0.
 */
bool tall_worth(const struct model *m, size_t frame, struct budget *budget,
    struct worth *w);

#endif
