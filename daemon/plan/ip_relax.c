/* SPDX-License-Identifier: MIT */
/*
 * ip_relax.c - the linear program of a branch, and what it proves.
 *
 * An LP without an answer has prices of any worth, so every branch is cut the same way:
 *
 *     for any whole y (>= 0 on covering rows and cuts) the cost of every answer in the
 *     branch, times scale, is at least  sum y * bound of its row + sum over columns of
 *     the least of reduced cost * x within its bounds
 *
 * with everything on the right in whole numbers (Neumaier and Shcherbina 2004 for the
 * idea).  The floating y only has to be good; it need not be right.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "ip_own.h"

#define SCALE_MOST ((int64_t)1 << 24)
#define PIVOTS_MOST 3000
#define PIVOTS_TRIED 15
#define Y_MOST ((int64_t)1 << 46) /* y * count stays far below 2^63 */

/* No multiplier is larger. */
static double y_most(const struct tree *t)
{
	return 2.0 * (double)t->limit + 2;
}

void relax_init(struct tree *t)
{
	const struct ip *ip = t->ip;
	struct simplex_entry *entries =
	    xcalloc(ip->n_rows + 1, sizeof(*entries));

	t->sets = NULL;
	t->cuts = NULL;
	t->n_sets = t->cap_sets = t->n_cuts = t->cap_cuts = 0;
	t->scale = SCALE_MOST;
	while (t->scale > 1 && (double)t->scale * y_most(t) > (double)Y_MOST)
		t->scale /= 2;
	t->low = xcalloc(ip->n_columns, sizeof(*t->low));
	t->high = xcalloc(ip->n_columns, sizeof(*t->high));
	t->rc = xcalloc(ip->n_columns, sizeof(*t->rc));
	t->x = xcalloc(ip->n_columns, sizeof(*t->x));
	t->y = xcalloc(ip->n_rows, sizeof(*t->y));
	t->lp = simplex_new();
	for (size_t r = 0; r < ip->n_rows; r++)
		simplex_add_row(
		    t->lp, (double)ip->need[r], SIMPLEX_NO_BOUND, NULL, 0);
	for (size_t j = 0; j < ip->n_columns; j++) {
		const struct ip_column *c = &ip->columns[j];

		t->high[j] = c->most;
		for (size_t k = 0; k < c->n; k++)
			entries[k] = (struct simplex_entry){
			    c->entries[k].row, (double)c->entries[k].count};
		simplex_add_column(
		    t->lp, (double)c->cost, 0, (double)c->most, entries, c->n);
	}
	t->n_lp_rows = ip->n_rows;
	free(entries);
}

void relax_free(struct tree *t)
{
	simplex_delete(t->lp);
	for (size_t i = 0; i < t->n_sets; i++)
		free(t->sets[i].in);
	for (size_t i = 0; i < t->n_cuts; i++)
		free(t->cuts[i].count);
	free(t->sets);
	free(t->cuts);
	free(t->low);
	free(t->high);
	free(t->rc);
	free(t->x);
	free(t->y);
}

void relax_add_cut(struct tree *t, const struct cut *cut)
{
	size_t n = t->ip->n_columns, used = 0;
	struct simplex_entry *entries = xcalloc(n + 1, sizeof(*entries));
	struct cut_row row = {.cut = *cut, .lp_row = t->n_lp_rows++};

	row.count = xcalloc(n, sizeof(*row.count));
	for (size_t j = 0; j < n; j++) {
		row.count[j] = (int32_t)cut_count(cut, &t->ip->columns[j]);
		if (row.count[j] == 0)
			continue;
		entries[used++] = (struct simplex_entry){
		    j, (double)row.count[j] / (double)cut->rest};
	}
	simplex_add_row(t->lp, (double)cut->need / (double)cut->rest,
	    SIMPLEX_NO_BOUND, entries, used);
	if (t->n_cuts == t->cap_cuts) {
		t->cap_cuts = t->cap_cuts == 0 ? 32 : 2 * t->cap_cuts;
		t->cuts = xrealloc(t->cuts, t->cap_cuts, sizeof(*t->cuts));
	}
	t->cuts[t->n_cuts++] = row;
	free(entries);
}

static int64_t count_in(const struct ip_column *c, size_t row)
{
	for (size_t k = 0; k < c->n; k++)
		if (c->entries[k].row == row)
			return c->entries[k].count;
	return 0;
}

static bool is_in(const struct ip *ip, const struct set *s, size_t j)
{
	const struct ip_column *c = &ip->columns[j];

	if (s->kind == SET_GROUP)
		return ip->group[j] >= s->from;
	return count_in(c, s->a) >= s->from &&
	       (s->b == SIZE_MAX || count_in(c, s->b) >= s->from_b);
}

/* No better answer uses more columns than this. */
static int64_t most_columns(const struct tree *t)
{
	int64_t least = INT64_MAX, sum = 0;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		if (t->ip->columns[j].cost < least)
			least = t->ip->columns[j].cost;
		sum += t->ip->columns[j].most;
	}
	return least > 0 && tree_target(t) / least < sum
		   ? tree_target(t) / least
		   : sum;
}

size_t relax_add_set(struct tree *t, const struct set *set)
{
	size_t n = t->ip->n_columns, used = 0;
	struct simplex_entry *entries = xcalloc(n + 1, sizeof(*entries));
	struct set *s;

	for (size_t i = 0; i < t->n_sets; i++) {
		s = &t->sets[i];
		if (s->kind == set->kind && s->a == set->a && s->b == set->b &&
		    s->from == set->from && s->from_b == set->from_b) {
			free(entries);
			return i;
		}
	}
	if (t->n_sets == t->cap_sets) {
		t->cap_sets = t->cap_sets == 0 ? 16 : 2 * t->cap_sets;
		t->sets = xrealloc(t->sets, t->cap_sets, sizeof(*t->sets));
	}
	s = &t->sets[t->n_sets++];
	*s = *set;
	s->in = xcalloc(n, sizeof(*s->in));
	s->low = 0;
	s->high = most_columns(t);
	s->lp_row = t->n_lp_rows++;
	for (size_t j = 0; j < n; j++)
		if ((s->in[j] = is_in(t->ip, s, j)))
			entries[used++] = (struct simplex_entry){j, 1};
	simplex_add_row(t->lp, (double)s->low, (double)s->high, entries, used);
	free(entries);
	return t->n_sets - 1;
}

void relax_bound_set(struct tree *t, size_t i, int64_t low, int64_t high)
{
	struct set *s = &t->sets[i];

	s->low = low;
	s->high = high;
	simplex_bound_row(t->lp, s->lp_row, (double)low, (double)high);
}

/* So many pivots between two looks at the budget. */
static int patience(const struct tree *t)
{
	size_t pivots =
	    1000000 / (8 * t->ip->n_columns + t->n_lp_rows * t->n_lp_rows + 1);

	return pivots < 5 ? 5 : pivots > 500 ? 500 : (int)pivots;
}

static enum simplex_end solve(struct tree *t, double more, int pivots)
{
	double target = (double)tree_target(t), step = (double)t->ip->divisor;
	enum simplex_end end = SIMPLEX_MORE;
	int some = patience(t);

	for (; pivots > 0 && end == SIMPLEX_MORE && !t->budget->stopped;
	     pivots -= some) {
		int64_t steps = 0;

		end = simplex_solve(t->lp, target + more * step,
		    pivots < some ? pivots : some, &steps);
		budget_spend(t->budget, steps);
	}
	return end;
}

bool relax_solve(struct tree *t)
{
	enum simplex_end end = solve(t, 0.02, PIVOTS_MOST);

	if (end == SIMPLEX_ABOVE &&
	    relax_bound(t) <= (wide)tree_target(t) * t->scale)
		end = solve(t, 1, PIVOTS_MOST);
	if (end == SIMPLEX_DONE)
		memcpy(t->x, simplex_columns(t->lp),
		    t->ip->n_columns * sizeof(*t->x));
	return end == SIMPLEX_DONE;
}

wide relax_try(struct tree *t)
{
	solve(t, 0.02, PIVOTS_TRIED);
	return relax_bound(t);
}

static int64_t whole_y(const struct tree *t, double y)
{
	double top = y_most(t);

	y = y > top ? top : y < -top ? -top : y;
	return (int64_t)floor(y * (double)t->scale);
}

/* Whole multipliers from the LP, on the safe side where their sign matters. */
static void read_y(struct tree *t)
{
	const double *dual = simplex_prices(t->lp);

	for (size_t r = 0; r < t->ip->n_rows; r++) {
		t->y[r] = whole_y(t, dual[r]);
		t->y[r] = t->y[r] < 0 ? 0 : t->y[r];
	}
	for (size_t i = 0; i < t->n_cuts; i++) {
		struct cut_row *c = &t->cuts[i];

		c->y = whole_y(t, dual[c->lp_row]) / c->cut.rest;
		c->y = c->y < 0 ? 0 : c->y;
	}
	for (size_t i = 0; i < t->n_sets; i++) {
		struct set *s = &t->sets[i];

		s->y = whole_y(t, dual[s->lp_row]);
	}
}

static void reduce_costs(struct tree *t)
{
	const struct ip *ip = t->ip;

	for (size_t j = 0; j < ip->n_columns; j++) {
		const struct ip_column *c = &ip->columns[j];

		t->rc[j] = c->cost * t->scale;
		for (size_t k = 0; k < c->n; k++)
			t->rc[j] -=
			    t->y[c->entries[k].row] * c->entries[k].count;
	}
	for (size_t i = 0; i < t->n_cuts; i++) {
		const struct cut_row *c = &t->cuts[i];

		for (size_t j = 0; j < ip->n_columns && c->y != 0; j++)
			t->rc[j] -= c->y * c->count[j];
	}
	for (size_t i = 0; i < t->n_sets; i++) {
		const struct set *s = &t->sets[i];

		for (size_t j = 0; j < ip->n_columns && s->y != 0; j++)
			t->rc[j] -= s->in[j] ? s->y : 0;
	}
}

wide relax_bound(struct tree *t)
{
	const struct ip *ip = t->ip;
	wide bound = 0;

	read_y(t);
	reduce_costs(t);
	for (size_t r = 0; r < ip->n_rows; r++)
		bound += (wide)t->y[r] * ip->need[r];
	for (size_t i = 0; i < t->n_cuts; i++)
		bound += (wide)t->cuts[i].y * t->cuts[i].cut.need;
	for (size_t i = 0; i < t->n_sets; i++) {
		const struct set *s = &t->sets[i];

		if (s->y != 0)
			bound += (wide)s->y * (s->y > 0 ? s->low : s->high);
	}
	for (size_t j = 0; j < ip->n_columns; j++)
		bound +=
		    (wide)t->rc[j] * (t->rc[j] > 0 ? t->low[j] : t->high[j]);
	return bound;
}

void relax_fix(struct tree *t, wide bound)
{
	wide gap = (wide)tree_target(t) * t->scale - bound;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		int64_t rc = t->rc[j];

		if (rc > 0 && (wide)rc * (t->high[j] - t->low[j]) > gap)
			t->high[j] = t->low[j] + (int64_t)(gap / rc);
		else if (rc < 0 && (wide)-rc * (t->high[j] - t->low[j]) > gap)
			t->low[j] = t->high[j] - (int64_t)(gap / -rc);
		else
			continue;
		simplex_bound_column(
		    t->lp, j, (double)t->low[j], (double)t->high[j]);
	}
}
