/* SPDX-License-Identifier: MIT */
/*
 * Orders of a few pieces of a few sizes, three stages: dynamic programming over
 * everything that can be left of them.  Internal to plan/.
 */
#ifndef PLAN_RESTS_H
#define PLAN_RESTS_H

#include "make.h"

/*
 * All stock fresh and in frame 0, three stages, no sliver rule.  Where the order is small
 * enough for that in about `work` steps, the shortest strips there are go to the maker as
 * a plan, and its bound on the length is raised to them; else nothing happens.  The
 * better the plan at hand, the larger an order may be.
 */
void rests_run(struct maker *mk, int64_t work);

#endif
