/* SPDX-License-Identifier: MIT */
/*
 * fill_stock.c - which stock is taken when.
 *
 * Roll-ends help when they save a fresh roll, or length on one; a roll-end that has a
 * price may not be worth it, and of two fresh rolls now one is the better buy, now the
 * other.  So a few orders of the stock are tried with every way of filling, and the
 * plan that is best by the goals is kept.  The last roll is chosen with care: of all
 * stock that takes whatever is left, the one that costs least.
 */
#include "fill.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

enum stock_order {
	ENDS_FIRST,  /* whatever is not fresh, then fresh rolls */
	GIFTS_FIRST, /* whatever costs nothing, fresh rolls, then the rest */
	FRESH_FIRST, /* roll-ends only when the fresh rolls run out */
	CHEAP_FIRST, /* by price for each area */
	N_STOCK_ORDERS,
};

struct choice {
	const struct filler *f;
	enum stock_order order;
	size_t primary; /* the fresh stock preferred */
};

static int rank_of(const struct choice *c, const struct stock *s)
{
	switch (c->order) {
	case ENDS_FIRST:
		return s->fresh ? 1 : 0;
	case GIFTS_FIRST:
		return s->price == 0 ? 0 : s->fresh ? 1 : 2;
	case FRESH_FIRST:
		return s->fresh ? 0 : 1;
	default:
		return 0;
	}
}

/* Is stock x to be taken before stock y? */
static bool comes_before(const struct choice *c, size_t x, size_t y)
{
	const struct stock *a = &c->f->model->problem->stock[x];
	const struct stock *b = &c->f->model->problem->stock[y];
	int ra = rank_of(c, a), rb = rank_of(c, b);
	wide pa = (wide)a->price * b->width * b->length,
	     pb = (wide)b->price * a->width * a->length;

	if (ra != rb)
		return ra < rb;
	if ((x == c->primary) != (y == c->primary))
		return x == c->primary;
	if (pa != pb)
		return pa < pb;
	if (a->width * a->length != b->width * b->length)
		return a->width * a->length <
		       b->width * b->length; /* small ends first */
	return x < y;
}

static void sort_stock(const struct choice *c, size_t order[], size_t n)
{
	for (size_t i = 1; i < n; i++) /* a handful, or a thousand once */
		for (size_t k = i;
		     k > 0 && comes_before(c, order[k], order[k - 1]); k--) {
			size_t swap = order[k];

			order[k] = order[k - 1];
			order[k - 1] = swap;
		}
}

static area placed_area(
    const struct model *m, const int64_t before[], const int64_t after[])
{
	area sum = 0;

	for (size_t i = 0; i < m->n_sizes; i++)
		sum += (before[i] - after[i]) * m->sizes[i].a * m->sizes[i].b;
	return sum;
}

/* Fill a roll of this stock in the frame that takes most; false when nothing goes in. */
static bool fill_stock(struct filler *f, struct draft *draft, size_t stock)
{
	const struct model *m = f->model;
	size_t best_bin = m->n_bins, n_bins = 0;
	int64_t *before;
	area best = 0;

	for (size_t b = 0; b < m->n_bins; b++)
		if (m->bins[b].stock == stock && !m->bins[b].bound_only) {
			n_bins++;
			best_bin = b;
		}
	if (n_bins <= 1)
		return n_bins == 1 && fill_bin(f, draft, best_bin);
	before = xcalloc(m->n_sizes, sizeof(*before));
	memcpy(before, draft->left, m->n_sizes * sizeof(*before));
	best_bin = m->n_bins;
	for (size_t b = 0; b < m->n_bins; b++) {
		area got;

		if (m->bins[b].stock != stock || m->bins[b].bound_only ||
		    !fill_bin(f, draft, b))
			continue;
		got = placed_area(m, before, draft->left);
		draft_drop_last(draft);
		if (got > best) {
			best = got;
			best_bin = b;
		}
	}
	free(before);
	return best_bin < m->n_bins && fill_bin(f, draft, best_bin);
}

static int64_t count_left(const struct draft *d)
{
	int64_t left = 0;

	for (size_t i = 0; i < d->model->n_sizes; i++)
		left += d->left[i];
	return left;
}

/* Of all stock that takes everything left on one roll, the best by the goals. */
static bool finish_with_one(
    struct filler *f, struct draft *draft, const int64_t there[])
{
	const struct problem *problem = f->model->problem;
	struct totals best = {.unplaced = INT64_MAX};
	size_t best_stock = problem->n_stock;

	for (size_t i = 0; i < problem->n_stock; i++) {
		if (there[i] == 0 || !fill_stock(f, draft, i))
			continue;
		draft_count(draft);
		if (draft->totals.unplaced == 0 &&
		    totals_compare(problem, &draft->totals, &best) < 0) {
			best = draft->totals;
			best_stock = i;
		}
		draft_drop_last(draft);
	}
	return best_stock < problem->n_stock &&
	       fill_stock(f, draft, best_stock);
}

/* Could one roll of the largest stock hold what is left, by area? */
static bool nearly_done(const struct draft *d)
{
	const struct problem *problem = d->model->problem;
	area left = 0, largest = 0;

	for (size_t i = 0; i < d->model->n_sizes; i++)
		left +=
		    d->left[i] * d->model->sizes[i].a * d->model->sizes[i].b;
	for (size_t i = 0; i < problem->n_stock; i++)
		if (problem->stock[i].width * problem->stock[i].length >
		    largest)
			largest =
			    problem->stock[i].width * problem->stock[i].length;
	return left <= largest;
}

static struct draft *fill_in_order(struct filler *f, const struct choice *c)
{
	const struct problem *problem = f->model->problem;
	struct draft *draft = draft_new(f->model);
	size_t *order = xcalloc(problem->n_stock, sizeof(*order));
	int64_t *there = xcalloc(problem->n_stock, sizeof(*there));

	for (size_t i = 0; i < problem->n_stock; i++) {
		order[i] = i;
		there[i] = problem->stock[i].available;
	}
	sort_stock(c, order, problem->n_stock);
	for (size_t k = 0; k < problem->n_stock && count_left(draft) > 0; k++) {
		size_t i = order[k];

		while (there[i] != 0 && count_left(draft) > 0 &&
		       filler_goes_on(f)) {
			if (problem->n_stock > 1 && nearly_done(draft) &&
			    problem->n_stock < 20 &&
			    finish_with_one(f, draft, there))
				break;
			if (!fill_stock(f, draft, i))
				break;
			if (there[i] != UNLIMITED)
				there[i]--;
		}
	}
	free(order);
	free(there);
	draft_count(draft);
	return draft;
}

static void keep_better(
    const struct filler *f, struct draft **best, struct draft *draft)
{
	if (*best != NULL && totals_compare(f->model->problem, &draft->totals,
				 &(*best)->totals) >= 0) {
		draft_delete(draft);
		return;
	}
	draft_delete(*best);
	*best = draft;
}

/* Every order of the stock, and in it every fresh stock as the preferred one. */
static void try_orders(struct filler *f, struct draft **best)
{
	const struct problem *problem = f->model->problem;
	bool several = problem->n_stock > 1;

	for (int order = 0; order < (several ? N_STOCK_ORDERS : 1); order++)
		for (size_t i = 0; i < problem->n_stock && i < 8; i++) {
			struct choice c = {f, (enum stock_order)order, i};

			if (i == 0 || problem->stock[i].fresh)
				keep_better(f, best, fill_in_order(f, &c));
			f->first =
			    false; /* what is cut short from now on is no better */
		}
}

struct draft *fill_plan(struct filler *f)
{
	static const struct {
		enum fill_row row;
		enum fill_opening opening;
	} manners[] = {
	    {FILL_FIRST, OPEN_TALLEST},
	    {FILL_BEST, OPEN_TALLEST},
	    {FILL_FIRST, OPEN_LOWEST_SIDE},
	    {FILL_BEST, OPEN_LOWEST_SIDE},
	    {FILL_BEST, OPEN_WIDEST},
	    {FILL_BEST, OPEN_LARGEST},
	};
	struct draft *best = NULL;

	for (size_t i = 0; i < sizeof(manners) / sizeof(manners[0]); i++) {
		filler_set(f, manners[i].row, manners[i].opening);
		try_orders(f, &best);
	}
	return best;
}
