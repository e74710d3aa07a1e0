/* SPDX-License-Identifier: MIT */
/*
 * What every owner's pieces by themselves would take: a whole plan of each, beside the plan
 * of all.
 *
 * Alone means bought by the same rules: fresh stock and what there is without end, nothing
 * from the shelf.  An owner whose pieces do not fit such stock is left out.
 *
 * The plan of all is never worse than the plans of the owners side by side: where those
 * together are better (the plan of all was cut off early), *plan becomes their union.
 *
 * Pure; steps is the work for all owners together, so the same call gives the same.  A
 * progress callback that says stop leaves the owners out that were not planned yet.
 */
#ifndef PLAN_ALONE_H
#define PLAN_ALONE_H

#include "plan.h"

/* Fills (*plan)->alone; *plan may be another one afterwards. */
void plan_add_alone(const struct problem *problem, const struct plan_job *job,
    struct plan **plan);

/* Both nobody, or the same word. */
bool plan_same_owner(const char *a, const char *b);

/* The area of what a plan uses, and of the roll-ends of at least problem->keep. */
void plan_areas(const struct problem *problem, const struct plan *plan,
    area *bought, area *kept);

#endif
