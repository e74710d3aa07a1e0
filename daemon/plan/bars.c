/* SPDX-License-Identifier: MIT */
/*
 * bars.c - the bound of bars.
 *
 * Look at any line across the roll: the pieces on it lie beside each other, so their
 * widths fit into the roll's.  A piece of height h is met by h units of such lines.  So
 * the least length over which rows of widths can be spread that meet every piece so
 * often is a bound for every plan, with strips or without (the relaxation of pieces into
 * bars, used for strip packing since Gilmore and Gomory; from memory).  It is good
 * where strips may be high, that is in three stages.
 *
 * The LP: y_r units of rows r, n_k pieces lying in way k;
 *     min sum y,   sum of y over rows with way k, times its count >= h_k n_k,
 *     sum of n over the ways of a size >= demand.
 * Its prices: q_k for a unit of way k, p_i for a piece, p_i <= h_k q_k.  Only p is taken
 * from it; q_k = ceil(p_i / h_k) and the dearest row are whole and exact.
 */
#include "bars.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "knap.h"
#include "lp.h"

#define BAR_SCALE                                                              \
	((int64_t)1 << 26) /* price of a unit of length of a whole row */
#define ROUNDS 400
#define ROW_NODES (1 << 18)

struct bars {
	const struct model *m;
	const struct frame *f;
	struct budget *budget;
	struct lp *lp;
	struct knap *knap;
	struct item *items;
	int64_t *count, *price;
	length step;
};

/* Rows: link of way k (in the order of the frame), then one for each size. */
static void add_rows(struct bars *b)
{
	for (size_t k = 0; k < b->f->n_ways; k++)
		lp_add_row(b->lp, 0, LP_INFINITY);
	for (size_t i = 0; i < b->m->n_sizes; i++)
		lp_add_row(b->lp, (double)b->m->sizes[i].demand, LP_INFINITY);
	for (size_t k = 0; k < b->f->n_ways; k++) {
		const struct way *w = &b->m->ways[b->f->ways[k]];
		int rows[2] = {(int)k, (int)(b->f->n_ways + w->size)};
		double values[2] = {-(double)(w->h / b->step), 1};
		double many = (double)(b->f->width / w->w);

		if (many > (double)b->m->sizes[w->size].demand)
			many = (double)b->m->sizes[w->size].demand;
		lp_add_column(b->lp, 0, 0, LP_INFINITY, 2, rows, values);
		lp_add_column(b->lp, 1, 0, LP_INFINITY, 1, rows,
		    &many); /* a row of this way alone */
	}
}

static void read_prices(struct bars *b)
{
	const double *dual = lp_prices(b->lp);

	for (size_t i = 0; i < b->m->n_sizes; i++) {
		double p = dual[b->f->n_ways + i] * (double)b->step *
			   (double)BAR_SCALE;

		b->price[i] = p > 0 && p < 4e18 ? (int64_t)p : 0;
	}
}

/* The dearest row in whole prices; returns a bound on it, its ways in count. */
static int64_t dearest_row(struct bars *b, size_t *n)
{
	int64_t bound = 0, steps = 0;

	*n = 0;
	for (size_t k = 0; k < b->f->n_ways; k++) {
		const struct way *w = &b->m->ways[b->f->ways[k]];

		if (b->price[w->size] > 0)
			b->items[(*n)++] = (struct item){w->w,
			    ceil_div(b->price[w->size], w->h),
			    b->m->sizes[w->size].demand, k};
	}
	qsort(b->items, *n, sizeof(*b->items), knap_before);
	knap_best(
	    b->knap, b->items, *n, b->f->width, 0, b->count, &bound, &steps);
	budget_spend(b->budget, steps);
	return bound;
}

static void add_row_found(struct bars *b, size_t n)
{
	int *rows = xcalloc(n + 1, sizeof(*rows));
	double *values = xcalloc(n + 1, sizeof(*values));
	size_t entries = 0;

	for (size_t i = 0; i < n; i++)
		if (b->count[i] > 0) {
			rows[entries] = (int)b->items[i].tag;
			values[entries++] = (double)b->count[i];
		}
	lp_add_column(b->lp, 1, 0, LP_INFINITY, entries, rows, values);
	free(rows);
	free(values);
}

static void keep_worth(const struct bars *b, int64_t num, struct worth *w)
{
	wide now = 0, before = 0;

	for (size_t i = 0; i < b->m->n_sizes; i++) {
		now += (wide)b->price[i] * b->m->sizes[i].demand;
		before += (wide)w->size[i] * b->m->sizes[i].demand;
	}
	if (num <= 0 || (w->num > 0 && now / num < before * w->den / w->num))
		return;
	memcpy(w->size, b->price, b->m->n_sizes * sizeof(*w->size));
	w->num = num;
	w->den = 1;
}

static bool solve(struct bars *b, struct worth *w)
{
	for (int round = 0; round < ROUNDS; round++) {
		int64_t dearest;
		size_t n;

		if (!lp_run(b->lp, false, b->budget))
			return false;
		read_prices(b);
		dearest = dearest_row(b, &n);
		keep_worth(b, dearest, w);
		if (dearest <= BAR_SCALE + BAR_SCALE / 1000000 ||
		    b->budget->stopped)
			break;
		add_row_found(b, n);
	}
	return !b->budget->stopped;
}

static void bars_init(
    struct bars *b, const struct model *m, size_t frame, struct budget *budget)
{
	*b = (struct bars){.m = m,
	    .f = &m->frames[frame],
	    .budget = budget,
	    .step = heights_step(m)};
	b->knap = knap_new(ROW_NODES);
	b->items = xcalloc(b->f->n_ways + 1, sizeof(*b->items));
	b->count = xcalloc(b->f->n_ways + 1, sizeof(*b->count));
	b->price = xcalloc(m->n_sizes + 1, sizeof(*b->price));
}

static void bars_free(struct bars *b)
{
	lp_delete(b->lp);
	knap_delete(b->knap);
	free(b->items);
	free(b->count);
	free(b->price);
}

int64_t bars_dearest(const struct model *m, size_t frame, const int64_t price[],
    struct budget *budget)
{
	struct bars b;
	int64_t dearest;
	size_t n;

	bars_init(&b, m, frame, budget);
	memcpy(b.price, price, m->n_sizes * sizeof(*price));
	dearest = dearest_row(&b, &n);
	bars_free(&b);
	return dearest;
}

bool bars_worth(
    const struct model *m, size_t frame, struct budget *budget, struct worth *w)
{
	struct bars b;
	bool ok;

	bars_init(&b, m, frame, budget);
	b.lp = lp_new();
	w->num = 0;
	add_rows(&b);
	ok = solve(&b, w);
	bars_free(&b);
	return ok;
}
