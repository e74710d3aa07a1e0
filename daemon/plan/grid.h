/* SPDX-License-Identifier: MIT */
/*
 * One good strip of three stages out of what is still needed, found by dynamic programs
 * over a grid of cells.  Internal to plan/.
 *
 * Widths and heights are counted in cells of the greatest common divisor of the ways',
 * or in larger ones, rounded up, where that would be too many.  Only for problems without
 * the sliver rule.
 */
#ifndef PLAN_GRID_H
#define PLAN_GRID_H

#include "pattern.h"

struct grid;

struct grid *grid_new(const struct model *m, size_t frame);
void grid_delete(struct grid *g); /* NULL is fine */

length grid_tallest(const struct grid *g); /* no strip is higher */

/*
 * The strip, no higher than `room`, whose pieces are dearest for its height, each size at
 * most need[i] times; `luck` stirs the choice among good heights, 0 does not.  With
 * `exact` only the height `room` itself is tried (the strip may still come out lower).
 * NULL: nothing fits.  Prices are not negative and mean something only beside each other.
 */
struct pattern *grid_strip(struct grid *g, const int64_t need[],
    const int64_t price[], length room, bool exact, uint64_t luck,
    struct arena *arena);

int64_t grid_steps(struct grid *g); /* work done since the last call */

#endif
