/* SPDX-License-Identifier: MIT */
/*
 * The same problem in the largest unit that measures all of its lengths.
 *
 * So problems that differ in scale alone are one problem to the planner, and its tables
 * are as short as they can be.  Internal to plan/.
 */
#ifndef PLAN_SCALE_H
#define PLAN_SCALE_H

#include "plan.h"

/* The greatest common divisor of all lengths of a checked problem. */
length scale_of(const struct problem *problem);
/* A copy with every length divided by `unit`; names are borrowed. */
struct problem *scale_down(const struct problem *problem, length unit);
/* A plan of that copy becomes one of the problem. */
void scale_up(struct plan *plan, length unit);

#endif
