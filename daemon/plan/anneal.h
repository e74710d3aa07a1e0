/* SPDX-License-Identifier: MIT */
/*
 * Strips of three stages bettered piece by piece: simulated annealing.  Internal to plan/.
 *
 * All lengths are exact, so that unlike in grid.c nothing is lost where inches and
 * millimetres meet.  Only for problems without the sliver rule.
 */
#ifndef PLAN_ANNEAL_H
#define PLAN_ANNEAL_H

#include "master.h"

/*
 * Pieces of the picks exchanged between their stacks until the strips take less length in
 * all, or no less than `goal`.  What comes out is in *out (empty before), its patterns in
 * the arena, and never longer than before.
 */
void anneal_picks(const struct model *m, size_t frame,
    const struct picks *picks, length goal, uint64_t luck,
    struct budget *budget, struct arena *arena, struct picks *out);

#endif
