/* SPDX-License-Identifier: MIT */
/*
 * ip.c - branch and bound with safe cuts.
 *
 * Depth first, rounding up first, since good answers lie there.  Branches are made on sums of
 * columns while one of them is not whole (for strips: how many are at least so high), then
 * on single columns.  Each row has a way out at a high cost, so that an LP is never
 * infeasible and every branch is cut the same way:
 *
 *     for any whole y (>= 0 on covering rows) the cost of every answer in the branch,
 *     times SCALE, is at least  sum y * bound of its row + sum over columns of the least
 *     of reduced cost * x within its bounds
 *
 * with everything on the right in whole numbers (Neumaier and Shcherbina 2004 for the
 * idea).  The floating y only has to be good; it need not be right.
 */
#include "ip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "lp.h"

#define SCALE ((int64_t)1 << 24)
#define WHOLE 1e-6
#define FREE_LOW (-(INT64_C(1) << 40)) /* a sum without bounds */
#define FREE_HIGH (INT64_C(1) << 40)

struct tree {
	const struct ip *ip;
	struct budget *budget;
	struct lp *lp;
	int64_t *low, *high;         /* of each column, in the branch in hand */
	int64_t *sum_low, *sum_high; /* of each sum */
	int64_t *y;                  /* rows, then sums */
	int64_t *y_from; /* for each sum: y of this one and all before it */
	int64_t limit;
	int64_t *best;
	bool found;
	int nodes;
	bool complete;  /* nothing was left out */
	size_t *sum_of; /* for each column, how many sums contain it */
	double *x;
};

static void build_lp(struct tree *t)
{
	const struct ip *ip = t->ip;
	double way_out = 2.0 * (double)t->limit + 2;
	int *rows = xcalloc(ip->n_rows + ip->n_firsts, sizeof(*rows));
	double *values = xcalloc(ip->n_rows + ip->n_firsts, sizeof(*values));

	t->lp = lp_new();
	for (size_t r = 0; r < ip->n_rows; r++)
		lp_add_row(t->lp, (double)ip->need[r], LP_INFINITY);
	for (size_t s = 0; s < ip->n_firsts; s++)
		lp_add_row(t->lp, -LP_INFINITY, LP_INFINITY);
	for (size_t j = 0; j < ip->n_columns; j++) {
		const struct ip_column *c = &ip->columns[j];
		size_t n = 0;

		for (size_t k = 0; k < c->n; k++) {
			rows[n] = (int)c->entries[k].row;
			values[n++] = (double)c->entries[k].count;
		}
		for (size_t s = 0; s < t->sum_of[j]; s++) {
			rows[n] = (int)(ip->n_rows + s);
			values[n++] = 1;
		}
		lp_add_column(t->lp, (double)c->cost, 0, (double)c->most, n,
		    rows, values);
	}
	for (size_t r = 0; r < ip->n_rows + ip->n_firsts; r++)
		for (int sign = 1; sign >= (r < ip->n_rows ? 1 : -1);
		     sign -= 2) {
			rows[0] = (int)r;
			values[0] = sign;
			lp_add_column(
			    t->lp, way_out, 0, LP_INFINITY, 1, rows, values);
		}
	free(rows);
	free(values);
}

/* Whole multipliers from the LP, on the safe side where their sign matters. */
static void read_y(struct tree *t)
{
	const double *dual = lp_prices(t->lp);
	const struct ip *ip = t->ip;
	double top = 2.0 * (double)t->limit + 2;

	for (size_t r = 0; r < ip->n_rows + ip->n_firsts; r++) {
		double y = dual[r];

		y = y > top ? top : y < -top ? -top : y;
		t->y[r] = (int64_t)floor(y * (double)SCALE);
		if (r < ip->n_rows && t->y[r] < 0)
			t->y[r] = 0;
		if (r >=
		    ip->n_rows) { /* no bound on that side: no multiplier */
			size_t s = r - ip->n_rows;

			if ((t->y[r] > 0 && t->sum_low[s] == FREE_LOW) ||
			    (t->y[r] < 0 && t->sum_high[s] == FREE_HIGH))
				t->y[r] = 0;
		}
	}
	for (size_t s = 0; s < ip->n_firsts; s++)
		t->y_from[s + 1] = t->y_from[s] + t->y[ip->n_rows + s];
}

static int64_t reduced_cost(const struct tree *t, size_t j)
{
	const struct ip_column *c = &t->ip->columns[j];
	int64_t rc = c->cost * SCALE - t->y_from[t->sum_of[j]];

	for (size_t k = 0; k < c->n; k++)
		rc -= t->y[c->entries[k].row] * c->entries[k].count;
	return rc;
}

/* Below this times SCALE no answer of the branch lies. */
static wide safe_bound(const struct tree *t)
{
	const struct ip *ip = t->ip;
	wide bound = 0;

	for (size_t r = 0; r < ip->n_rows; r++)
		bound += (wide)t->y[r] * ip->need[r];
	for (size_t s = 0; s < ip->n_firsts; s++) {
		int64_t y = t->y[ip->n_rows + s];

		if (y != 0)
			bound +=
			    (wide)y * (y > 0 ? t->sum_low[s] : t->sum_high[s]);
	}
	for (size_t j = 0; j < ip->n_columns; j++) {
		int64_t rc = reduced_cost(t, j);

		bound += (wide)rc * (rc > 0 ? t->low[j] : t->high[j]);
	}
	return bound;
}

/* Costs that would be an improvement are at most this. */
static int64_t target(const struct tree *t)
{
	return (t->limit - 1) / t->ip->divisor * t->ip->divisor;
}

/* Columns that can go up or down no further without passing the target; undone by hand. */
static void fix_columns(struct tree *t, wide bound)
{
	wide gap = (wide)target(t) * SCALE - bound;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		int64_t rc = reduced_cost(t, j);

		if (rc > 0 && (wide)rc * (t->high[j] - t->low[j]) > gap)
			t->high[j] = t->low[j] + (int64_t)(gap / rc);
		else if (rc < 0 && (wide)-rc * (t->high[j] - t->low[j]) > gap)
			t->low[j] = t->high[j] - (int64_t)(gap / -rc);
		else
			continue;
		lp_bound_column(
		    t->lp, j, (double)t->low[j], (double)t->high[j]);
	}
}

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

/* How far from whole, 0..0.5; -1 when it is. */
static double brokenness(double v)
{
	double f = v - floor(v);

	if (f < WHOLE || f > 1 - WHOLE)
		return -1;
	return f < 0.5 ? f : 1 - f;
}

struct branch {
	bool on_sum;
	size_t i;
	double value;
};

static bool choose_branch(const struct tree *t, struct branch *b)
{
	const struct ip *ip = t->ip;
	double *sums = xcalloc(ip->n_firsts + 1, sizeof(*sums));
	double best = -1;

	for (size_t j = 0; j < ip->n_columns; j++)
		if (t->sum_of[j] > 0 && t->x[j] > 0)
			sums[t->sum_of[j] - 1] += t->x[j];
	for (size_t s = ip->n_firsts; s-- > 1;)
		sums[s - 1] += sums[s];
	for (size_t s = 0; s < ip->n_firsts; s++)
		if (brokenness(sums[s]) > best + WHOLE) {
			best = brokenness(sums[s]);
			*b = (struct branch){true, s, sums[s]};
		}
	free(sums);
	if (best >= 0)
		return true;
	for (size_t j = 0; j < ip->n_columns; j++) {
		double f = t->x[j] - floor(t->x[j]);

		if (brokenness(t->x[j]) >= 0 && f > best + WHOLE) {
			best = f;
			*b = (struct branch){false, j, t->x[j]};
		}
	}
	return best >= 0;
}

static void search(struct tree *t);

static void set_bounds(
    struct tree *t, const struct branch *b, int64_t low, int64_t high)
{
	if (b->on_sum) {
		t->sum_low[b->i] = low;
		t->sum_high[b->i] = high;
		lp_bound_row(t->lp, t->ip->n_rows + b->i,
		    low == FREE_LOW ? -LP_INFINITY : (double)low,
		    high == FREE_HIGH ? LP_INFINITY : (double)high);
		return;
	}
	t->low[b->i] = low;
	t->high[b->i] = high;
	lp_bound_column(t->lp, b->i, (double)low, (double)high);
}

static void descend(struct tree *t, const struct branch *b)
{
	int64_t low = b->on_sum ? t->sum_low[b->i] : t->low[b->i];
	int64_t high = b->on_sum ? t->sum_high[b->i] : t->high[b->i];
	int64_t cut = (int64_t)floor(b->value);
	bool up_first = !b->on_sum || b->value - floor(b->value) > 0.5;

	for (int side = 0; side < 2; side++) {
		if ((side == 0) == up_first)
			set_bounds(t, b, cut + 1, high);
		else
			set_bounds(t, b, low, cut);
		search(t);
	}
	set_bounds(t, b, low, high);
}

/* The LP of the branch, to its end if the budget allows. */
static bool solve_lp(struct tree *t)
{
	enum lp_end end;

	do {
		int64_t steps = (int64_t)t->ip->n_columns * 4;

		end = lp_solve(t->lp, true, lp_patience(t->lp), &steps);
		budget_spend(t->budget, steps);
	} while (end == LP_MORE && !t->budget->stopped);
	return end == LP_DONE;
}

/* LP, cut, round; true when the branch has to be split further. */
static bool look(struct tree *t)
{
	bool solved = solve_lp(t);
	wide bound;

	read_y(t);
	bound = safe_bound(t);
	if (bound > (wide)target(t) * SCALE)
		return false;
	if (!solved || t->budget->stopped) {
		t->complete = false;
		return false;
	}
	memcpy(t->x, lp_columns(t->lp), t->ip->n_columns * sizeof(*t->x));
	try_rounding(t, WHOLE);
	try_rounding(t, 0.5);
	try_rounding(t, 1 - 10 * WHOLE);
	if (bound > (wide)target(t) * SCALE)
		return false;
	fix_columns(t, bound);
	return true;
}

static void search(struct tree *t)
{
	size_t n = t->ip->n_columns;
	int64_t *kept;
	struct branch b = {0};

	if (t->nodes-- <= 0 || t->budget->stopped) {
		t->complete = false;
		return;
	}
	kept = xcalloc(
	    2 * n, sizeof(*kept)); /* what fix_columns() narrows below here */
	memcpy(kept, t->low, n * sizeof(*kept));
	memcpy(kept + n, t->high, n * sizeof(*kept));
	if (look(t)) {
		if (choose_branch(t, &b))
			descend(t, &b);
		else
			t->complete =
			    false; /* whole by the LP, yet no answer: leave it open */
	}
	for (size_t j = 0; j < n; j++)
		if (t->low[j] != kept[j] || t->high[j] != kept[n + j]) {
			t->low[j] = kept[j];
			t->high[j] = kept[n + j];
			lp_bound_column(
			    t->lp, j, (double)t->low[j], (double)t->high[j]);
		}
	free(kept);
}

static void start(struct tree *t, const struct ip *ip)
{
	t->low = xcalloc(ip->n_columns, sizeof(*t->low));
	t->high = xcalloc(ip->n_columns, sizeof(*t->high));
	t->x = xcalloc(ip->n_columns, sizeof(*t->x));
	t->sum_of = xcalloc(ip->n_columns, sizeof(*t->sum_of));
	t->sum_low = xcalloc(ip->n_firsts, sizeof(*t->sum_low));
	t->sum_high = xcalloc(ip->n_firsts, sizeof(*t->sum_high));
	t->y = xcalloc(ip->n_rows + ip->n_firsts, sizeof(*t->y));
	t->y_from = xcalloc(ip->n_firsts + 1, sizeof(*t->y_from));
	for (size_t j = 0; j < ip->n_columns; j++) {
		t->high[j] = ip->columns[j].most;
		while (t->sum_of[j] < ip->n_firsts &&
		       ip->firsts[t->sum_of[j]] <= ip->group[j])
			t->sum_of[j]++;
	}
	for (size_t s = 0; s < ip->n_firsts; s++) {
		t->sum_low[s] = FREE_LOW;
		t->sum_high[s] = FREE_HIGH;
	}
	build_lp(t);
}

static void finish(struct tree *t)
{
	lp_delete(t->lp);
	free(t->low);
	free(t->high);
	free(t->x);
	free(t->sum_of);
	free(t->sum_low);
	free(t->sum_high);
	free(t->y);
	free(t->y_from);
}

enum ip_answer ip_solve(const struct ip *ip, int64_t limit, int nodes,
    struct budget *budget, int64_t x[], int64_t *cost)
{
	struct tree t = {.ip = ip,
	    .budget = budget,
	    .limit = limit,
	    .nodes = nodes,
	    .best = x};

	t.complete = true;
	start(&t, ip);
	search(&t);
	finish(&t);
	*cost = t.limit;
	if (t.found)
		return t.complete ? IP_FOUND : IP_BETTER;
	return t.complete ? IP_NONE : IP_OPEN;
}
