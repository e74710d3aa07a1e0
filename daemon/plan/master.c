/* SPDX-License-Identifier: MIT */
/*
 * master.c - min sum of heights, every size covered.
 *
 * One row a size, one column a strip, its cost the height (in steps of the greatest
 * common divisor, to keep the numbers small).  Rolls do not appear: with strips much
 * lower than a roll is long they pack well, and where they do not, rolls.c notices and
 * the model with rolls is asked (sheets.c).
 *
 * Prices come out of the LP as floating numbers and are cut down to whole ones.  From
 * then on all is exact: no strip of height h may be dearer than h * scale, and where one
 * is, its excess is kept in the ratio that the bound divides by.  So every round gives a
 * valid bound, whatever the LP did (Farley 1990, from memory; docs/plan.md, "Prices").
 */
#include "master.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define PRICE_TOP                                                              \
	((int64_t)1 << 40)   /* a strip as long as the longest run costs this */
#define NEGLIGIBLE 100000000 /* an excess of 1 part in so many is none */

static void add_rows(struct master *ma)
{
	const struct model *m = ma->model;
	double dear =
	    20.0 * (double)m->frames[ma->frame].longest / (double)ma->step;

	for (size_t i = 0; i < m->n_sizes; i++)
		lp_add_row(ma->lp, 0, LP_INFINITY);
	for (size_t i = 0; i < m->n_sizes;
	     i++) { /* a way out, so that the LP is never infeasible */
		int row = (int)i;
		double one = 1;

		lp_add_column(ma->lp, dear, 0, LP_INFINITY, 1, &row, &one);
	}
}

struct master *master_new(
    const struct model *m, size_t frame, struct budget *budget)
{
	struct master *ma = xcalloc(1, sizeof(*ma));

	ma->model = m;
	ma->frame = frame;
	ma->budget = budget;
	columns_init(&ma->columns, m);
	ma->ruled = strips_new(m, frame, false);
	ma->relaxed = m->sliver > 0 ? strips_new(m, frame, true) : ma->ruled;
	ma->price = xcalloc(m->n_sizes, sizeof(*ma->price));
	ma->most = xcalloc(m->n_sizes, sizeof(*ma->most));
	ma->scale = PRICE_TOP / m->frames[frame].longest;
	ma->step = heights_step(m);
	ma->lp = lp_new();
	add_rows(ma);
	return ma;
}

void master_delete(struct master *ma)
{
	if (ma == NULL)
		return;
	lp_delete(ma->lp);
	if (ma->relaxed != ma->ruled)
		strips_delete(ma->relaxed);
	strips_delete(ma->ruled);
	columns_free(&ma->columns);
	free(ma->price);
	free(ma->most);
	free(ma);
}

/* Tell the LP about columns of the pool that it does not know yet. */
static void feed(struct master *ma)
{
	int rows[256];
	double counts[256];

	for (; ma->n_in_lp < ma->columns.n; ma->n_in_lp++) {
		const struct column *c = &ma->columns.list[ma->n_in_lp];
		size_t n = c->n < 256 ? c->n : 256;

		for (size_t i = 0; i < n; i++) {
			rows[i] = (int)c->size[i];
			counts[i] = (double)c->count[i];
		}
		lp_add_column(ma->lp, (double)(c->pattern->height / ma->step),
		    0, LP_INFINITY, n, rows, counts);
	}
}

void master_offer(struct master *ma, const struct pattern *p)
{
	if (pattern_fits(ma->model, p, &ma->model->frames[ma->frame]))
		columns_add(&ma->columns, pattern_copy(ma->columns.arena, p));
}

double master_value(const struct master *ma)
{
	return lp_value(ma->lp) * (double)ma->step;
}

double master_fraction(const struct master *ma, size_t i)
{
	return i < ma->n_in_lp ? lp_columns(ma->lp)[ma->model->n_sizes + i] : 0;
}

static void read_prices(struct master *ma)
{
	const double *dual = lp_prices(ma->lp);
	double unit = (double)ma->step * (double)ma->scale;

	for (size_t i = 0; i < ma->model->n_sizes; i++) {
		double price = dual[i] * unit;

		ma->price[i] = price > 0 && price < 9e15 ? (int64_t)price : 0;
	}
}

/*
 * One round: the dearest strip of each height, added where it is worth more than its
 * length.  Returns how many were added; the worst excess goes to num / den.
 */
static size_t price_strips(
    struct master *ma, struct strips *s, bool add, int64_t *num, int64_t *den)
{
	size_t added = 0;

	*num = ma->scale;
	*den = 1;
	strips_set(s, ma->price, ma->most);
	for (size_t k = strips_n_heights(s); k-- > 0 && !ma->budget->stopped;) {
		length h = strips_height(s, k);
		int64_t floor = h * ma->scale, bound;
		int64_t value = strips_best(s, k, floor, &bound);

		if ((wide)bound * *den > (wide)*num * h) {
			*num = bound;
			*den = h;
		}
		if (add && value - floor > floor / NEGLIGIBLE)
			added += columns_add_fitting(&ma->columns,
			    strips_pattern(s, ma->columns.arena),
			    &ma->model->frames[ma->frame]);
		budget_spend(ma->budget, strips_steps(s));
	}
	return added;
}

/* Is the bound sum(price * need) * den / num better than the one in w? */
static void keep_worth(const struct master *ma, const int64_t need[],
    int64_t num, int64_t den, struct worth *w)
{
	wide now = 0, before = 0;
	size_t n = ma->model->n_sizes;

	for (size_t i = 0; i < n; i++) {
		now += (wide)ma->price[i] * need[i];
		before += (wide)w->size[i] * need[i];
	}
	/* in units of length, cut: a hair is no matter here */
	if (w->num > 0 && now * den / num < before * w->den / w->num)
		return;
	memcpy(w->size, ma->price, n * sizeof(*w->size));
	w->num = num;
	w->den = den;
}

static void set_need(struct master *ma, const int64_t need[])
{
	for (size_t i = 0; i < ma->model->n_sizes; i++) {
		lp_bound_row(ma->lp, i, (double)need[i], LP_INFINITY);
		ma->most[i] = need[i];
	}
}

/* Only strips that hold no more than is needed may be used. */
static void bar_columns(struct master *ma, size_t from)
{
	for (size_t i = from; i < ma->n_in_lp; i++) {
		const struct column *c = &ma->columns.list[i];
		bool proper = true;

		for (size_t k = 0; k < c->n && proper; k++)
			proper = c->count[k] <= ma->most[c->size[k]];
		lp_bound_column(ma->lp, ma->model->n_sizes + i, 0,
		    proper ? LP_INFINITY : 0);
	}
}

bool master_solve(
    struct master *ma, const int64_t need[], int rounds, struct worth *w)
{
	int64_t num, den;
	bool dual = ma->n_in_lp > 0;

	set_need(ma, need);
	bar_columns(ma, 0);
	for (int round = 0; round < rounds; round++) {
		size_t added;

		feed(ma);
		if (!lp_run(ma->lp, dual, ma->budget))
			return false;
		dual = false;
		read_prices(ma);
		added = price_strips(ma, ma->ruled, true, &num, &den);
		if (ma->budget->stopped)
			return false;
		if (ma->relaxed != ma->ruled && w != NULL &&
		    (added == 0 || round % 8 == 7))
			price_strips(ma, ma->relaxed, false, &num, &den);
		else if (ma->relaxed != ma->ruled)
			num = 0;
		if (ma->budget->stopped)
			return false;
		if (w != NULL && num > 0 && num < INT64_MAX)
			keep_worth(ma, need, num, den, w);
		if (added == 0)
			return true;
	}
	return false;
}
