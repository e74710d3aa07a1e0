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
#define CUTS_MOST 120

static void keep_answer(struct tree *t, const int64_t x[], int64_t cost)
{
	memcpy(t->best, x, t->ip->n_columns * sizeof(*x));
	t->limit = cost;
	t->found = true;
}

/* Round x to whole numbers (shifted up by `lift`), mend what lacks, drop what is too many. */
static void try_rounding(struct tree *t, double lift)
{
	const struct ip *ip = t->ip;
	int64_t *x = xcalloc(ip->n_columns, sizeof(*x));
	int64_t *lack = xcalloc(ip->n_rows, sizeof(*lack));
	int64_t cost = 0;
	bool whole = true;

	memcpy(lack, ip->need, ip->n_rows * sizeof(*lack));
	for (size_t j = 0; j < ip->n_columns; j++) {
		x[j] = (int64_t)floor(t->x[j] + lift);
		cost += x[j] * ip->columns[j].cost;
		for (size_t k = 0; k < ip->columns[j].n && x[j] > 0; k++)
			lack[ip->columns[j].entries[k].row] -=
			    x[j] * ip->columns[j].entries[k].count;
	}
	for (size_t j = ip->n_columns;
	     j-- > 0;) { /* dear ones come last in the list */
		const struct ip_column *c = &ip->columns[j];
		bool spare = x[j] > 0;

		while (spare) {
			for (size_t k = 0; k < c->n && spare; k++)
				spare = lack[c->entries[k].row] +
					    c->entries[k].count <=
					0;
			if (!spare)
				break;
			x[j]--;
			cost -= c->cost;
			for (size_t k = 0; k < c->n; k++)
				lack[c->entries[k].row] += c->entries[k].count;
			spare = x[j] > 0;
		}
	}
	for (size_t r = 0; r < ip->n_rows; r++)
		whole = whole && lack[r] <= 0;
	if (whole && cost < t->limit)
		keep_answer(t, x, cost);
	free(lack);
	free(x);
}

static void search(struct tree *t, wide above, int depth);

static void set_bounds(
    struct tree *t, const struct branch *b, int64_t low, int64_t high)
{
	if (b->on_set) {
		relax_bound_set(t, b->i, low, high);
		return;
	}
	t->low[b->i] = low;
	t->high[b->i] = high;
	simplex_bound_column(t->lp, b->i, (double)low, (double)high);
}

static void descend(
    struct tree *t, const struct branch *b, wide bound, int depth)
{
	int64_t low = b->on_set ? t->sets[b->i].low : t->low[b->i];
	int64_t high = b->on_set ? t->sets[b->i].high : t->high[b->i];
	int64_t cut = (int64_t)floor(b->value);

	for (int side = 0; side < 2; side++) {
		if ((side == 0) == b->up_first)
			set_bounds(t, b, cut + 1, high);
		else
			set_bounds(t, b, low, cut);
		search(t, bound, depth + 1);
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
		wide now;

		budget_spend(t->budget, steps);
		if (n == 0 || t->budget->stopped ||
		    t->budget->steps >= t->until)
			return true;
		for (size_t i = 0; i < n; i++)
			relax_add_cut(t, &found[i]);
		if (!relax_solve(t))
			return true;
		now = relax_bound(t);
		if (now > *bound)
			*bound = now;
		if (is_cut(t, *bound))
			return false;
	}
	return true;
}

/* LP, cut, round; true when the branch has to be split further. */
static bool look(struct tree *t, wide *bound, int cut_rounds)
{
	bool solved = relax_solve(t);
	wide here = relax_bound(t);

	if (here > *bound)
		*bound = here;
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
	relax_fix(t, relax_bound(t));
	return true;
}

static bool is_out_of_work(const struct tree *t)
{
	return t->budget->stopped || t->budget->steps >= t->until;
}

static void search(struct tree *t, wide above, int depth)
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
	/* what relax_fix() narrows below here */
	kept = xcalloc(2 * n, sizeof(*kept));
	memcpy(kept, t->low, n * sizeof(*kept));
	memcpy(kept + n, t->high, n * sizeof(*kept));
	if (look(t, &bound, 0)) {
		if (branch_choose(t, bound, &b))
			descend(t, &b, bound, depth);
		else /* whole by the LP, yet no answer */
			leave_open(t, bound);
	}
	for (size_t j = 0; j < n; j++)
		if (t->low[j] != kept[j] || t->high[j] != kept[n + j]) {
			t->low[j] = kept[j];
			t->high[j] = kept[n + j];
			simplex_bound_column(
			    t->lp, j, (double)t->low[j], (double)t->high[j]);
		}
	free(kept);
}

/* The program without the columns that no better answer uses. */
static void search_rest(struct tree *root, wide bound)
{
	const struct ip *ip = root->ip;
	struct ip rest = *ip;
	struct ip_column *columns = xcalloc(ip->n_columns, sizeof(*columns));
	int64_t *group = xcalloc(ip->n_columns, sizeof(*group));
	size_t *from = xcalloc(ip->n_columns, sizeof(*from));
	struct tree t = *root;

	rest.n_columns = 0;
	for (size_t j = 0; j < ip->n_columns; j++) {
		size_t n = rest.n_columns;

		if (root->high[j] == 0)
			continue;
		columns[n] = ip->columns[j];
		columns[n].most = root->high[j];
		group[n] = ip->group == NULL ? 0 : ip->group[j];
		from[n] = j;
		rest.n_columns++;
	}
	rest.columns = columns;
	rest.group = group;
	t.ip = &rest;
	t.best = xcalloc(ip->n_columns, sizeof(*t.best));
	t.found = false;
	relax_init(&t);
	for (size_t i = 0; i < root->n_cuts; i++)
		if (root->cuts[i].y > 0)
			relax_add_cut(&t, &root->cuts[i].cut);
	search(&t, bound, 0);
	if (t.found) {
		memset(root->best, 0, ip->n_columns * sizeof(*root->best));
		for (size_t j = 0; j < rest.n_columns; j++)
			root->best[from[j]] = t.best[j];
		root->found = true;
		root->limit = t.limit;
	}
	root->complete = t.complete;
	root->least = t.least;
	relax_free(&t);
	free(t.best);
	free(from);
	free(group);
	free(columns);
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
	wide bound = 0;

	relax_init(&t);
	if (look(&t, &bound, CUT_ROUNDS))
		search_rest(&t, bound);
	relax_free(&t);
	*cost = t.limit;
	*least = t.least < t.limit ? t.least : t.limit;
	if (t.found)
		return t.complete ? IP_FOUND : IP_BETTER;
	return t.complete ? IP_NONE : IP_OPEN;
}
