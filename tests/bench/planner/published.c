/* SPDX-License-Identifier: MIT */
/*
 * All published values, run: how many are reproduced, proven, beaten, missed.
 *
 *     bench_published DIR [SECONDS] [SET [NAME]]
 *
 * DIR is tests/data/planner; SECONDS (default 2) is the time for one instance.  Every row
 * that is not proven is printed with what came out; the tables stand at the end.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "inspect.h"
#include "published.h"

struct bench {
	const char *dir, *set, *name;
	double seconds;
	/* the instance planned last, and its plan */
	struct published last;
	struct problem *problem;
	struct plan *plan;
	double took, total, worst;
	int n_plans;
	/* counts by variant */
	char variants[16][48];
	int counts[16][5];
	size_t n_variants;
};

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static bool in_time(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	(void)best;
	(void)bounds;
	(void)steps;
	return now() < *(double *)ctx;
}

static bool same_run(const struct published *a, const struct published *b)
{
	return strcmp(a->set, b->set) == 0 && strcmp(a->name, b->name) == 0 &&
	       a->turn == b->turn && a->stages == b->stages &&
	       a->is_endless == b->is_endless;
}

static void plan_row(struct bench *run, const struct published *r)
{
	double start = now(), end = start + run->seconds;
	struct plan_job job = {.progress = in_time, .ctx = &end};
	struct err err;

	plan_delete(run->plan);
	problem_delete(run->problem);
	run->plan = NULL;
	run->last = *r;
	run->problem = r->is_endless ? published_endless(
					   run->dir, r->set, r->name, r->turn)
				     : published_problem(run->dir, r->set,
					   r->name, r->stages, r->turn);
	if (run->problem == NULL ||
	    !plan_make(run->problem, &job, &run->plan, &err)) {
		printf("%s %s %s: no plan\n", r->set, r->name, r->variant);
		return;
	}
	run->took = now() - start;
	run->total += run->took;
	run->worst = run->took > run->worst ? run->took : run->worst;
	run->n_plans++;
	if (!plan_inspect(run->problem, run->plan, &err))
		printf("%s %s %s: the inspector says: %s\n", r->set, r->name,
		    r->variant, err.text);
}

static void count(struct bench *run, const struct published *r, enum verdict v)
{
	size_t i = 0;

	while (i < run->n_variants && strcmp(run->variants[i], r->variant) != 0)
		i++;
	if (i == run->n_variants && i < 16)
		snprintf(run->variants[run->n_variants++],
		    sizeof(run->variants[0]), "%s", r->variant);
	if (i < 16)
		run->counts[i][v]++;
}

static void on_row(void *ctx, const struct published *r)
{
	static const char *const kinds[] = {
	    "best known", "proven", "lower bound"};
	struct bench *run = ctx;
	enum verdict v;

	if ((run->set != NULL && strcmp(run->set, r->set) != 0) ||
	    (run->name != NULL && strcmp(run->name, r->name) != 0))
		return;
	if (run->plan == NULL || !same_run(&run->last, r))
		plan_row(run, r);
	if (run->plan == NULL)
		return;
	v = published_judge(r, run->plan);
	count(run, r, v);
	if (v != VERDICT_PROVEN)
		printf("%-8s %-12s %-18s %-26s published %" PRId64
		       " (%s), plan %" PRId64 ", bound %" PRId64 ", %.2f s\n",
		    verdict_names[v], r->set, r->name, r->variant, r->value,
		    kinds[r->kind],
		    r->is_length ? run->plan->totals.strip_length
				 : run->plan->totals.fresh_rolls,
		    r->is_length ? run->plan->bounds.strip_length
				 : run->plan->bounds.fresh_rolls,
		    run->took);
	fflush(stdout);
}

int main(int argc, char **argv)
{
	struct bench run = {.seconds = 2};
	int wrong = 0;

	if (argc < 2) {
		fprintf(
		    stderr, "bench_published: say where the instances are\n");
		return 2;
	}
	run.dir = argv[1];
	if (argc > 2)
		run.seconds = atof(argv[2]);
	if (argc > 3)
		run.set = argv[3];
	if (argc > 4)
		run.name = argv[4];
	published_each(run.dir, on_row, &run);
	printf("\n%-28s %8s %8s %8s %8s %8s\n", "variant", verdict_names[0],
	    verdict_names[1], verdict_names[2], verdict_names[3],
	    verdict_names[4]);
	for (size_t i = 0; i < run.n_variants; i++) {
		printf("%-28s", run.variants[i]);
		for (int v = 0; v < 5; v++)
			printf(" %8d", run.counts[i][v]);
		printf("\n");
		wrong += run.counts[i][VERDICT_WRONG];
	}
	printf("%d plans, %.1f s in all, %.2f s the longest\n", run.n_plans,
	    run.total, run.worst);
	plan_delete(run.plan);
	problem_delete(run.problem);
	return wrong > 0;
}
