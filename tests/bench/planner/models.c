/* SPDX-License-Identifier: MIT */
/*
 * The planner beside a general solver: CBC, in processes of its own, on two published
 * models of the same problem, in the same run.
 *
 *     bench_models [FIRST LAST [SECONDS]]      seeds; CPU seconds for CBC on one model
 *
 * Two stages, nothing turned, one kind of stock, few pieces, so that CBC comes to an end.
 *   level     Lodi, Martello, Vigo (J. Combinatorial Optimization 8, 2004): piece i opens
 *             level i or lies in a level opened before; level k opens roll k or lies in one.
 *   arc-flow  Valerio de Carvalho (Annals of OR 86, 1999), Macedo, Alves, Valerio de Carvalho
 *             (Computers & OR 37, 2010): strips of each height are a flow over the width,
 *             rolls a flow over the length; out-flow may be less than in-flow, so no loss arcs.
 * Goals: fewest rolls, and least strip length on one endless roll.  The planner's time is
 * that of plan_make() until it has proved the goal (asked every 100,000 steps) or given up;
 * CBC's is the CPU time of its process, reading included.
 */
#include <inttypes.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "clock.h"
#include "draw.h"
#include "inspect.h"

#define PIECES_MOST 64
#define CASES_MOST 1000

extern char **environ;

struct cells { /* pieces one by one, by falling height, in common units */
	int64_t width, length;
	int64_t w[PIECES_MOST], h[PIECES_MOST];
	int n;
	int64_t unit_h;
};

static int64_t gcd(int64_t a, int64_t b)
{
	return b == 0 ? a : gcd(b, a % b);
}

static void load(const struct problem *p, struct cells *c)
{
	int64_t unit_w = 0;

	*c = (struct cells){0};
	for (size_t i = 0; i < p->n_pieces; i++) {
		unit_w = gcd(p->pieces[i].across, unit_w);
		c->unit_h = gcd(p->pieces[i].along, c->unit_h);
		for (int64_t k = 0; k < p->pieces[i].count; k++) {
			int at = c->n++;

			for (; at > 0 && c->h[at - 1] < p->pieces[i].along;
			     at--) {
				c->w[at] = c->w[at - 1];
				c->h[at] = c->h[at - 1];
			}
			c->w[at] = p->pieces[i].across;
			c->h[at] = p->pieces[i].along;
		}
	}
	for (int i = 0; i < c->n; i++) {
		c->w[i] /= unit_w;
		c->h[i] /= c->unit_h;
	}
	c->width = p->stock[0].width / unit_w;
	c->length = p->stock[0].length / c->unit_h;
}

/* --- the models, as LP files ---------------------------------------------------------- */

static void write_level(const struct cells *c, bool endless, FILE *f)
{
	int n = c->n;

	fprintf(f, "Minimize\n obj:");
	for (int i = 0; i < n; i++)
		fprintf(f,
		    endless ? " + %" PRId64 " y%d" : " + %" PRId64 " q%d",
		    endless ? c->h[i] : 1, i);
	fprintf(f, "\nSubject To\n");
	for (int j = 0; j < n; j++) {
		fprintf(f, " once%d: y%d", j, j);
		for (int i = 0; i < j; i++)
			fprintf(f, " + x%d_%d", i, j);
		fprintf(f, " = 1\n");
	}
	for (int i = 0; i < n - 1; i++) {
		fprintf(f, " row%d:", i);
		for (int j = i + 1; j < n; j++)
			fprintf(f, " + %" PRId64 " x%d_%d", c->w[j], i, j);
		fprintf(f, " - %" PRId64 " y%d <= 0\n", c->width - c->w[i], i);
	}
	for (int i = 0; i < n && !endless; i++) {
		fprintf(f, " lies%d: q%d", i, i);
		for (int k = 0; k < i; k++)
			fprintf(f, " + z%d_%d", k, i);
		fprintf(f, " - y%d = 0\n", i);
	}
	for (int k = 0; k < n - 1 && !endless; k++) {
		fprintf(f, " roll%d:", k);
		for (int i = k + 1; i < n; i++)
			fprintf(f, " + %" PRId64 " z%d_%d", c->h[i], k, i);
		fprintf(f, " - %" PRId64 " q%d <= 0\n", c->length - c->h[k], k);
	}
	fprintf(f, "Binaries\n");
	for (int i = 0; i < n; i++) {
		fprintf(f, endless ? " y%d\n" : " y%d q%d\n", i, i);
		for (int j = i + 1; j < n; j++)
			fprintf(f, endless ? " x%d_%d\n" : " x%d_%d z%d_%d\n",
			    i, j, i, j);
	}
	fprintf(f, "End\n");
}

struct kinds { /* different sizes, and different heights */
	int64_t w[PIECES_MOST], h[PIECES_MOST], demand[PIECES_MOST];
	int n;
	int64_t heights[PIECES_MOST];
	int n_heights;
};

static void count_kinds(const struct cells *c, struct kinds *k)
{
	*k = (struct kinds){0};
	for (int i = 0; i < c->n; i++) {
		int at = 0;

		while (
		    at < k->n && (k->w[at] != c->w[i] || k->h[at] != c->h[i]))
			at++;
		k->w[at] = c->w[i];
		k->h[at] = c->h[i];
		k->demand[at]++;
		k->n += at == k->n;
		if (k->n_heights == 0 ||
		    k->heights[k->n_heights - 1] != c->h[i])
			k->heights[k->n_heights++] = c->h[i];
	}
}

/* Sums of sizes up to cap, of the pieces no higher than `most`, each piece once. */
static bool *reach(
    const struct cells *c, const int64_t *size, int64_t most, int64_t cap)
{
	bool *can = calloc((size_t)cap + 1, 1);

	can[0] = true;
	for (int i = 0; i < c->n; i++)
		for (int64_t x = cap; x >= size[i] && c->h[i] <= most; x--)
			can[x] = can[x] || can[x - size[i]];
	return can;
}

/* Flow of strips of height g: x_g_i_at, a piece of kind i laid at `at`. */
static void write_width_flow(const struct cells *c, const struct kinds *k,
    int g, const bool *can, FILE *f)
{
	fprintf(f, " begin%d: s%d", g, g);
	for (int i = 0; i < k->n; i++)
		if (k->h[i] <= k->heights[g])
			fprintf(f, " - x%d_%d_0", g, i);
	fprintf(f, " >= 0\n");
	for (int64_t at = 1; at < c->width; at++) {
		bool any = false;

		for (int i = 0; i < k->n && can[at]; i++)
			if (k->h[i] <= k->heights[g] && at >= k->w[i] &&
			    can[at - k->w[i]]) {
				if (!any)
					fprintf(f, " f%d_%" PRId64 ":", g, at);
				fprintf(f, " + x%d_%d_%" PRId64, g, i,
				    at - k->w[i]);
				any = true;
			}
		for (int i = 0; i < k->n && any; i++)
			if (k->h[i] <= k->heights[g] &&
			    at + k->w[i] <= c->width)
				fprintf(f, " - x%d_%d_%" PRId64, g, i, at);
		if (any)
			fprintf(f, " >= 0\n");
	}
}

/* Flow of rolls: r_g_at, a strip of height g at `at`. */
static void write_length_flow(
    const struct cells *c, const struct kinds *k, const bool *can, FILE *f)
{
	fprintf(f, " rolls: z");
	for (int g = 0; g < k->n_heights; g++)
		fprintf(f, " - r%d_0", g);
	fprintf(f, " >= 0\n");
	for (int64_t at = 1; at < c->length; at++) {
		bool any = false;

		for (int g = 0; g < k->n_heights && can[at]; g++)
			if (at >= k->heights[g] && can[at - k->heights[g]]) {
				if (!any)
					fprintf(f, " l%" PRId64 ":", at);
				fprintf(f, " + r%d_%" PRId64, g,
				    at - k->heights[g]);
				any = true;
			}
		for (int g = 0; g < k->n_heights && any; g++)
			if (at + k->heights[g] <= c->length)
				fprintf(f, " - r%d_%" PRId64, g, at);
		if (any)
			fprintf(f, " >= 0\n");
	}
	for (int g = 0; g < k->n_heights; g++) {
		fprintf(f, " made%d:", g);
		for (int64_t at = 0; at + k->heights[g] <= c->length; at++)
			if (can[at])
				fprintf(f, " + r%d_%" PRId64, g, at);
		fprintf(f, " - s%d >= 0\n", g);
	}
}

static void write_needs(
    const struct cells *c, const struct kinds *k, bool *const *wide_at, FILE *f)
{
	for (int i = 0; i < k->n; i++) {
		fprintf(f, " need%d:", i);
		for (int g = 0; g < k->n_heights; g++)
			for (int64_t at = 0; at + k->w[i] <= c->width; at++)
				if (k->h[i] <= k->heights[g] && wide_at[g][at])
					fprintf(
					    f, " + x%d_%d_%" PRId64, g, i, at);
		fprintf(f, " >= %" PRId64 "\n", k->demand[i]);
	}
}

static void write_generals(const struct cells *c, const struct kinds *k,
    bool *const *wide_at, const bool *high, bool endless, FILE *f)
{
	fprintf(f, "Generals\n%s", endless ? "" : " z\n");
	for (int g = 0; g < k->n_heights; g++) {
		fprintf(f, " s%d\n", g);
		for (int64_t at = 0;
		     !endless && at + k->heights[g] <= c->length; at++)
			if (high[at])
				fprintf(f, " r%d_%" PRId64 "\n", g, at);
		for (int i = 0; i < k->n; i++)
			for (int64_t at = 0; at + k->w[i] <= c->width; at++)
				if (k->h[i] <= k->heights[g] && wide_at[g][at])
					fprintf(f, " x%d_%d_%" PRId64 "\n", g,
					    i, at);
	}
	fprintf(f, "End\n");
}

static void write_flow(const struct cells *c, bool endless, FILE *f)
{
	struct kinds k;
	bool *wide_at[PIECES_MOST], *high = NULL;

	count_kinds(c, &k);
	for (int g = 0; g < k.n_heights; g++)
		wide_at[g] = reach(c, c->w, k.heights[g], c->width);
	if (!endless)
		high = reach(c, c->h, INT64_MAX, c->length);
	fprintf(f, "Minimize\n obj:");
	for (int g = 0; g < k.n_heights && endless; g++)
		fprintf(f, " + %" PRId64 " s%d", k.heights[g], g);
	fprintf(f, "%s\nSubject To\n", endless ? "" : " z");
	for (int g = 0; g < k.n_heights; g++)
		write_width_flow(c, &k, g, wide_at[g], f);
	if (!endless)
		write_length_flow(c, &k, high, f);
	write_needs(c, &k, wide_at, f);
	write_generals(c, &k, wide_at, high, endless, f);
	for (int g = 0; g < k.n_heights; g++)
		free(wide_at[g]);
	free(high);
}

/* --- CBC ------------------------------------------------------------------------------ */

struct answer {
	double seconds;
	int64_t value; /* -1: no plan */
	bool proven;
};

static void run_cbc(const char *folder, double seconds, struct answer *a)
{
	char model[512], out[512], limit[32], line[256];
	char *argv[] = {
	    "cbc", model, "-sec", limit, "-solve", "-solu", out, NULL};
	posix_spawn_file_actions_t quiet;
	struct rusage before, after;
	double value;
	pid_t pid;
	FILE *f;

	snprintf(model, sizeof(model), "%s/model.lp", folder);
	snprintf(out, sizeof(out), "%s/out", folder);
	snprintf(limit, sizeof(limit), "%g", seconds);
	unlink(out);
	posix_spawn_file_actions_init(&quiet);
	posix_spawn_file_actions_addopen(&quiet, 1, "/dev/null", 1, 0);
	getrusage(RUSAGE_CHILDREN, &before);
	*a = (struct answer){.value = -1};
	if (posix_spawnp(&pid, "cbc", &quiet, NULL, argv, environ) != 0) {
		fprintf(stderr, "bench_models: cbc cannot be started\n");
		exit(2);
	}
	posix_spawn_file_actions_destroy(&quiet);
	waitpid(pid, NULL, 0);
	getrusage(RUSAGE_CHILDREN, &after);
	a->seconds =
	    (double)(after.ru_utime.tv_sec - before.ru_utime.tv_sec) +
	    (double)(after.ru_utime.tv_usec - before.ru_utime.tv_usec) * 1e-6;
	f = fopen(out, "r");
	if (f != NULL && fgets(line, sizeof(line), f) != NULL) {
		const char *at = strstr(line, "objective value");

		if (at != NULL &&
		    sscanf(at, "objective value %lf", &value) == 1)
			a->value = (int64_t)(value + 0.5);
		a->proven = strncmp(line, "Optimal", 7) == 0;
	}
	if (f != NULL)
		fclose(f);
}

/* --- cases ---------------------------------------------------------------------------- */

static struct problem *draw_few(uint64_t seed, bool endless)
{
	struct problem *p = draw_class(seed, 2, false);
	struct dice d = {seed};
	int64_t left = dice_between(&d, 20, 50);
	size_t n = 0;

	for (size_t i = 0; i < p->n_pieces && left > 0; i++) {
		p->pieces[i].turn = false;
		if (p->pieces[i].count > 4)
			p->pieces[i].count = dice_between(&d, 1, 4);
		if (p->pieces[i].count > left)
			p->pieces[i].count = left;
		left -= p->pieces[i].count;
		n = i + 1;
	}
	p->n_pieces = n;
	p->stock[0].length = endless ? 100 * YARD : 2 * YARD;
	return p;
}

struct watch {
	double begun, end, proven; /* when the goal was, 0: not yet */
	bool endless;
};

static bool watch(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct watch *w = ctx;

	(void)steps;
	if (w->proven == 0 && best != NULL && bounds != NULL &&
	    best->fresh_rolls == bounds->fresh_rolls &&
	    (!w->endless || best->strip_length == bounds->strip_length))
		w->proven = cpu();
	return cpu() < w->end;
}

static void run_ours(
    const struct problem *p, bool endless, double seconds, struct answer *a)
{
	struct watch w = {
	    .begun = cpu(), .end = cpu() + seconds, .endless = endless};
	struct plan_job job = {.progress = watch, .ctx = &w};
	struct plan *plan = NULL;
	struct err err;

	if (!plan_make(p, &job, &plan, &err)) {
		fprintf(stderr, "bench_models: %s\n", err.text);
		exit(1);
	}
	a->seconds = (w.proven > 0 ? w.proven : cpu()) - w.begun;
	if (!plan_inspect(p, plan, &err)) {
		fprintf(stderr, "bench_models: %s\n", err.text);
		exit(1);
	}
	a->value =
	    endless ? plan->totals.strip_length : plan->totals.fresh_rolls;
	a->proven =
	    endless ? plan->proven.strip_length : plan->proven.fresh_rolls;
	plan_delete(plan);
}

struct tally {
	const char *name;
	double ratio[CASES_MOST];
	int n, proven, ended, better, worse;
	double ours[CASES_MOST], theirs[CASES_MOST];
};

static int compare(const void *x, const void *y)
{
	double a = *(const double *)x, b = *(const double *)y;

	return (a > b) - (a < b);
}

static void print(struct tally *t)
{
	size_t n = (size_t)t->n;

	if (t->n == 0)
		return;
	qsort(t->ratio, n, sizeof(double), compare);
	qsort(t->ours, n, sizeof(double), compare);
	qsort(t->theirs, n, sizeof(double), compare);
	printf("%-22s %3d cases  proven: planner %3d, CBC %3d  planner better "
	       "%d, worse %d\n",
	    t->name, t->n, t->proven, t->ended, t->better, t->worse);
	printf("%-22s CPU s median: planner %.4f, CBC %.3f; worst %.3f, %.3f; "
	       "CBC / planner: median %.0f, least %.1f\n",
	    "", t->ours[n / 2], t->theirs[n / 2], t->ours[n - 1],
	    t->theirs[n - 1], t->ratio[n / 2], t->ratio[0]);
}

/* A case that CBC did not finish counts with the time it was given: at least so much. */
static void count(
    struct tally *t, const struct answer *ours, const struct answer *theirs)
{
	t->ours[t->n] = ours->seconds;
	t->theirs[t->n] = theirs->seconds;
	t->ratio[t->n++] = theirs->seconds / ours->seconds;
	t->proven += ours->proven;
	t->ended += theirs->proven;
	t->better += theirs->value < 0 || ours->value < theirs->value;
	t->worse += theirs->value >= 0 && ours->value > theirs->value;
}

static void compare_case(uint64_t seed, bool endless, const char *folder,
    double seconds, struct tally *level, struct tally *flow)
{
	struct problem *p = draw_few(seed, endless);
	struct answer ours, theirs;
	struct cells c;

	load(p, &c);
	run_ours(p, endless, seconds, &ours);
	ours.value /= endless ? c.unit_h : 1;
	for (int model = 0; model < 2; model++) {
		char path[512];
		FILE *f;

		snprintf(path, sizeof(path), "%s/model.lp", folder);
		f = fopen(path, "w");
		if (f == NULL)
			exit(2);
		if (model == 0)
			write_level(&c, endless, f);
		else
			write_flow(&c, endless, f);
		fclose(f);
		run_cbc(folder, seconds, &theirs);
		count(model == 0 ? level : flow, &ours, &theirs);
		if (theirs.value >= 0 && (ours.value > theirs.value ||
					     (ours.proven && theirs.proven &&
						 ours.value != theirs.value)))
			printf("seed %" PRIu64 " %s: planner %" PRId64
			       ", CBC %" PRId64 "\n",
			    seed, model == 0 ? "level" : "arc-flow", ours.value,
			    theirs.value);
	}
	problem_delete(p);
}

int main(int argc, char **argv)
{
	static struct tally tallies[4] = {{.name = "rolls, level"},
	    {.name = "rolls, arc-flow"}, {.name = "length, level"},
	    {.name = "length, arc-flow"}};
	uint64_t first = argc > 2 ? strtoull(argv[1], NULL, 10) : 1;
	uint64_t last = argc > 2 ? strtoull(argv[2], NULL, 10) : 20;
	double seconds = argc > 3 ? atof(argv[3]) : 20;
	char folder[] = "/tmp/bench_models.XXXXXX", path[64];

	if (mkdtemp(folder) == NULL)
		return 2;
	for (uint64_t seed = first; seed <= last && seed < first + CASES_MOST;
	     seed++) {
		compare_case(
		    seed, false, folder, seconds, &tallies[0], &tallies[1]);
		compare_case(
		    seed, true, folder, seconds, &tallies[2], &tallies[3]);
	}
	for (int i = 0; i < 4; i++)
		print(&tallies[i]);
	snprintf(path, sizeof(path), "%s/model.lp", folder);
	unlink(path);
	snprintf(path, sizeof(path), "%s/out", folder);
	unlink(path);
	rmdir(folder);
	return 0;
}
