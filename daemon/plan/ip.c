/* SPDX-License-Identifier: MIT */
/*
 * ip.c - branch and bound with safe cuts.
 *
 * Depth first, the likelier side first, since good answers lie there.  At the root rows
 * are added that the LP breaks (cuts.c); a branch is split on a sum of columns while one
 * is not whole (ip_branch.c), and cut by what its LP proves in whole numbers
 * (ip_relax.c).
 */
#include "ip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "ip_own.h"

#define CUT_ROUNDS 12
#define CUTS_IN_ROUND 15
#define CUTS_MOST 40

static void keep_answer(struct tree *t, const int64_t x[], int64_t cost)
{
	memcpy(t->best, x, t->ip->n_columns * sizeof(*x));
	t->limit = cost;
	t->found = true;
}

/* One of the column less, if it is not missed; how many could go. */
static int64_t spare_of(
    const struct ip_column *c, int64_t x, const int64_t lack[])
{
	for (size_t k = 0; k < c->n; k++) {
		int64_t over = -lack[c->entries[k].row] / c->entries[k].count;

		x = over < x ? over : x;
	}
	return x > 0 ? x : 0;
}

/* Round x to whole numbers, shifted up by `lift`, and drop what is too many. */
static void try_rounding(struct tree *t, double lift)
{
	const struct ip *ip = t->ip;
	int64_t *x = xcalloc(ip->n_columns + 1, sizeof(*x));
	int64_t *lack = xcalloc(ip->n_rows + 1, sizeof(*lack)), cost = 0;
	bool whole = true;

	memcpy(lack, ip->need, ip->n_rows * sizeof(*lack));
	for (size_t p = 0; p < t->n_lp_columns; p++) {
		size_t j = t->of_lp[p];
		const struct ip_column *c = &ip->columns[j];

		x[j] = (int64_t)floor(t->x[j] + lift);
		cost += x[j] * c->cost;
		for (size_t k = 0; k < c->n && x[j] > 0; k++)
			lack[c->entries[k].row] -= x[j] * c->entries[k].count;
	}
	for (size_t r = 0; r < ip->n_rows; r++)
		whole = whole && lack[r] <= 0;
	for (size_t p = t->n_lp_columns; p-- > 0 && whole;) {
		size_t j = t->of_lp[p];
		const struct ip_column *c = &ip->columns[j];
		int64_t spare = spare_of(c, x[j], lack);

		x[j] -= spare;
		cost -= spare * c->cost;
		for (size_t k = 0; k < c->n && spare > 0; k++)
			lack[c->entries[k].row] += spare * c->entries[k].count;
	}
	if (whole && cost < t->limit)
		keep_answer(t, x, cost);
	free(lack);
	free(x);
}

static void search(struct tree *t, wide above);

static void set_bounds(
    struct tree *t, const struct branch *b, int64_t low, int64_t high)
{
	if (b->on_set) {
		relax_bound_set(t, b->i, low, high);
		return;
	}
	relax_bound_column(t, b->i, low, high);
}

static void descend(struct tree *t, const struct branch *b, wide bound)
{
	int64_t low = b->on_set ? t->sets[b->i].low : t->low[b->i];
	int64_t high = b->on_set ? t->sets[b->i].high : t->high[b->i];
	int64_t cut = (int64_t)floor(b->value);

	for (int side = 0; side < 2; side++) {
		if ((side == 0) == b->up_first)
			set_bounds(t, b, cut + 1, high);
		else
			set_bounds(t, b, low, cut);
		search(t, bound);
	}
	set_bounds(t, b, low, high);
}

/* A branch is left open: no answer in it costs less than its bound. */
static void leave_open(struct tree *t, wide bound)
{
	int64_t cost =
	    bound <= 0 ? 0 : (int64_t)((bound + t->scale - 1) / t->scale);

	cost = (cost + t->ip->divisor - 1) / t->ip->divisor * t->ip->divisor;
	t->complete = false;
	if (cost < t->least)
		t->least = cost;
}

static bool is_cut(const struct tree *t, wide bound)
{
	return bound > (wide)tree_target(t) * t->scale;
}

/* Rows that the LP breaks, again and again; false: the branch is cut, or stopped. */
static bool add_cuts(struct tree *t, wide *bound, int rounds)
{
	struct cut found[CUTS_IN_ROUND];

	for (int round = 0; round < rounds && t->n_cuts < CUTS_MOST; round++) {
		int64_t steps = 0;
		size_t n = cuts_find(t->ip, t->x, found, CUTS_IN_ROUND, &steps);

		budget_spend(t->budget, steps);
		if (n == 0 || t->budget->stopped ||
		    t->budget->steps >= t->until)
			return true;
		for (size_t i = 0; i < n; i++)
			relax_add_cut(t, &found[i]);
		if (!relax_solve(t, bound))
			return !is_cut(t, *bound);
		if (is_cut(t, *bound))
			return false;
	}
	return true;
}

/* LP, cut, round; true when the branch has to be split further. */
static bool look(struct tree *t, wide *bound, int cut_rounds)
{
	bool solved = relax_solve(t, bound);

	if (is_cut(t, *bound))
		return false;
	if (!solved || t->budget->stopped) {
		leave_open(t, *bound);
		return false;
	}
	if (t->ip->cuts && !add_cuts(t, bound, cut_rounds))
		return false;
	try_rounding(t, WHOLE);
	try_rounding(t, 0.5);
	try_rounding(t, 1 - 10 * WHOLE);
	if (is_cut(t, *bound))
		return false;
	relax_fix(t);
	return true;
}

static bool is_out_of_work(const struct tree *t)
{
	return t->budget->stopped || t->budget->steps >= t->until;
}

static void search(struct tree *t, wide above)
{
	size_t n = t->ip->n_columns;
	int64_t *kept;
	struct branch b = {0};
	wide bound = above;

	if (is_cut(t, above))
		return; /* a better answer was found meanwhile */
	if (t->nodes-- <= 0 || is_out_of_work(t)) {
		leave_open(t, above);
		return;
	}
	budget_spend(t->budget, (int64_t)n);
	/* what relax_fix() narrows below here */
	kept = xcalloc(2 * n, sizeof(*kept));
	memcpy(kept, t->low, n * sizeof(*kept));
	memcpy(kept + n, t->high, n * sizeof(*kept));
	if (look(t, &bound, 0)) {
		if (branch_choose(t, &b))
			descend(t, &b, bound);
		else /* whole by the LP, yet no answer */
			leave_open(t, bound);
	}
	for (size_t j = 0; j < n; j++)
		if (t->low[j] != kept[j] || t->high[j] != kept[n + j])
			relax_bound_column(t, j, kept[j], kept[n + j]);
	free(kept);
}

/* A program of some columns of another. */
struct part {
	struct ip ip;
	struct ip_column *columns;
	int64_t *group, *slack;
	size_t *from; /* for each of its columns, its place in the other */
};

/* Those columns whose high[] is not 0, and no more of each than that. */
static void part_init(struct part *p, const struct ip *ip, const int64_t high[],
    const int64_t rc[])
{
	*p = (struct part){.ip = *ip};
	p->columns = xcalloc(ip->n_columns + 1, sizeof(*p->columns));
	p->group = xcalloc(ip->n_columns + 1, sizeof(*p->group));
	p->slack = xcalloc(ip->n_columns + 1, sizeof(*p->slack));
	p->from = xcalloc(ip->n_columns + 1, sizeof(*p->from));
	p->ip.n_columns = 0;
	for (size_t j = 0; j < ip->n_columns; j++) {
		size_t n = p->ip.n_columns;

		if (high[j] == 0)
			continue;
		p->columns[n] = ip->columns[j];
		p->columns[n].most = high[j];
		p->group[n] = ip->group == NULL ? 0 : ip->group[j];
		p->slack[n] = rc[j];
		p->from[n] = j;
		p->ip.n_columns++;
	}
	p->ip.columns = p->columns;
	p->ip.group = p->group;
	p->ip.slack = p->slack;
}

static void part_free(struct part *p)
{
	free(p->columns);
	free(p->group);
	free(p->slack);
	free(p->from);
}

/* What is found in a part is found in the whole. */
static void take_over(
    struct tree *whole, const struct tree *t, const struct part *p)
{
	if (!t->found)
		return;
	memset(whole->best, 0, whole->ip->n_columns * sizeof(*whole->best));
	for (size_t j = 0; j < p->ip.n_columns; j++)
		whole->best[p->from[j]] = t->best[j];
	whole->found = true;
	whole->limit = t->limit;
}

/* A tree over a part, with the cuts that say something so far. */
static void open_part(struct tree *t, const struct tree *whole,
    const struct part *p, const struct cut cuts[], size_t n_cuts)
{
	*t = *whole;
	t->ip = &p->ip;
	t->best = xcalloc(p->ip.n_columns + 1, sizeof(*t->best));
	t->found = false;
	relax_init(t);
	for (size_t i = 0; i < n_cuts; i++)
		relax_add_cut(t, &cuts[i]);
}

static void close_part(struct tree *t)
{
	relax_free(t);
	free(t->best);
}

static size_t useful_cuts(const struct tree *t, struct cut cuts[])
{
	size_t n = 0;

	for (size_t i = 0; i < t->n_cuts; i++)
		if (t->cuts[i].y > 0)
			cuts[n++] = t->cuts[i].cut;
	return n;
}

/* The program without the columns that no better answer uses. */
static void search_rest(struct tree *whole, const int64_t high[],
    const struct cut cuts[], size_t n_cuts, wide bound)
{
	struct part p;
	struct tree t;

	part_init(&p, whole->ip, high, whole->rc);
	open_part(&t, whole, &p, cuts, n_cuts);
	search(&t, bound);
	take_over(whole, &t, &p);
	whole->complete = whole->complete && t.complete;
	whole->least = t.least < whole->least ? t.least : whole->least;
	close_part(&t);
	part_free(&p);
}

static void solve_root(struct tree *whole)
{
	struct cut cuts[CUTS_MOST + CUTS_IN_ROUND];
	wide bound = 0;

	relax_init(whole);
	if (look(whole, &bound, CUT_ROUNDS)) {
		size_t n_cuts = useful_cuts(whole, cuts);

		search_rest(whole, whole->high, cuts, n_cuts, bound);
	}
	relax_free(whole);
}

enum ip_answer ip_solve(const struct ip *ip, int64_t limit, int nodes,
    struct budget *budget, int64_t x[], int64_t *cost, int64_t *least)
{
	struct tree t = {.ip = ip,
	    .budget = budget,
	    .limit = limit,
	    .least = INT64_MAX,
	    .nodes = nodes,
	    .until = ip->work == 0 ? INT64_MAX : budget->steps + ip->work,
	    .complete = true,
	    .best = x};

	solve_root(&t);
	*cost = t.limit;
	*least = t.least < t.limit ? t.least : t.limit;
	if (t.found)
		return t.complete ? IP_FOUND : IP_BETTER;
	return t.complete ? IP_NONE : IP_OPEN;
}
