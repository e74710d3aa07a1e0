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

#define PIVOTS_MOST 3000
#define PIVOTS_TRIED 15
#define ROUNDS_MOST 200
#define BLOCK 512

/* So many pivots between two looks at the budget. */
static int patience(const struct tree *t)
{
	size_t pivots =
	    1000000 / (8 * t->n_lp_columns + t->n_lp_rows * t->n_lp_rows + 1);

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

static int64_t whole_y(const struct tree *t, double y)
{
	double top = tree_y_most(t);

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

		s->y = s->lp_row == OUTSIDE ? 0 : whole_y(t, dual[s->lp_row]);
	}
}

/* Reduced costs of the columns from..to, and what they take from the bound. */
static wide price_block(struct tree *t, size_t from, size_t to)
{
	wide sum = 0;

	for (size_t j = from; j < to; j++) {
		const struct ip_column *c = &t->ip->columns[j];
		int64_t rc = c->cost * t->scale;

		for (size_t k = 0; k < c->n; k++)
			rc -= t->y[c->entries[k].row] * c->entries[k].count;
		t->rc[j] = rc;
	}
	for (size_t i = 0; i < t->n_cuts; i++) {
		const struct cut_row *c = &t->cuts[i];

		for (size_t j = from; j < to && c->y != 0; j++)
			t->rc[j] -= c->y * c->count[j];
	}
	for (size_t i = 0; i < t->n_sets; i++) {
		const struct set *s = &t->sets[i];

		for (size_t j = from; j < to && s->y != 0; j++)
			t->rc[j] -= s->in[j] ? s->y : 0;
	}
	for (size_t j = from; j < to; j++)
		if (t->rc[j] < 0)
			sum += (wide)t->rc[j] * t->high[j];
		else if (t->low[j] > 0)
			sum += (wide)t->rc[j] * t->low[j];
	return sum;
}

static wide bound_of(struct tree *t)
{
	const struct ip *ip = t->ip;
	wide bound = 0;
	size_t terms = 8;

	read_y(t);
	for (size_t r = 0; r < ip->n_rows; r++)
		bound += (wide)t->y[r] * ip->need[r];
	for (size_t i = 0; i < t->n_cuts; i++) {
		bound += (wide)t->cuts[i].y * t->cuts[i].cut.need;
		terms += t->cuts[i].y != 0;
	}
	for (size_t i = 0; i < t->n_sets; i++) {
		const struct set *s = &t->sets[i];

		if (s->y != 0)
			bound += (wide)s->y * (s->y > 0 ? s->low : s->high);
		terms += s->y != 0;
	}
	for (size_t j = 0; j < ip->n_columns;
	     j += BLOCK) /* stays in the cache */
		bound += price_block(t, j,
		    j + BLOCK < ip->n_columns ? j + BLOCK : ip->n_columns);
	budget_spend(t->budget, (int64_t)(ip->n_columns * terms));
	return bound;
}

static bool is_above(const struct tree *t, wide bound)
{
	return bound > (wide)tree_target(t) * t->scale;
}

bool relax_solve(struct tree *t, wide *bound)
{
	double more = 0.02;
	const double *x;
	enum simplex_end end = SIMPLEX_MORE;

	for (int round = 0; round < ROUNDS_MOST; round++) {
		wide now;

		end = solve(t, more, PIVOTS_MOST);
		now = t->priced = bound_of(t);
		*bound = now > *bound ? now : *bound;
		if (is_above(t, *bound) || end == SIMPLEX_MORE ||
		    t->budget->stopped)
			break;
		if (relax_let_in(t))
			continue;
		if (end == SIMPLEX_DONE || more >= 1)
			break;
		more = 1; /* above by a hair, which proves nothing */
	}
	if (end != SIMPLEX_DONE)
		return false;
	memset(t->x, 0, t->ip->n_columns * sizeof(*t->x));
	x = simplex_columns(t->lp);
	for (size_t k = 0; k < t->n_lp_columns; k++)
		t->x[t->of_lp[k]] = x[k];
	relax_park(t);
	return true;
}

double relax_try(struct tree *t)
{
	solve(t, 0.02, PIVOTS_TRIED);
	return simplex_value(t->lp);
}

void relax_fix(struct tree *t)
{
	wide gap = (wide)tree_target(t) * t->scale - t->priced;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		int64_t rc = t->rc[j];

		if (rc > 0 && (wide)rc * (t->high[j] - t->low[j]) > gap)
			relax_bound_column(
			    t, j, t->low[j], t->low[j] + (int64_t)(gap / rc));
		else if (rc < 0 && (wide)-rc * (t->high[j] - t->low[j]) > gap)
			relax_bound_column(t, j,
			    t->high[j] - (int64_t)(gap / -rc), t->high[j]);
	}
}
