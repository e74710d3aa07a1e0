/* SPDX-License-Identifier: MIT */
/* budget.c - steps and the caller's wish to go on. */
#include "budget.h"

bool budget_spend(struct budget *b, int64_t steps)
{
	b->steps += steps;
	if (b->job->steps > 0 && b->steps >= b->job->steps)
		b->stopped = true;
	if (b->stopped || b->steps - b->asked < BUDGET_ASK)
		return !b->stopped;
	b->asked = b->steps;
	if (b->held > (b->job->memory > 0 ? b->job->memory : PLAN_MEMORY_MOST))
		b->stopped = true;
	if (!b->stopped && b->job->progress != NULL)
		b->stopped = !b->job->progress(
		    b->job->ctx, b->best, b->bounds, b->steps);
	return !b->stopped;
}
