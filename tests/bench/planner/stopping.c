/* SPDX-License-Identifier: MIT */
/*
 * How soon the planner stops when it is told to, and what memory it takes.
 *
 *     bench_stopping [SECONDS]
 *
 * For problems of all families: the longest CPU time and the most steps from one question
 * of the progress callback to the next, the longest time from "stop" to the answer, asked
 * to stop at several moments, and the peak of the resident memory.  Every problem runs in
 * a process of its own.  SECONDS (default 5) is when the last run is told to stop.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "clock.h"
#include "draw.h"
#include "inspect.h"

struct watch {
	double stop_at, told; /* CPU time; told 0: not yet */
	double last, longest;
	int64_t last_steps, most_steps;
};

static bool on_progress(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct watch *w = ctx;
	double now = cpu();

	(void)best;
	(void)bounds;
	w->longest = now - w->last > w->longest ? now - w->last : w->longest;
	w->most_steps = steps - w->last_steps > w->most_steps
			    ? steps - w->last_steps
			    : w->most_steps;
	w->last = now;
	w->last_steps = steps;
	if (now < w->stop_at)
		return true;
	w->told = w->told > 0 ? w->told : now;
	return false;
}

struct family {
	const char *name;
	int stages;
	bool mixed;
	size_t sizes; /* 0: a class */
	int64_t pieces;
	uint64_t seeds;
};

static const struct family families[] = {
    {"class, inches", 2, false, 0, 0, 6},
    {"class, mixed", 2, true, 0, 0, 6},
    {"class, inches", 3, false, 0, 0, 6},
    {"class, mixed", 3, true, 0, 0, 6},
    {"30 sizes, 1000 pieces", 2, false, 30, 1000, 2},
    {"30 sizes, 1000 pieces", 3, false, 30, 1000, 2},
    {"100 sizes, 10000 pieces", 2, false, 100, 10000, 1},
    {"100 sizes, 10000 pieces", 3, false, 100, 10000, 1},
    {"300 sizes, 10000 pieces", 2, false, 300, 10000, 1},
    {"300 sizes, 10000 pieces", 3, false, 300, 10000, 1},
    {"1000 sizes, 100000 pieces", 2, false, 1000, 100000, 1},
    {"1000 sizes, 100000 pieces", 3, false, 1000, 100000, 1},
};

static struct problem *draw(const struct family *f, uint64_t seed)
{
	return f->sizes == 0 ? draw_class(seed, f->stages, f->mixed)
			     : draw_large(seed, f->stages, f->sizes, f->pieces);
}

struct worst {
	double gap, after;
	int64_t steps;
};

/* One run that is told to stop after so many CPU seconds. */
static void run(const struct problem *p, double seconds, struct worst *worst)
{
	struct watch w = {.last = cpu()};
	struct plan_job job = {.progress = on_progress, .ctx = &w};
	struct plan *plan = NULL;
	struct err err;
	double end;

	w.stop_at = w.last + seconds;
	if (!plan_make(p, &job, &plan, &err) || !plan_inspect(p, plan, &err)) {
		printf("%s\n", err.text);
		exit(1);
	}
	end = cpu();
	if (w.told > 0 && end - w.told > worst->after)
		worst->after = end - w.told;
	if (w.told == 0 && end - w.last > w.longest)
		w.longest = end - w.last;
	worst->gap = w.longest > worst->gap ? w.longest : worst->gap;
	worst->steps =
	    w.most_steps > worst->steps ? w.most_steps : worst->steps;
	plan_delete(plan);
}

static void measure(const struct family *f, double seconds)
{
	static const double moments[] = {0, 0.05, 0.3, 1};
	struct worst worst = {0};
	struct rusage use;

	for (uint64_t seed = 1; seed <= f->seeds; seed++) {
		struct problem *p = draw(f, seed);

		for (size_t i = 0; i < sizeof(moments) / sizeof(*moments); i++)
			run(p, moments[i], &worst);
		run(p, seconds, &worst);
		problem_delete(p);
	}
	getrusage(RUSAGE_SELF, &use);
	printf("%d %-28s between questions %.3f s, %6.2f million steps; from "
	       "stop to answer %.3f s; %5ld MB\n",
	    f->stages, f->name, worst.gap, (double)worst.steps / 1e6,
	    worst.after, use.ru_maxrss / 1024);
	fflush(stdout);
}

int main(int argc, char **argv)
{
	double seconds = argc > 1 ? atof(argv[1]) : 5;
	int status = 0;

	for (size_t i = 0; i < sizeof(families) / sizeof(*families); i++) {
		pid_t child = fork();
		int is = 0;

		if (child == 0) {
			measure(&families[i], seconds);
			return 0;
		}
		if (child < 0 || waitpid(child, &is, 0) != child || is != 0)
			status = 1;
	}
	return status;
}
