/* SPDX-License-Identifier: MIT */
/*
 * The dearest strip of every height under given prices: where new patterns and the
 * proofs about them come from.  Internal to plan/.
 */
#ifndef PLAN_STRIPS_H
#define PLAN_STRIPS_H

#include "pattern.h"

struct strips;

/*
 * Strips for one frame.  relaxed: without the sliver rule, for bounds.  In two stages the
 * heights are those of the ways (and, under the sliver rule, a clean tear higher); in
 * three stages sums of them as well, as many as are worth trying.
 */
struct strips *strips_new(const struct model *m, size_t frame, bool relaxed);
void strips_delete(struct strips *s); /* NULL is fine */

size_t strips_n_heights(const struct strips *s);
length strips_height(const struct strips *s, size_t k); /* rising */

/* Price of each size (>= 0), and how many of it one strip may hold at most. */
void strips_set(struct strips *s, const int64_t price[], const int64_t most[]);

/*
 * The dearest strip of height k that is dearer than floor, else floor.  *bound is never
 * below the dearest, if relaxed.
 */
int64_t strips_best(struct strips *s, size_t k, int64_t floor, int64_t *bound);
/*
 * The same among strips that hold a piece as high as the strip (two stages, no sliver
 * rule): any other strip may stand lower.  *any: the bound without that, which holds for
 * lower strips too.
 */
int64_t strips_best_proper(
    struct strips *s, size_t k, int64_t floor, int64_t *bound, int64_t *any);
/* The strip found last; NULL when none was dearer than the floor. */
struct pattern *strips_pattern(const struct strips *s, struct arena *arena);

/*
 * After strips_set() and all strips_best(): was every strip covered, so that the bounds
 * hold for all heights?  Always in two stages; in three only for relaxed ones with few
 * heights.
 */
bool strips_complete(const struct strips *s);

int64_t strips_steps(struct strips *s); /* work done since the last call */

#endif
