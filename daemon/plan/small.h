/* SPDX-License-Identifier: MIT */
/*
 * Small orders of three stages, exactly.  Internal to plan/.
 */
#ifndef PLAN_SMALL_H
#define PLAN_SMALL_H

#include "make.h"

/*
 * All stock in frame 0 and fresh, no sliver rule, everything placed.  If few sets of
 * pieces can be left: the least length there is becomes the bound, and the plan that has
 * it is offered.
 */
void make_small(struct maker *mk);

#endif
