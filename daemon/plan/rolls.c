/* SPDX-License-Identifier: MIT */
/*
 * rolls.c - strips of known heights onto stock.
 *
 * Every clean run is filled as full as its strips allow (a knapsack with value = height,
 * so the fullest; Gupta and Ho's minimum bin slack, from memory), roll-ends first, then
 * fresh rolls; what is left over then lies at the end of the last roll, in one piece.
 * First fit decreasing is tried as well, since filling early rolls to the last unit can
 * leave strips that go badly together; it is also what is left once the budget is spent.
 */
#include "rolls.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "knap.h"

#define RUN_NODES 20000

struct pack {
	const struct model *m;
	const struct picks *picks;
	struct draft *draft;
	const struct pattern **pattern; /* by falling height, the draft's own */
	int64_t *left;                  /* copies still to lay */
	size_t n;
	struct knap *knap;
	struct budget *budget;
	bool fullest; /* else first fit */
};

struct tall {
	length height;
	size_t pick;
};

static int compare_tall(const void *x, const void *y)
{
	const struct tall *a = x, *b = y;

	if (a->height != b->height)
		return a->height > b->height ? -1 : 1;
	return (a->pick > b->pick) - (a->pick < b->pick);
}

static void sort_picks(struct pack *p)
{
	struct tall *tall = xcalloc(p->picks->n + 1, sizeof(*tall));

	p->n = p->picks->n;
	p->pattern = xcalloc(p->n + 1, sizeof(*p->pattern));
	p->left = xcalloc(p->n + 1, sizeof(*p->left));
	for (size_t i = 0; i < p->n; i++)
		tall[i] = (struct tall){p->picks->pattern[i]->height, i};
	qsort(tall, p->n, sizeof(*tall), compare_tall);
	for (size_t i = 0; i < p->n; i++) {
		p->pattern[i] = pattern_copy(
		    p->draft->arena, p->picks->pattern[tall[i].pick]);
		p->left[i] = p->picks->copies[tall[i].pick];
	}
	free(tall);
}

static void choose_fullest(struct pack *p, length room, int64_t count[])
{
	struct item *items = xcalloc(p->n, sizeof(*items));
	int64_t *chosen = xcalloc(p->n, sizeof(*chosen));
	int64_t bound, steps = 0;
	size_t n = 0;

	for (size_t i = 0; i < p->n; i++)
		if (p->left[i] > 0)
			items[n++] = (struct item){p->pattern[i]->height,
			    p->pattern[i]->height, p->left[i], i};
	if (n > 0)
		knap_best(p->knap, items, n, room, 0, chosen, &bound, &steps);
	for (size_t i = 0; i < n; i++)
		count[items[i].tag] = chosen[i];
	budget_spend(p->budget, steps);
	free(chosen);
	free(items);
}

static void choose_first(const struct pack *p, length room, int64_t count[])
{
	for (size_t i = 0; i < p->n; i++) {
		count[i] = room / p->pattern[i]->height;
		if (count[i] > p->left[i])
			count[i] = p->left[i];
		room -= count[i] * p->pattern[i]->height;
	}
}

static bool anything_left(const struct pack *p)
{
	for (size_t i = 0; i < p->n; i++)
		if (p->left[i] > 0)
			return true;
	return false;
}

/* One roll of the bin; false when nothing goes on it. */
static bool pack_bin(struct pack *p, size_t bin)
{
	const struct bin *b = &p->m->bins[bin];
	struct used *used = draft_take(p->draft, bin);
	int64_t *count = xcalloc(p->n, sizeof(*count));

	for (size_t run = 0; run < b->n_runs; run++) {
		length at = b->runs[run].at;

		memset(count, 0, p->n * sizeof(*count));
		if (p->fullest && !p->budget->stopped)
			choose_fullest(p, b->runs[run].length, count);
		else
			choose_first(p, b->runs[run].length, count);
		for (size_t i = 0; i < p->n; i++)
			for (int64_t c = 0; c < count[i]; c++) {
				draft_lay(
				    p->draft, used, p->pattern[i], run, at);
				at += p->pattern[i]->height;
				p->left[i]--;
			}
	}
	free(count);
	if (used->n_laid > 0)
		return true;
	draft_drop_last(p->draft);
	return false;
}

/* Gifts first: whatever is neither fresh nor has a price; fresh rolls; then the rest. */
static int rank_of(const struct stock *s)
{
	if (!s->fresh)
		return s->price == 0 ? 0 : 2;
	return 1;
}

static bool comes_before(const struct pack *p, size_t x, size_t y)
{
	const struct stock *a = &p->m->problem->stock[p->m->bins[x].stock];
	const struct stock *b = &p->m->problem->stock[p->m->bins[y].stock];
	wide pa = (wide)a->price * b->length, pb = (wide)b->price * a->length;

	if (rank_of(a) != rank_of(b))
		return rank_of(a) < rank_of(b);
	if (pa != pb)
		return pa < pb;
	if (a->length != b->length)
		return a->length < b->length;
	return x < y;
}

static size_t sort_bins(const struct pack *p, size_t frame, size_t order[])
{
	size_t n = 0;

	for (size_t b = 0; b < p->m->n_bins; b++) {
		size_t k = n;

		if (p->m->bins[b].frame != frame || p->m->bins[b].bound_only)
			continue;
		for (; k > 0 && comes_before(p, b, order[k - 1]); k--)
			order[k] = order[k - 1];
		order[k] = b;
		n++;
	}
	return n;
}

static bool pack_all(struct pack *p, size_t frame)
{
	size_t *order = xcalloc(p->m->n_bins, sizeof(*order));
	size_t n = sort_bins(p, frame, order);

	for (size_t k = 0; k < n; k++) {
		int64_t there =
		    p->m->problem->stock[p->m->bins[order[k]].stock].available;

		while (there != 0 && anything_left(p) && pack_bin(p, order[k]))
			there -= there > 0;
	}
	free(order);
	return !anything_left(p);
}

static struct draft *pack(const struct model *m, size_t frame,
    const struct picks *picks, struct budget *budget, bool fullest)
{
	struct pack p = {
	    .m = m, .picks = picks, .budget = budget, .fullest = fullest};
	bool ok;

	p.draft = draft_new(m);
	p.knap = knap_new(RUN_NODES);
	sort_picks(&p);
	ok = pack_all(&p, frame);
	knap_delete(p.knap);
	free(p.pattern);
	free(p.left);
	if (ok) {
		draft_count(p.draft);
		return p.draft;
	}
	draft_delete(p.draft);
	return NULL;
}

struct draft *rolls_pack(const struct model *m, size_t frame,
    const struct picks *picks, struct budget *budget)
{
	struct draft *a = pack(m, frame, picks, budget, true);
	struct draft *b = pack(m, frame, picks, budget, false);

	if (a == NULL || (b != NULL && totals_compare(m->problem, &b->totals,
					   &a->totals) < 0)) {
		draft_delete(a);
		return b;
	}
	draft_delete(b);
	return a;
}
