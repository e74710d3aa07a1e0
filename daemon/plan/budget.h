/* SPDX-License-Identifier: MIT */
/*
 * How much work may still be done.  Work is counted in steps of a few nanoseconds; the
 * caller's progress callback is asked every BUDGET_ASK of them.  Memory is looked at then
 * too: a search that holds too much ends like one whose time is up.  Internal to plan/.
 */
#ifndef PLAN_BUDGET_H
#define PLAN_BUDGET_H

#include "plan.h"

#define BUDGET_ASK 100000

struct budget {
	const struct plan_job *job;
	const struct totals *best; /* NULL before the first plan */
	const struct bounds *bounds;
	int64_t steps, asked;
	size_t held; /* bytes in the arenas of the search (model->held) */
	bool stopped;
};

/* Spend steps; false: stop, now and from then on. */
bool budget_spend(struct budget *b, int64_t steps);

#endif
