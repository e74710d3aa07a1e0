/* SPDX-License-Identifier: MIT */
/*
 * bounds.c - from prices to the numbers printed beside a plan.
 *
 * Only whole numbers, sums in 128 bits, divisions rounded to the safe side.  The bounds
 * leave the sliver and oversize rules out: without them more plans are allowed, so what
 * no such plan can do no other can.  A bound given the earlier goals uses the plan's own
 * values there: unplaced pieces are the dearest ones, fresh rolls at most as many.
 */
#include "bounds.h"

#include <stdlib.h>

#include "alloc.h"
#include "cover.h"
#include "knap.h"

#define REACH_NODES 20000
#define REACH_BINS 20

struct worth *worth_new(const struct model *m, struct arena *arena)
{
	struct worth *w = arena_alloc(arena, sizeof(*w));

	w->size = arena_array(arena, m->n_sizes, sizeof(*w->size));
	w->stock = arena_array(arena, m->problem->n_stock, sizeof(*w->stock));
	w->den = 1;
	return w;
}

length heights_step(const struct model *m)
{
	length step = 0;

	for (size_t f = 0; f < m->n_frames; f++)
		for (size_t k = 0; k < m->frames[f].n_ways; k++)
			step =
			    length_gcd(step, m->ways[m->frames[f].ways[k]].h);
	return step;
}

/* The most of `cap` that widths (or heights) of the frame's ways can add up to, or more. */
static length reach_down(
    const struct model *m, const struct frame *f, bool across, length cap)
{
	/* with a thousand kinds of stock it must be quick, and is an upper bound still */
	struct knap *k =
	    knap_new(REACH_NODES * REACH_BINS / (REACH_BINS + m->n_bins));
	struct item *items = xcalloc(f->n_ways, sizeof(*items));
	int64_t *count = xcalloc(f->n_ways, sizeof(*count));
	int64_t bound = 0, steps = 0;
	size_t n = 0;

	for (size_t i = 0; i < f->n_ways; i++) {
		const struct way *w = &m->ways[f->ways[i]];
		length l = across ? w->w : w->h;

		if (l <= cap && (n == 0 || items[n - 1].size != l))
			items[n++] = (struct item){l, l, cap / l, i};
	}
	qsort(items, n, sizeof(*items), knap_before);
	if (n > 0)
		knap_best(k, items, n, cap, 0, count, &bound, &steps);
	free(count);
	free(items);
	knap_delete(k);
	return bound;
}

length heights_reach(const struct model *m, const struct frame *f, length run)
{
	return reach_down(m, f, false, run);
}

static area usable_area(const struct model *m, const struct bin *b)
{
	const struct frame *f = &m->frames[b->frame];
	length sum = 0;

	for (size_t k = 0; k < b->n_runs; k++)
		sum += reach_down(m, f, false, b->runs[k].length);
	return sum * reach_down(m, f, true, f->width);
}

void worth_by_area(const struct model *m, struct worth *w)
{
	w->num = 0;
	w->den = 1;
	for (size_t i = 0; i < m->n_sizes; i++)
		w->size[i] = m->sizes[i].a * m->sizes[i].b;
	for (size_t i = 0; i < m->problem->n_stock; i++)
		w->stock[i] = 0;
	for (size_t k = 0; k < m->n_bins; k++) {
		const struct bin *b = &m->bins[k];
		const struct stock *s = &m->problem->stock[b->stock];
		area usable = usable_area(m, b);
		length width;

		if (usable > w->stock[b->stock])
			w->stock[b->stock] = usable;
		width = s->fresh ? reach_down(m, &m->frames[b->frame], true,
				       m->frames[b->frame].width)
				 : 0;
		if (width > w->num)
			w->num = width;
	}
}

/* Sizes by falling price, for "the k dearest pieces". */
struct dear {
	int64_t price, demand;
	size_t size;
};

static int compare_dear(const void *x, const void *y)
{
	const struct dear *a = x, *b = y;

	if (a->price != b->price)
		return a->price > b->price ? -1 : 1;
	return (a->size > b->size) - (a->size < b->size);
}

struct dearest {
	struct dear *list;
	size_t n;
	wide all; /* price of everything asked for */
};

static struct dearest sort_dear(const struct model *m, const struct worth *w)
{
	struct dearest d = {
	    .list = xcalloc(m->n_sizes, sizeof(*d.list)), .n = m->n_sizes};

	for (size_t i = 0; i < m->n_sizes; i++) {
		d.list[i] = (struct dear){w->size[i], m->sizes[i].demand, i};
		d.all += (wide)w->size[i] * m->sizes[i].demand;
	}
	qsort(d.list, d.n, sizeof(*d.list), compare_dear);
	return d;
}

/* The price of the n dearest pieces. */
static wide price_of_dearest(const struct dearest *d, int64_t n)
{
	wide sum = 0;

	for (size_t i = 0; i < d->n && n > 0; i++) {
		int64_t take = d->list[i].demand < n ? d->list[i].demand : n;

		sum += (wide)take * d->list[i].price;
		n -= take;
	}
	return sum;
}

/* The fewest pieces worth `need` together. */
static int64_t fewest_worth(const struct dearest *d, wide need)
{
	int64_t n = 0;

	for (size_t i = 0; i < d->n && need > 0; i++) {
		wide take =
		    d->list[i].price > 0
			? (need + d->list[i].price - 1) / d->list[i].price
			: 0;

		if (take > d->list[i].demand)
			take = d->list[i].demand;
		need -= take * d->list[i].price;
		n += (int64_t)take;
	}
	return n;
}

/* What all stock together can hold; -1: there is no end to it. */
static wide total_worth(
    const struct model *m, const struct worth *w, bool fresh_too)
{
	wide sum = 0;

	for (size_t i = 0; i < m->problem->n_stock; i++) {
		const struct stock *s = &m->problem->stock[i];

		if (w->stock[i] == 0 || (s->fresh && !fresh_too))
			continue;
		if (s->available == UNLIMITED)
			return -1;
		sum += (wide)s->available * w->stock[i];
	}
	return sum;
}

static void raise(int64_t *bound, int64_t to)
{
	if (to > *bound)
		*bound = to;
}

/* Every stock with its worth, at the cost of a roll where it is fresh; to be freed. */
static struct cover_stock *rolls_of(
    const struct problem *problem, const struct worth *w)
{
	struct cover_stock *list = xcalloc(problem->n_stock, sizeof(*list));

	for (size_t i = 0; i < problem->n_stock; i++)
		list[i] = (struct cover_stock){
		    .worth = w->stock[i],
		    .available = problem->stock[i].available,
		    .cost = problem->stock[i].fresh,
		    .other = problem->stock[i].price,
		};
	return list;
}

static void raise_rolls(const struct model *m, const struct worth *w,
    const struct totals *plan, wide need, struct bounds *b)
{
	const struct problem *problem = m->problem;
	struct cover c = {.n = problem->n_stock, .need = need};
	struct cover_stock *list = rolls_of(problem, w);
	bool price_first = problem->prefer_price;

	c.stock = list;
	c.other_most = price_first ? plan->price : INT64_MAX;
	raise(&b->fresh_rolls, cover_least(&c));
	for (size_t i = 0; i < c.n; i++) {
		list[i].cost = problem->stock[i].price;
		list[i].other = problem->stock[i].fresh;
	}
	c.other_most = price_first ? INT64_MAX : plan->fresh_rolls;
	raise(&b->price, cover_least(&c));
	free(list);
}

int64_t bounds_rolls(
    const struct model *m, const struct worth *w, int64_t unplaced)
{
	const struct problem *problem = m->problem;
	struct dearest d = sort_dear(m, w);
	struct cover c = {.n = problem->n_stock,
	    .need = d.all - price_of_dearest(&d, unplaced),
	    .other_most = INT64_MAX};
	struct cover_stock *list = rolls_of(problem, w);
	int64_t rolls;

	c.stock = list;
	rolls = cover_least(&c);
	free(list);
	free(d.list);
	return rolls;
}

static void raise_length(
    const struct model *m, const struct worth *w, wide need, struct bounds *b)
{
	wide ends = total_worth(m, w, false);
	length step = heights_step(m);
	wide l;

	if (ends < 0 || need <= ends || w->num == 0 || step == 0)
		return;
	l = ((need - ends) * w->den + w->num - 1) / w->num;
	l = (l + step - 1) / step * step;
	if (l <= INT64_MAX)
		raise(&b->strip_length, (int64_t)l);
}

void bounds_raise(const struct model *m, const struct worth *w,
    const struct totals *plan, struct bounds *b)
{
	struct dearest d = sort_dear(m, w);
	wide room = total_worth(m, w, true);
	wide need = d.all - price_of_dearest(&d, plan->unplaced);

	if (room >= 0 && d.all > room)
		raise(&b->unplaced, fewest_worth(&d, d.all - room));
	raise_rolls(m, w, plan, need, b);
	raise_length(m, w, need, b);
	free(d.list);
}

void bounds_prove(struct plan *plan, const struct bounds *b)
{
	plan->bounds = *b;
	plan->proven = (struct proven){
	    .unplaced = plan->totals.unplaced == b->unplaced,
	    .fresh_rolls = plan->totals.fresh_rolls == b->fresh_rolls,
	    .price = plan->totals.price == b->price,
	    .strip_length = plan->totals.strip_length == b->strip_length,
	};
}
