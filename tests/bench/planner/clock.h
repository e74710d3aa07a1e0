/* SPDX-License-Identifier: MIT */
/*
 * Processor time for the benches, and a stop for plans made of it.
 */
#ifndef BENCH_PLANNER_CLOCK_H
#define BENCH_PLANNER_CLOCK_H

#include <time.h>

#include "plan.h"

/* Seconds of processor time so far. */
static inline double cpu(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* A plan_progress_fn: ctx is the double at which to stop. */
static inline bool in_time(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	(void)best;
	(void)bounds;
	(void)steps;
	return cpu() < *(double *)ctx;
}

#endif
