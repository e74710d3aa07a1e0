/* SPDX-License-Identifier: MIT */
/*
 * levels.c - branch and price on the numbers of strips.
 *
 * The length of a plan is settled by how many strips it has of every height, and for
 * given whole numbers of them there nearly always is a way to cover the pieces when the
 * linear program says so: the rest is bin packing, whose LP is famously sharp.  What the
 * LP gets wrong is these numbers, fractions of strips of every height.  So they are what
 * is branched on: level k counts the strips at least as high as the k-th height.
 *
 * A bound on levels adds the same to the price of all strips of a height, so the dearest
 * strip of each height is still one knapsack, and strips are made as they are needed:
 * nothing has to be listed, and a branch costs what a hundred columns cost.
 *
 * What a branch proves is told in levels_lp.c.  Where all levels are whole, the strips
 * that an answer in the branch may still hold are listed and ip.c has the last word.
 */
#include "levels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "covering.h"
#include "enumerate.h"
#include "ip_own.h"
#include "levels_own.h"

#define CHOICES 8
#define TRIES 1
#define FEW_NODES 100   /* not worth a trial */
#define FIRST_MOST 3000 /* columns to begin with */
#define LEAF_MOST 4000  /* strips listed where all levels are whole */
#define LEAF_NODES 200

/* A way as high as this of which pieces are wanted; SIZE_MAX: none. */
static size_t wanted_way(const struct levels *l, length height)
{
	const struct frame *f = &l->m->frames[0];

	for (size_t i = 0; i < f->n_ways; i++) {
		const struct way *w = &l->m->ways[f->ways[i]];

		if (w->h == height && l->need[w->size] > 0)
			return f->ways[i];
	}
	return SIZE_MAX;
}

/* The heights that strips may have: those of pieces that are wanted. */
static void find_levels(struct levels *l)
{
	size_t n = strips_n_heights(l->strips);

	l->list = xcalloc(n + 1, sizeof(*l->list));
	for (size_t k = 0; k < n; k++) {
		length height = strips_height(l->strips, k);
		size_t way = wanted_way(l, height);

		if (way != SIZE_MAX)
			l->list[l->n++] =
			    (struct level){.from = height, .at = k, .way = way};
	}
}

struct levels *levels_new(const struct model *m, const int64_t need[],
    length step, const struct columns *first, struct budget *budget)
{
	struct levels *l = xcalloc(1, sizeof(*l));

	*l = (struct levels){
	    .budget = budget, .m = m, .need = need, .step = step};
	l->strips = strips_new(m, 0, true);
	find_levels(l);
	l->price = xcalloc(m->n_sizes + 1, sizeof(*l->price));
	columns_init(&l->pool, m);
	for (size_t j = 0; j < first->n && j < FIRST_MOST; j++)
		columns_add(&l->pool,
		    pattern_copy(l->pool.arena, first->list[j].pattern));
	l->lp = simplex_new();
	for (size_t i = 0; i < m->n_sizes; i++)
		levels_add_row(l, (double)need[i], SIMPLEX_NO_BOUND, NULL, 0);
	return l;
}

void levels_delete(struct levels *l)
{
	if (l == NULL)
		return;
	simplex_delete(l->lp);
	columns_free(&l->pool);
	strips_delete(l->strips);
	free(l->list);
	free(l->price);
	picks_free(&l->answer);
	free(l);
}

/* A branch is left open: no answer in it is shorter than its bound. */
static void leave_open(struct levels *l, wide bound)
{
	int64_t cost =
	    bound <= 0 ? 0
		       : (int64_t)((bound + LEVELS_SCALE - 1) / LEVELS_SCALE);

	l->complete = false;
	if (cost < l->least)
		l->least = cost;
}

/* By how much the LP rises on one side; no more than up to the target. */
static double try_side(
    struct levels *l, size_t k, int64_t low, int64_t high, double from)
{
	int64_t was_low = l->list[k].low, was_high = l->list[k].high;
	double most = (double)l->target + 1 - from, gain;

	levels_bound(l, k, low, high);
	gain = levels_try(l) - from;
	levels_bound(l, k, was_low, was_high);
	return gain < 0 ? 0 : gain > most ? most : gain;
}

/* The gain on a side: tried while little is known of the level. */
static double expect(struct levels *l, size_t k, int side, double from)
{
	struct level *v = &l->list[k];
	int64_t cut = (int64_t)floor(v->value);
	double part = v->value - (double)cut,
	       unit = side == 0 ? part : 1 - part;
	double gain;

	if (!l->try_sides)
		return unit;
	if (v->tries[side] >= TRIES)
		return v->gain[side] / v->tries[side] * unit;
	gain = side == 0 ? try_side(l, k, v->low, cut, from)
			 : try_side(l, k, cut + 1, v->high, from);
	v->gain[side] += gain / unit;
	v->tries[side]++;
	return gain;
}

struct split {
	size_t level;
	int64_t cut;
	bool up_first;
};

static void count_levels(struct levels *l)
{
	const double *x = simplex_columns(l->lp);

	for (size_t k = 0; k < l->n; k++)
		l->list[k].value = 0;
	for (size_t j = 0; j < l->n_in_lp; j++)
		for (size_t k = 0; k < l->n && x[j] > 0; k++)
			if (l->list[k].from <= l->pool.list[j].pattern->height)
				l->list[k].value += x[j];
}

/* Both sides of the split are smaller than the branch, as they are but for errors. */
static bool splits(const struct level *v)
{
	return v->value >= (double)v->low && v->value <= (double)v->high;
}

/* The levels that are broken most. */
static size_t candidates(const struct levels *l, size_t out[])
{
	double weight[CHOICES];
	size_t n = 0;

	for (size_t k = 0; k < l->n; k++) {
		double w = brokenness(l->list[k].value);
		size_t i = n;

		if (w <= 0 || !splits(&l->list[k]) ||
		    (n == CHOICES && w <= weight[n - 1]))
			continue;
		i = n == CHOICES ? n - 1 : n++;
		for (; i > 0 && weight[i - 1] < w; i--) {
			weight[i] = weight[i - 1];
			out[i] = out[i - 1];
		}
		weight[i] = w;
		out[i] = k;
	}
	return n;
}

/* False: all levels are whole. */
static bool choose(struct levels *l, struct split *s)
{
	size_t list[CHOICES], n;
	double best = -1, from = simplex_value(l->lp);

	count_levels(l);
	n = candidates(l, list);
	for (size_t i = 0; i < n; i++) {
		struct level *v = &l->list[list[i]];
		double down, up, score;

		if (!v->in_lp)
			levels_enter(l, list[i]);
		down = expect(l, list[i], 0, from);
		up = expect(l, list[i], 1, from);
		score = (down + 0.01) * (up + 0.01);
		if (score > best) {
			best = score;
			*s = (struct split){
			    list[i], (int64_t)floor(v->value), up < down};
		}
	}
	return n > 0;
}

static void search(struct levels *l, wide above);

/* Bounds of the levels in force, for the program over listed strips. */
struct leaf {
	int64_t *firsts, *low, *high;
	size_t n;
};

static void leaf_init(struct leaf *f, const struct levels *l)
{
	*f = (struct leaf){.firsts = xcalloc(l->n + 1, sizeof(*f->firsts)),
	    .low = xcalloc(l->n + 1, sizeof(*f->low)),
	    .high = xcalloc(l->n + 1, sizeof(*f->high))};
	for (size_t k = 0; k < l->n; k++) {
		const struct level *v = &l->list[k];

		if (!v->in_lp)
			continue;
		f->firsts[f->n] = v->from / l->step;
		f->low[f->n] = v->low;
		f->high[f->n++] = v->high;
	}
}

static void leaf_free(struct leaf *f)
{
	free(f->firsts);
	free(f->low);
	free(f->high);
}

/* All strips that an answer in the branch may hold. */
static bool list_leaf(struct levels *l, wide priced, struct columns *list)
{
	wide gap = (wide)l->target * LEVELS_SCALE - priced;
	length *heights = xcalloc(l->n + 1, sizeof(*heights));
	int64_t *floors = xcalloc(l->n + 1, sizeof(*floors));
	bool all = gap < INT64_MAX / 4;

	for (size_t k = 0; k < l->n; k++) {
		heights[k] = l->list[k].from;
		floors[k] = l->list[k].room - (int64_t)(all ? gap : 0);
	}
	all = all && enumerate_above(l->m, 0, l->price, l->need, heights,
			 floors, l->n, LEAF_MOST, list, l->budget);
	free(heights);
	free(floors);
	return all;
}

/* The strips of the answer, copied to the pool's arena. */
static void keep_answer(
    struct levels *l, const struct columns *list, const struct covering *cover)
{
	struct picks picks;

	if (covering_picks(cover, list, l->need, &picks)) {
		picks_free(&l->answer);
		for (size_t i = 0; i < picks.n; i++)
			picks_add(&l->answer,
			    pattern_copy(l->pool.arena, picks.pattern[i]),
			    picks.copies[i]);
	}
	picks_free(&picks);
}

/* All levels are whole in the LP: is there an answer in the branch? */
static void settle(struct levels *l, wide bound, wide priced)
{

	struct columns list;
	struct covering cover;
	struct leaf leaf;
	int64_t cost, least;
	enum ip_answer answer;

	columns_init(&list, l->m);
	if (!list_leaf(l, priced, &list)) {
		leave_open(l, bound);
		columns_free(&list);
		return;
	}
	covering_init(&cover, &list, NULL, l->need, l->step);
	leaf_init(&leaf, l);
	cover.ip.firsts = leaf.firsts;
	cover.ip.first_low = leaf.low;
	cover.ip.first_high = leaf.high;
	cover.ip.n_firsts = leaf.n;
	cover.ip.work = l->until - l->budget->steps;
	answer = ip_solve(&cover.ip, l->target + 1, LEAF_NODES, l->budget,
	    cover.x, &cost, &least);
	if (answer == IP_FOUND || answer == IP_BETTER) {
		l->found = true;
		l->target = cost - 1;
		keep_answer(l, &list, &cover);
	}
	if (answer == IP_OPEN || answer == IP_BETTER)
		leave_open(l, bound > (wide)least * LEVELS_SCALE
				  ? bound
				  : (wide)least * LEVELS_SCALE);
	leaf_free(&leaf);
	free(cover.firsts);
	cover.firsts = NULL;
	covering_free(&cover);
	columns_free(&list);
}

static void descend(struct levels *l, const struct split *s, wide bound)
{
	int64_t low = l->list[s->level].low, high = l->list[s->level].high;

	for (int side = 0; side < 2; side++) {
		if ((side == 0) == s->up_first)
			levels_bound(l, s->level, s->cut + 1, high);
		else
			levels_bound(l, s->level, low, s->cut);
		search(l, bound);
	}
	levels_bound(l, s->level, low, high);
}

static void search(struct levels *l, wide above)
{
	struct split s = {0};
	wide bound = above, priced = 0;
	bool open;

	if (levels_is_cut(l, above))
		return;
	if (l->nodes-- <= 0 || levels_out_of_work(l)) {
		leave_open(l, above);
		return;
	}
	if (!levels_solve(l, &bound, &priced, &open)) {
		if (open)
			leave_open(l, bound);
		return;
	}
	if (choose(l, &s))
		descend(l, &s, bound);
	else
		settle(l, bound, priced);
}

const struct picks *levels_answer(const struct levels *l)
{
	return &l->answer;
}

enum ip_answer levels_ask(
    struct levels *l, length target, int nodes, int64_t work, length *least)
{
	picks_free(&l->answer);
	l->target = target / l->step;
	l->least = INT64_MAX;
	l->nodes = nodes;
	l->try_sides = nodes > FEW_NODES;
	l->until = l->budget->steps + work;
	l->complete = true;
	l->found = false;
	l->most_strips = l->n > 0 ? target / l->list[0].from : 0;
	for (size_t j = 0; j < l->n_in_lp; j++)
		simplex_bound_column(l->lp, j, 0, (double)l->most_strips + 1);
	levels_feed(l);
	for (size_t k = 0; k < l->n; k++) {
		l->list[k].low = 0;
		l->list[k].high = target / l->list[k].from;
		if (l->list[k].in_lp)
			levels_bound(l, k, 0, l->list[k].high);
	}
	search(l, 0);
	if (l->target + 1 < l->least)
		l->least = l->target + 1;
	*least = l->least * l->step;
	if (l->found)
		return l->complete ? IP_FOUND : IP_BETTER;
	return l->complete ? IP_NONE : IP_OPEN;
}
