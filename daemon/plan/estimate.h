/* SPDX-License-Identifier: MIT */
/*
 * What a member wants to know before the closing time, by planning again:
 *
 *   without   the plan of all without one entry of pieces: what that entry adds, and whether
 *             it tips a new roll
 *   hints     the plan of all with one entry a little smaller in one direction, where one
 *             more then fits beside the others, and that proves to take less paper
 *
 * Pure; steps is the work for everything together.  A progress callback that says stop
 * leaves out what was not planned yet.
 */
#ifndef PLAN_ESTIMATE_H
#define PLAN_ESTIMATE_H

#include "plan.h"

/* Fills plan->without and plan->hints. */
void plan_add_estimate(const struct problem *problem,
    const struct plan_job *job, struct plan *plan);

#endif
