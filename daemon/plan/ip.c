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
#define CUTS_MOST 80
#define SIFTED 1000 /* columns the LP of a long list begins with */
#define DIVE_NODES 60
#define SIFT_ROUNDS 12

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

/* A program of some columns of another. */
struct part {
	struct ip ip;
	struct ip_column *columns;
	int64_t *group;
	size_t *from; /* for each of its columns, its place in the other */
};

/* Those columns whose high[] is not 0, and no more of each than that. */
static void part_init(struct part *p, const struct ip *ip, const int64_t high[])
{
	*p = (struct part){.ip = *ip};
	p->columns = xcalloc(ip->n_columns + 1, sizeof(*p->columns));
	p->group = xcalloc(ip->n_columns + 1, sizeof(*p->group));
	p->from = xcalloc(ip->n_columns + 1, sizeof(*p->from));
	p->ip.n_columns = 0;
	for (size_t j = 0; j < ip->n_columns; j++) {
		size_t n = p->ip.n_columns;

		if (high[j] == 0)
			continue;
		p->columns[n] = ip->columns[j];
		p->columns[n].most = high[j];
		p->group[n] = ip->group == NULL ? 0 : ip->group[j];
		p->from[n] = j;
		p->ip.n_columns++;
	}
	p->ip.columns = p->columns;
	p->ip.group = p->group;
	p->ip.slack = NULL;
}

static void part_free(struct part *p)
{
	free(p->columns);
	free(p->group);
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

/* Single columns upwards, for an answer soon; what is left open here is searched later. */
static void dive(struct tree *t, wide bound)
{
	int nodes = t->nodes;

	if (!t->ip->cuts || nodes < 2 * DIVE_NODES)
		return;
	t->diving = true;
	t->nodes = DIVE_NODES;
	search(t, bound, 0);
	t->diving = false;
	t->nodes = nodes - DIVE_NODES;
	t->complete = true;
	t->least = INT64_MAX;
}

/* The program without the columns that no better answer uses. */
static void search_rest(struct tree *whole, const int64_t high[],
    const struct cut cuts[], size_t n_cuts, wide bound)
{
	struct part p;
	struct tree t;

	part_init(&p, whole->ip, high);
	open_part(&t, whole, &p, cuts, n_cuts);
	dive(&t, bound);
	if (!is_cut(&t, bound))
		search(&t, bound, 0);
	take_over(whole, &t, &p);
	whole->complete = whole->complete && t.complete;
	whole->least = t.least < whole->least ? t.least : whole->least;
	close_part(&t);
	part_free(&p);
}

static int compare_slack(const void *x, const void *y)
{
	int64_t a = *(const int64_t *)x, b = *(const int64_t *)y;

	return (a > b) - (a < b);
}

/* At first the LP knows the columns of least slack. */
static void choose_first(const struct ip *ip, int64_t high[])
{
	int64_t *slack = xcalloc(ip->n_columns, sizeof(*slack)), most;

	memcpy(slack, ip->slack, ip->n_columns * sizeof(*slack));
	qsort(slack, ip->n_columns, sizeof(*slack), compare_slack);
	most = slack[SIFTED - 1];
	for (size_t j = 0; j < ip->n_columns; j++)
		high[j] = ip->slack[j] <= most ? ip->columns[j].most : 0;
	free(slack);
}

/* The reduced costs of all columns at the prices of a part; the bound for all of them. */
static wide price_whole(
    const struct tree *whole, const struct tree *t, int64_t rc[])
{
	const struct ip *ip = whole->ip;
	wide bound = 0;

	for (size_t r = 0; r < ip->n_rows; r++)
		bound += (wide)t->y[r] * ip->need[r];
	for (size_t i = 0; i < t->n_cuts; i++)
		bound += (wide)t->cuts[i].y * t->cuts[i].cut.need;
	for (size_t j = 0; j < ip->n_columns; j++) {
		const struct ip_column *c = &ip->columns[j];

		rc[j] = c->cost * t->scale;
		for (size_t k = 0; k < c->n; k++)
			rc[j] -= t->y[c->entries[k].row] * c->entries[k].count;
		for (size_t i = 0; i < t->n_cuts; i++)
			if (t->cuts[i].y != 0)
				rc[j] -= t->cuts[i].y *
					 cut_count(&t->cuts[i].cut, c);
		if (rc[j] < 0)
			bound += (wide)rc[j] * c->most;
	}
	budget_spend(t->budget, (int64_t)(ip->n_columns * (5 + t->n_cuts * 5)));
	return bound;
}

/* Columns that are worth their cost come in; returns how many. */
static size_t let_in(const struct ip *ip, const int64_t rc[], int64_t high[])
{
	size_t n = 0;

	for (size_t j = 0; j < ip->n_columns; j++)
		if (rc[j] < 0 && high[j] == 0) {
			high[j] = ip->columns[j].most;
			n++;
		}
	return n;
}

/* Columns that a better answer has no room for go. */
static void keep_possible(
    const struct tree *whole, const int64_t rc[], wide bound, int64_t high[])
{
	wide gap = (wide)tree_target(whole) * whole->scale - bound;

	for (size_t j = 0; j < whole->ip->n_columns; j++) {
		high[j] = whole->ip->columns[j].most;
		if (rc[j] > 0 && (wide)rc[j] * high[j] > gap)
			high[j] = (int64_t)(gap / rc[j]);
	}
}

/*
 * The root of a long list: LP and cuts over the columns of least slack, the others priced
 * and let in where they are wanted.
 */
static void sift(struct tree *whole)
{
	const struct ip *ip = whole->ip;
	int64_t *high = xcalloc(ip->n_columns, sizeof(*high));
	int64_t *rc = xcalloc(ip->n_columns, sizeof(*rc));
	struct cut cuts[CUTS_MOST + CUTS_IN_ROUND];
	size_t n_cuts = 0, came = 1;
	wide best = 0;

	choose_first(ip, high);
	for (int round = 0; round < SIFT_ROUNDS && came > 0; round++) {
		struct part p;
		struct tree t;
		wide bound = 0;

		part_init(&p, ip, high);
		open_part(&t, whole, &p, cuts, n_cuts);
		came = 0;
		look(&t, &bound, round == 0 ? CUT_ROUNDS : 2);
		take_over(whole, &t, &p);
		relax_solve(&t);
		relax_bound(&t);
		bound = price_whole(whole, &t, rc);
		whole->scale = t.scale;
		if (bound > best)
			best = bound;
		n_cuts = useful_cuts(&t, cuts);
		if (!is_cut(whole, bound) && !is_out_of_work(whole))
			came = let_in(ip, rc, high);
		if (came == 0 && !is_cut(whole, bound))
			keep_possible(whole, rc, bound, high);
		close_part(&t);
		part_free(&p);
	}
	if (is_out_of_work(whole) || came > 0)
		leave_open(whole, best);
	else if (!is_cut(whole, best))
		search_rest(whole, high, cuts, n_cuts, best);
	free(rc);
	free(high);
}

/* The root of a short list, all columns at once. */
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

	if (ip->slack != NULL && ip->n_columns > 2 * SIFTED)
		sift(&t);
	else
		solve_root(&t);
	*cost = t.limit;
	*least = t.least < t.limit ? t.least : t.limit;
	if (t.found)
		return t.complete ? IP_FOUND : IP_BETTER;
	return t.complete ? IP_NONE : IP_OPEN;
}
