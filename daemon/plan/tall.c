/* SPDX-License-Identifier: MIT */
/*
 * tall.c - the bound of tall strips.
 *
 * The LP over strips, every size covered, has columns of all heights up to that of the
 * roll, and on a raster (raster.c) all of them are priced at once in a few milliseconds.
 * Whatever prices the LP comes up with, the dearest strip of every height at these prices
 * is known exactly, so the worst ratio of worth to height makes a bound.  The same size
 * may stand in several stacks of a row more often than there are pieces: such strips
 * cannot be torn, but leaving them in only weakens the bound.
 *
 * Compared with bars (bars.c) this sees that heights of stacks do not add up: for orders
 * of few sizes half a percent and more.
 */
#include "tall.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "lp.h"
#include "raster.h"

#define CELLS 2000000
#define WAYS_MOST 200 /* of more, every round would take seconds */
#define WORK 100000000
#define COLUMNS_A_ROUND 100
#define ENOUGH 0.3 /* of the worst excess */
#define HAIR 1e-6

struct tall {
	const struct model *m;
	const struct frame *f;
	struct budget *budget;
	struct raster *raster;
	struct lp *lp;
	int64_t *price, *most, *count;
	double scale, cell; /* price of a cell of length, wished for and now */
};

/* A strip for each size alone, so that there is an answer. */
static void begin(struct tall *t)
{
	for (size_t i = 0; i < t->m->n_sizes; i++)
		lp_add_row(t->lp, (double)t->m->sizes[i].demand, LP_INFINITY);
	for (size_t k = 0; k < t->f->n_ways; k++) {
		const struct way *w = &t->m->ways[t->f->ways[k]];
		int row = (int)w->size;
		double many = (double)(t->f->width / w->w);

		lp_add_column(t->lp,
		    (double)w->h / (double)raster_unit(t->raster), 0,
		    LP_INFINITY, 1, &row, &many);
	}
}

/* The LP's prices in whole numbers, so small that the raster can count with them. */
static void read_prices(struct tall *t)
{
	const double *dual = lp_prices(t->lp);
	int64_t ceiling;

	for (size_t i = 0; i < t->m->n_sizes; i++) {
		double p = dual[i] * t->scale;

		t->price[i] = p > 0 && p < 1e15 ? (int64_t)p : 0;
	}
	t->cell = t->scale;
	ceiling = raster_ceiling(t->raster, t->price);
	while (ceiling > RASTER_MOST) {
		for (size_t i = 0; i < t->m->n_sizes; i++)
			t->price[i] /= 2;
		t->cell /= 2;
		ceiling = raster_ceiling(t->raster, t->price);
	}
}

static wide price_of_all(const struct tall *t, const int64_t price[])
{
	wide sum = 0;

	for (size_t i = 0; i < t->m->n_sizes; i++)
		sum += (wide)price[i] * t->m->sizes[i].demand;
	return sum;
}

/* Is it a better bound than the one in w? */
static void keep_worth(
    const struct tall *t, int64_t num, int64_t den, struct worth *w)
{
	if (num <= 0 ||
	    (w->num > 0 && price_of_all(t, t->price) * den / num <=
			       price_of_all(t, w->size) * w->den / w->num))
		return;
	memcpy(w->size, t->price, t->m->n_sizes * sizeof(*w->size));
	w->num = num;
	w->den = den;
}

/* The worst ratio of worth to height, in cells. */
static int32_t find_worst(const struct tall *t)
{
	int32_t worst = 1;

	for (int32_t h = 2; h <= raster_heights(t->raster); h++)
		if ((wide)raster_value(t->raster, h) * worst >
		    (wide)raster_value(t->raster, worst) * h)
			worst = h;
	return worst;
}

static void add_strip(struct tall *t, int32_t h)
{
	int *rows = xcalloc(t->m->n_sizes, sizeof(*rows));
	double *values = xcalloc(t->m->n_sizes, sizeof(*values));
	size_t n = 0;

	raster_content(t->raster, h, t->count);
	for (size_t i = 0; i < t->m->n_sizes; i++)
		if (t->count[i] > 0) {
			rows[n] = (int)i;
			values[n++] = (double)t->count[i];
		}
	lp_add_column(t->lp, h, 0, LP_INFINITY, n, rows, values);
	free(rows);
	free(values);
}

/* Strips worth more than their height: those nearly as bad as the worst. */
static size_t add_strips(struct tall *t, int32_t worst)
{
	double ratio = (double)raster_value(t->raster, worst) / worst;
	double limit = t->cell + (ratio - t->cell) * ENOUGH;
	int64_t before = 0;
	size_t added = 0;

	if (ratio < t->cell * (1 + HAIR))
		return 0;
	add_strip(t, worst);
	for (int32_t h = 1;
	     h <= raster_heights(t->raster) && added < COLUMNS_A_ROUND; h++) {
		int64_t value = raster_value(t->raster, h);

		if (value > before && (double)value > limit * h && h != worst) {
			add_strip(t, h);
			added++;
		}
		before = value;
	}
	return added + 1;
}

/* The LP has come below a bound that is known already: nothing to be gained. */
static bool is_useless(const struct tall *t, const struct worth *w)
{
	double known = w->num == 0 ? 0
				   : (double)price_of_all(t, w->size) *
					 (double)w->den / (double)w->num;

	return lp_value(t->lp) * (double)raster_unit(t->raster) <= known;
}

static bool solve(struct tall *t, struct worth *w)
{
	int64_t until = t->budget->steps + WORK;

	while (t->budget->steps < until) {
		int32_t worst;

		if (!lp_run(t->lp, false, t->budget))
			return false;
		if (is_useless(t, w))
			break;
		read_prices(t);
		if (!raster_set(t->raster, t->price, t->most, t->budget))
			return false;
		worst = find_worst(t);
		keep_worth(t, raster_value(t->raster, worst),
		    worst * raster_unit(t->raster), w);
		if (add_strips(t, worst) == 0)
			break;
	}
	return true;
}

bool tall_worth(
    const struct model *m, size_t frame, struct budget *budget, struct worth *w)
{
	struct tall t = {.m = m, .f = &m->frames[frame], .budget = budget};
	bool ok = true;

	if (t.f->n_ways > WAYS_MOST)
		return true;
	t.raster = raster_new(m, frame, CELLS);
	if (t.raster == NULL)
		return true;
	t.lp = lp_new();
	t.price = xcalloc(m->n_sizes, sizeof(*t.price));
	t.most = xcalloc(m->n_sizes, sizeof(*t.most));
	t.count = xcalloc(m->n_sizes, sizeof(*t.count));
	for (size_t i = 0; i < m->n_sizes; i++)
		t.most[i] = m->sizes[i].demand;
	t.scale = (double)(RASTER_MOST / 4) / raster_heights(t.raster);
	begin(&t);
	ok = solve(&t, w);
	lp_delete(t.lp);
	raster_delete(t.raster);
	free(t.price);
	free(t.most);
	free(t.count);
	return ok;
}
