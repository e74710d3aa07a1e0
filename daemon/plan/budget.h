/* SPDX-License-Identifier: MIT */
/*
 * How much work may still be done.  Work is counted in steps of a few nanoseconds; the
 * caller's progress callback is asked every BUDGET_ASK of them.  Internal to plan/.
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
	bool stopped;
};

/* Spend steps; false: stop, now and from then on. */
bool budget_spend(struct budget *b, int64_t steps);

#endif
