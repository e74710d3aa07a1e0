/* SPDX-License-Identifier: MIT */
/*
 * All published values, run: how many are reproduced, proven, beaten, missed.
 *
 *     bench_published [-o FOLDER] DIR [SECONDS] [SET [NAME]]
 *
 * DIR is tests/data/planner; SECONDS (default 2) is the time for one instance.  Every row
 * that is not proven is printed with what came out and why; the tables stand at the end.
 * With -o every value or bound that is better than the published one is written into the
 * folder, as SET-NAME-VARIANT.problem.json and .plan.json with its certificate .proof.json.
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
	const char *folder; /* NULL: nothing is written */
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

static void write_file(const struct bench *run, const struct published *r,
    const char *what, const struct text *text)
{
	char path[1024];
	FILE *f;

	snprintf(path, sizeof(path), "%s/%s-%s-%s.%s.json", run->folder, r->set,
	    r->name, r->variant, what);
	for (char *c = path + strlen(run->folder); *c != '\0'; c++)
		*c = *c == ' ' ? '-' : *c;
	f = fopen(path, "w");
	if (f == NULL || fwrite(text->data, 1, text->len, f) != text->len ||
	    fclose(f) != 0) {
		perror(path);
		exit(2);
	}
}

/* For whoever does not believe it: the problem, the plan, what shows its bound. */
static void write_plan(const struct bench *run, const struct published *r)
{
	struct text text;

	text_init(&text, 64 << 20);
	problem_write(run->problem, &text);
	write_file(run, r, "problem", &text);
	text_reset(&text);
	plan_write(run->plan, -1, &text);
	write_file(run, r, "plan", &text);
	text_reset(&text);
	plan_proof_write(run->plan, &text);
	write_file(run, r, "proof", &text);
	text_free(&text);
}

static bool is_raised(const struct published *r, const struct plan *plan)
{
	return r->kind == PUBLISHED_LOWER && !r->is_upper &&
	       (r->is_length ? plan->bounds.strip_length
			     : plan->bounds.fresh_rolls) > r->value;
}

static const char *explain(
    const struct published *r, const struct plan *plan, enum verdict v)
{
	bool met = r->is_length
		       ? plan->totals.strip_length == plan->bounds.strip_length
		       : plan->totals.fresh_rolls == plan->bounds.fresh_rolls;

	if (v == VERDICT_WRONG)
		return "one of the two is wrong";
	if (r->is_upper && v != VERDICT_MISSED)
		return v == VERDICT_BEATEN ? "theirs may not trim, ours may"
					   : "as good without trimming";
	if (is_raised(r, plan))
		return met ? "closed: no plan reaches their bound"
			   : "a higher bound than theirs";
	if (v == VERDICT_BEATEN)
		return met ? "new value, proven" : "new value, not proven";
	if (v == VERDICT_MATCHED)
		return "their value, the bound here is lower";
	if (r->kind == PUBLISHED_LOWER)
		return "their bound, no plan here meets it";
	return plan->totals.fresh_rolls != plan->bounds.fresh_rolls &&
		       r->is_length
		   ? "more rolls, so another length"
		   : "not found in this time; the bound allows it";
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
	if (run->folder != NULL && !r->is_upper &&
	    (v == VERDICT_BEATEN || is_raised(r, run->plan)))
		write_plan(run, r);
	if (v != VERDICT_PROVEN || is_raised(r, run->plan))
		printf("%-8s %-12s %-18s %-26s published %" PRId64
		       " (%s), plan %" PRId64 ", bound %" PRId64
		       ", %.2f s: %s\n",
		    verdict_names[v], r->set, r->name, r->variant, r->value,
		    kinds[r->kind],
		    r->is_length ? run->plan->totals.strip_length
				 : run->plan->totals.fresh_rolls,
		    r->is_length ? run->plan->bounds.strip_length
				 : run->plan->bounds.fresh_rolls,
		    run->took, explain(r, run->plan, v));
	fflush(stdout);
}

int main(int argc, char **argv)
{
	struct bench run = {.seconds = 2};
	int wrong = 0;

	if (argc > 2 && strcmp(argv[1], "-o") == 0) {
		run.folder = argv[2];
		argv += 2;
		argc -= 2;
	}
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
