/* SPDX-License-Identifier: MIT */
/*
 * All instances of tests/data/planner, with published values or without: what is proven
 * of them, set by set.
 *
 *     bench_instances DIR [SECONDS [STAGES [SET]]]
 *
 * DIR is tests/data/planner; SECONDS (default 1) of CPU time for one instance; STAGES 2 or
 * 3 (default 2).  Every instance whose rolls are not proven is printed.
 */
#include <dirent.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clock.h"
#include "inspect.h"
#include "proof.h"
#include "published.h"

struct tally {
	int n, rolls_proven, length_proven, proofs;
	double gap, worst_gap, seconds, longest;
};

static int64_t pieces_of(const struct problem *p)
{
	int64_t n = 0;

	for (size_t i = 0; i < p->n_pieces; i++)
		n += p->pieces[i].count;
	return n;
}

/* Does the certificate hold, in the tables of the tests?  Wrong ones end the run. */
static bool check_proof(
    const struct problem *p, const struct plan *plan, const char *name)
{
	const char *why;
	enum proof_verdict v = proof_of_plan(p, plan, &why);

	if (v == PROOF_BAD) {
		printf("%s: the certificate is wrong: %s\n", name, why);
		exit(1);
	}
	return v == PROOF_GOOD;
}

static void measure(const struct problem *p, const char *set, const char *name,
    double seconds, struct tally *t)
{
	double begun = cpu(), end = begun + seconds, took, gap;
	struct plan_job job = {.progress = in_time, .ctx = &end};
	struct plan *plan = NULL;
	struct err err;

	if (pieces_of(p) > PROBLEM_PIECES_MAX ||
	    !plan_make(p, &job, &plan, &err)) {
		printf("%s %s: no plan\n", set, name);
		return;
	}
	took = cpu() - begun;
	if (!plan_inspect(p, plan, &err)) {
		printf("%s %s: %s\n", set, name, err.text);
		exit(1);
	}
	gap = plan->bounds.strip_length > 0
		  ? 100.0 *
			(double)(plan->totals.strip_length -
				 plan->bounds.strip_length) /
			(double)plan->bounds.strip_length
		  : 0;
	t->n++;
	t->rolls_proven += plan->proven.fresh_rolls;
	t->length_proven += plan->proven.strip_length;
	t->proofs += check_proof(p, plan, name);
	t->gap += gap;
	t->worst_gap = gap > t->worst_gap ? gap : t->worst_gap;
	t->seconds += took;
	t->longest = took > t->longest ? took : t->longest;
	if (!plan->proven.fresh_rolls)
		printf("open  %-8s %-16s rolls %" PRId64 ", bound %" PRId64
		       ", %.2f s\n",
		    set, name, plan->totals.fresh_rolls,
		    plan->bounds.fresh_rolls, took);
	plan_delete(plan);
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
	return strcmp((*a)->d_name, (*b)->d_name);
}

static int is_shown(const struct dirent *e)
{
	return e->d_name[0] != '.';
}

static void run_set(const char *dir, const char *part, const char *set,
    double seconds, int stages)
{
	struct dirent **list;
	struct tally t = {0};
	char path[1024];
	int n;

	snprintf(path, sizeof(path), "%s/%s/%s", dir, part, set);
	n = scandir(path, &list, is_shown, by_name);
	for (int i = 0; i < n; i++) {
		char *dot = strrchr(list[i]->d_name, '.');
		struct problem *p;

		if (dot != NULL)
			*dot = '\0';
		p = published_problem(dir, set, list[i]->d_name, stages, false);
		if (p != NULL)
			measure(p, set, list[i]->d_name, seconds, &t);
		problem_delete(p);
		free(list[i]);
	}
	if (n >= 0)
		free(list);
	if (t.n > 0)
		printf(
		    "%-10s %4d plans  rolls proven %4d (checked %4d)  length "
		    "proven %4d  gap %% mean %.3f worst %.3f  CPU s mean "
		    "%.3f longest %.2f\n",
		    set, t.n, t.rolls_proven, t.proofs, t.length_proven,
		    t.gap / t.n, t.worst_gap, t.seconds / t.n, t.longest);
	fflush(stdout);
}

int main(int argc, char **argv)
{
	static const char *const parts[] = {"instances", "instances-multi"};
	double seconds = argc > 2 ? atof(argv[2]) : 1;
	int stages = argc > 3 ? atoi(argv[3]) : 2;

	if (argc < 2) {
		fprintf(
		    stderr, "bench_instances: say where the instances are\n");
		return 2;
	}
	for (size_t i = 0; i < 2; i++) {
		struct dirent **list;
		char path[512];
		int n;

		snprintf(path, sizeof(path), "%s/%s", argv[1], parts[i]);
		n = scandir(path, &list, is_shown, by_name);
		for (int k = 0; k < n; k++) {
			if (argc < 5 || strcmp(argv[4], list[k]->d_name) == 0)
				run_set(argv[1], parts[i], list[k]->d_name,
				    seconds, stages);
			free(list[k]);
		}
		if (n >= 0)
			free(list);
	}
	return 0;
}
