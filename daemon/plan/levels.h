/* SPDX-License-Identifier: MIT */
/*
 * How many strips are at least so high: branch and price on these numbers.  Internal to
 * plan/.
 */
#ifndef PLAN_LEVELS_H
#define PLAN_LEVELS_H

#include "columns.h"
#include "ip.h"
#include "master.h"

struct levels;

/*
 * Strips of frame 0, two stages, no sliver rule; need of each size; step: every height
 * is a multiple of it.  `first`: strips to begin with.
 */
struct levels *levels_new(const struct model *m, const int64_t need[],
    length step, const struct columns *first, struct budget *budget);
void levels_delete(struct levels *l); /* NULL is fine */

/*
 * Strips that cover the need with a sum of heights of at most `target`?  At most `nodes`
 * branches and `work` steps.  *least: no strips that cover the need are lower in all, or
 * they are as low as the answer found, or higher than the target.
 */
enum ip_answer levels_ask(
    struct levels *l, length target, int nodes, int64_t work, length *least);

/* The best answer found since the last levels_ask(): borrowed until the next. */
const struct picks *levels_answer(const struct levels *l);

#endif
