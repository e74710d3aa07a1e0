/* SPDX-License-Identifier: MIT */
/*
 * Classes and large orders: how much is proven, how fast, and what it saves against
 * first fit (FFDH) and best fit by area alone.
 *
 *     bench_classes [FIRST LAST [SECONDS]]       seeds; CPU seconds for one plan
 *
 * Prints one table: median, nine tenths, worst of time and gap for each family.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clock.h"
#include "draw.h"
#include "fill.h"
#include "inspect.h"

#define PLANS_MOST 1000

struct family {
	const char *name;
	int stages;
	bool mixed;
};

struct sums {
	double seconds[PLANS_MOST], gap[PLANS_MOST];
	int n, rolls_proven, length_proven;
	int64_t rolls, first_rolls, best_rolls;
	length len, first_len, best_len;
};

/* One simple plan, as a pair of scissors would make it. */
static struct totals simple(const struct problem *p, enum fill_row row)
{
	struct plan_job job = {0};
	struct budget budget = {.job = &job};
	struct model *m;
	struct filler f;
	struct draft *d;
	struct totals t;
	struct err err;

	if (!model_new(p, &m, &err))
		return (struct totals){0};
	filler_init(&f, m, &budget);
	filler_set(&f, row, OPEN_TALLEST);
	d = draft_new(m);
	while (fill_bin(&f, d, 0))
		continue;
	draft_count(d);
	t = d->totals;
	draft_delete(d);
	filler_free(&f);
	model_delete(m);
	return t;
}

static void measure(
    uint64_t seed, const struct family *f, double seconds, struct sums *s)
{
	struct problem *p = draw_class(seed, f->stages, f->mixed);
	double begun = cpu(), end = begun + seconds;
	struct plan_job job = {.progress = in_time, .ctx = &end};
	struct totals first = simple(p, FILL_FIRST),
		      best = simple(p, FILL_BEST);
	struct plan *plan;
	struct err err;

	begun = cpu();
	end = begun + seconds;
	if (!plan_make(p, &job, &plan, &err) || !plan_inspect(p, plan, &err)) {
		printf("seed %" PRIu64 ": %s\n", seed, err.text);
		exit(1);
	}
	s->seconds[s->n] = cpu() - begun;
	s->gap[s->n++] =
	    100.0 *
	    (double)(plan->totals.strip_length - plan->bounds.strip_length) /
	    (double)plan->bounds.strip_length;
	s->rolls_proven += plan->proven.fresh_rolls;
	s->length_proven += plan->proven.strip_length;
	s->rolls += plan->totals.fresh_rolls;
	s->len += plan->totals.strip_length;
	s->first_rolls += first.fresh_rolls;
	s->first_len += first.strip_length;
	s->best_rolls += best.fresh_rolls;
	s->best_len += best.strip_length;
	plan_delete(plan);
	problem_delete(p);
}

static int compare(const void *x, const void *y)
{
	double a = *(const double *)x, b = *(const double *)y;

	return (a > b) - (a < b);
}

static double mean(const double *list, int n)
{
	double sum = 0;

	for (int i = 0; i < n; i++)
		sum += list[i];
	return sum / n;
}

static void print(const struct family *f, struct sums *s)
{
	double gap = mean(s->gap, s->n);

	qsort(s->seconds, (size_t)s->n, sizeof(*s->seconds), compare);
	qsort(s->gap, (size_t)s->n, sizeof(*s->gap), compare);
	printf("%-16s %3d plans  rolls proven %3d  length proven %3d  gap %% "
	       "mean %.3f median %.3f worst %.3f\n",
	    f->name, s->n, s->rolls_proven, s->length_proven, gap,
	    s->gap[s->n / 2], s->gap[s->n - 1]);
	printf("%-16s CPU seconds median %.3f, nine tenths %.3f, worst %.3f\n",
	    "", s->seconds[s->n / 2], s->seconds[s->n * 9 / 10],
	    s->seconds[s->n - 1]);
	printf("%-16s against FFDH: rolls %.3f, length %.4f; best fit by area: "
	       "rolls %.3f, length %.4f\n\n",
	    "", (double)s->rolls / (double)s->first_rolls,
	    (double)s->len / (double)s->first_len,
	    (double)s->rolls / (double)s->best_rolls,
	    (double)s->len / (double)s->best_len);
	fflush(stdout);
}

int main(int argc, char **argv)
{
	static const struct family families[] = {
	    {"2 stages, inch", 2, false},
	    {"2 stages, mixed", 2, true},
	    {"3 stages, inch", 3, false},
	    {"3 stages, mixed", 3, true},
	};
	uint64_t first = argc > 2 ? strtoull(argv[1], NULL, 10) : 1;
	uint64_t last = argc > 2 ? strtoull(argv[2], NULL, 10) : 40;
	double seconds = argc > 3 ? atof(argv[3]) : 5;

	for (size_t i = 0; i < sizeof(families) / sizeof(families[0]); i++) {
		struct sums s = {0};

		for (uint64_t seed = first; seed <= last && s.n < PLANS_MOST;
		     seed++)
			measure(seed, &families[i], seconds, &s);
		print(&families[i], &s);
	}
	return 0;
}
