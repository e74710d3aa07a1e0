/* SPDX-License-Identifier: MIT */
/*
 * The inspector: walks over a finished plan and believes nothing.
 *
 * It knows the structs of a problem and of a plan and no function of the planner.  It
 * checks every rule of docs/plan.md (strips span their roll and do not overlap, pieces
 * nest, none touches a spoiled run, no sliver is torn, every asked-for piece is there
 * once or counted as unplaced, stock is not used beyond what there is), recomputes the
 * totals, and refuses bounds above the plan's own values.
 */
#ifndef PLAN_INSPECT_H
#define PLAN_INSPECT_H

#include "plan.h"

bool plan_inspect(const struct problem *problem, const struct plan *plan,
    struct err *err) MUST_USE;

/* The totals as the inspector counts them; the one place that says how tears are counted. */
void plan_count(
    const struct problem *problem, const struct plan *plan, struct totals *out);

#endif
