/* SPDX-License-Identifier: MIT */
/*
 * cover.c - which rolls could at best be worth enough.
 *
 * Depth first over the kinds of stock, the best worth for its cost first, cut by the
 * fraction that the rest would cost at least.  A handful of kinds is usual; with many,
 * the search is cut after a fixed number of nodes and the fraction is the answer.
 */
#include "cover.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define COVER_NODES 20000

struct search {
	struct cover_stock *stock; /* sorted */
	size_t n;
	int64_t best; /* INT64_MAX: none yet */
	int64_t nodes;
};

static int compare_bargains(const void *x, const void *y)
{
	const struct cover_stock *a = x, *b = y;
	wide l = (wide)a->cost * b->worth, r = (wide)b->cost * a->worth;

	if (l != r)
		return l < r ? -1 : 1;
	if (a->worth != b->worth)
		return a->worth > b->worth ? -1 : 1;
	return (a->other > b->other) - (a->other < b->other);
}

/* The least cost of `need` from stock i on when rolls could be had in fractions. */
static int64_t fraction(const struct search *s, size_t i, wide need)
{
	wide cost = 0;

	for (; i < s->n && need > 0; i++) {
		const struct cover_stock *k = &s->stock[i];

		if (k->available >= 0 && (wide)k->available * k->worth < need) {
			cost += (wide)k->available * k->cost;
			need -= (wide)k->available * k->worth;
			continue;
		}
		cost += (need * k->cost + k->worth - 1) / k->worth;
		need = 0;
	}
	return need > 0 || cost > INT64_MAX ? INT64_MAX : (int64_t)cost;
}

static void try_stock(
    struct search *s, size_t i, wide need, int64_t cost, int64_t other_left)
{
	int64_t rest = fraction(s, i, need);
	const struct cover_stock *k;
	wide most;

	if (--s->nodes < 0)
		return;
	if (need <= 0) {
		s->best = cost < s->best ? cost : s->best;
		return;
	}
	if (i == s->n || rest == INT64_MAX ||
	    (s->best != INT64_MAX && cost + rest >= s->best))
		return;
	k = &s->stock[i];
	most = (need + k->worth - 1) / k->worth;
	if (k->available >= 0 && most > k->available)
		most = k->available;
	if (k->other > 0 && most > other_left / k->other)
		most = other_left / k->other;
	for (int64_t n = (int64_t)most; n >= 0 && s->nodes >= 0; n--)
		try_stock(s, i + 1, need - (wide)n * k->worth,
		    cost + n * k->cost, other_left - n * k->other);
}

int64_t cover_least(const struct cover *c)
{
	struct search s = {.best = INT64_MAX, .nodes = COVER_NODES};
	int64_t least;

	if (c->need <= 0)
		return 0;
	s.stock = xcalloc(c->n + 1, sizeof(*s.stock));
	for (size_t i = 0; i < c->n; i++)
		if (c->stock[i].worth > 0 && c->stock[i].available != 0)
			s.stock[s.n++] = c->stock[i];
	qsort(s.stock, s.n, sizeof(*s.stock), compare_bargains);
	least = fraction(&s, 0, c->need);
	if (least ==
	    INT64_MAX) /* the prices are wrong about what fits: claim nothing */
		least = 0;
	else
		try_stock(&s, 0, c->need, 0, c->other_most);
	if (s.nodes >= 0 && s.best != INT64_MAX)
		least = s.best;
	free(s.stock);
	return least;
}
