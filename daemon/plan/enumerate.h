/* SPDX-License-Identifier: MIT */
/*
 * Every strip that can stand in a plan better than the best one known.  Internal to
 * plan/.
 */
#ifndef PLAN_ENUMERATE_H
#define PLAN_ENUMERATE_H

#include "columns.h"
#include "budget.h"

/*
 * Add to `out` all strips of the frame (two stages, no sliver rule) with one of these n
 * heights (rising) that cannot take another piece, hold no size more often than most[],
 * and are worth at least the floor of their height.  False when there are more than max
 * of them or the budget ran out; some are in `out` then.
 */
bool enumerate_above(const struct model *m, size_t frame, const int64_t price[],
    const int64_t most[], const length heights[], const int64_t floors[],
    size_t n, size_t max, struct columns *out, struct budget *budget);

/*
 * The same for strips of every height that lack at most `slack` of the price that their
 * height asks for: height * scale - sum of prices <= slack.
 */
bool enumerate_strips(const struct model *m, size_t frame,
    const int64_t price[], const int64_t most[], int64_t scale, int64_t slack,
    size_t max, struct columns *out, struct budget *budget);

#endif
