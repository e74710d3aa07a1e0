/* SPDX-License-Identifier: MIT */
/*
 * strips.c - pricing of strips, two stages.
 *
 * One height at a time: the ways that fit, by falling price for their width, into a
 * knapsack over the width (Gilmore and Gomory 1965, the inner of their two levels).
 * Running each height by itself costs a little more than one prefix pass for all, but
 * only so a size that fits either way is entered once, as its narrower way, and counts
 * against its demand once.  The callers ask only for strips above a floor, which cuts
 * most of the work.
 *
 * Under the sliver rule the rest of a row must be nothing, a clean tear, or small enough
 * to stay on the pieces.  The clean tear is the same knapsack on a narrower roll; the
 * full rows are looked for by a search that is cut after a number of nodes.
 */
#include "strips.h"
#include "strips_own.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define STRIP_NODES (1 << 20)
#define FULL_ROW_NODES 2000

static int compare_lengths(const void *x, const void *y)
{
	length a = *(const length *)x, b = *(const length *)y;

	return (a > b) - (a < b);
}

size_t strips_unique(length list[], size_t n)
{
	size_t kept = 0;

	qsort(list, n, sizeof(*list), compare_lengths);
	for (size_t i = 0; i < n; i++)
		if (kept == 0 || list[kept - 1] != list[i])
			list[kept++] = list[i];
	return kept;
}

static void find_heights(struct strips *s)
{
	const struct frame *f = s->frame;
	size_t n = 0;

	s->heights = xcalloc(2 * f->n_ways + 1, sizeof(*s->heights));
	for (size_t k = 0; k < f->n_ways; k++) {
		length h = s->model->ways[f->ways[k]].h;

		s->heights[n++] = h;
		if (s->sliver > 0 && h + s->sliver <= f->longest)
			s->heights[n++] = h + s->sliver;
	}
	s->n_heights = strips_unique(s->heights, n);
}

struct strips *strips_new(const struct model *m, size_t frame, bool relaxed)
{
	struct strips *s = xcalloc(1, sizeof(*s));

	s->model = m;
	s->frame = &m->frames[frame];
	s->sliver = relaxed ? 0 : m->sliver;
	s->relaxed = relaxed;
	s->complete = true;
	s->knap = knap_new(STRIP_NODES);
	s->items = xcalloc(s->frame->n_ways + 1, sizeof(*s->items));
	s->all = xcalloc(s->frame->n_ways, sizeof(*s->all));
	s->count = xcalloc(s->frame->n_ways + 1, sizeof(*s->count));
	s->trial = xcalloc(s->frame->n_ways + 1, sizeof(*s->trial));
	s->spare = xcalloc(s->frame->n_ways + 1, sizeof(*s->spare));
	s->best_items = xcalloc(s->frame->n_ways + 1, sizeof(*s->spare));
	s->best_count = xcalloc(s->frame->n_ways + 1, sizeof(*s->best_count));
	find_heights(s);
	if (m->stages == 3)
		stacks_init(s);
	return s;
}

void strips_delete(struct strips *s)
{
	if (s == NULL)
		return;
	if (s->model->stages == 3)
		stacks_free(s);
	knap_delete(s->knap);
	free(s->items);
	free(s->all);
	free(s->count);
	free(s->trial);
	free(s->spare);
	free(s->best_items);
	free(s->best_count);
	free(s->heights);
	free(s);
}

size_t strips_n_heights(const struct strips *s)
{
	return s->n_heights;
}

length strips_height(const struct strips *s, size_t k)
{
	return s->heights[k];
}

bool strips_complete(const struct strips *s)
{
	return s->complete && (s->relaxed || s->model->stages == 2);
}

int64_t strips_steps(struct strips *s)
{
	int64_t steps = s->steps;

	s->steps = 0;
	return steps;
}

void strips_set(struct strips *s, const int64_t price[], const int64_t most[])
{
	s->price = price;
	s->most = most;
	s->n_all = 0;
	for (size_t k = 0; k < s->frame->n_ways; k++) {
		const struct way *w = &s->model->ways[s->frame->ways[k]];

		if (price[w->size] > 0 && most[w->size] > 0)
			s->all[s->n_all++] = (struct item){w->w, price[w->size],
			    most[w->size], s->frame->ways[k]};
	}
	qsort(s->all, s->n_all, sizeof(*s->all), knap_before);
	s->steps += (int64_t)s->n_all * 8;
	if (s->model->stages == 3)
		stacks_set(s);
}

static bool fits_height(const struct strips *s, const struct way *w, length h)
{
	length gap = h - w->h;

	return gap >= 0 && (gap <= s->model->oversize || gap >= s->sliver);
}

/* The other way of the same size fits too and is narrower (or as wide and first). */
static bool is_wider_twin(const struct strips *s, size_t way, length h)
{
	const struct way *w = &s->model->ways[way],
			 *twin = &s->model->ways[way ^ 1];

	return s->model->sizes[w->size].turn && twin->w < w->w &&
	       fits_height(s, twin, h);
}

static size_t choose_items(struct strips *s, length h)
{
	size_t n = 0;

	for (size_t i = 0; i < s->n_all; i++)
		if (fits_height(s, &s->model->ways[s->all[i].tag], h) &&
		    !is_wider_twin(s, s->all[i].tag, h))
			s->items[n++] = s->all[i];
	s->steps += (int64_t)s->n_all;
	return n;
}

/* A search for rows that leave nothing, or no more than stays on their pieces. */
struct full_row {
	struct strips *s;
	size_t n;
	int64_t best;
	int64_t nodes;
};

static void search_full(
    struct full_row *f, size_t i, length used, int64_t pieces, int64_t value)
{
	struct strips *s = f->s;
	length rest = s->frame->whole - used;

	if (--f->nodes < 0)
		return;
	if (value > f->best && rest <= pieces * s->model->oversize) {
		f->best = value;
		memcpy(s->count, s->trial, f->n * sizeof(*s->count));
	}
	if (i == f->n || (wide)(f->best - value) * s->items[i].size >=
			     (wide)rest * s->items[i].value)
		return;
	for (int64_t c = s->items[i].most < rest / s->items[i].size
			     ? s->items[i].most
			     : rest / s->items[i].size;
	     c >= 0 && f->nodes >= 0; c--) {
		s->trial[i] = c;
		search_full(f, i + 1, used + c * s->items[i].size, pieces + c,
		    value + c * s->items[i].value);
	}
	s->trial[i] = 0;
}

/* Under the sliver rule: the better of a row with a clean tear and a full one. */
static int64_t best_ruled(
    struct strips *s, size_t n, int64_t floor, int64_t *bound)
{
	const struct frame *f = s->frame;
	length room =
	    f->whole - s->sliver < f->width ? f->whole - s->sliver : f->width;
	struct full_row full = {.s = s, .n = n, .nodes = FULL_ROW_NODES};

	memset(s->count, 0, n * sizeof(*s->count));
	full.best = floor;
	if (room > 0)
		full.best = knap_best(s->knap, s->items, n, room, floor,
		    s->count, bound, &s->steps);
	if (f->width == f->whole)
		search_full(&full, 0, 0, 0, 0);
	s->steps += FULL_ROW_NODES - full.nodes;
	*bound = INT64_MAX;
	return full.best;
}

int64_t strips_row(struct strips *s, int64_t floor, int64_t *bound)
{
	if (s->n_items == 0) {
		*bound = floor;
		return floor;
	}
	if (s->sliver > 0)
		return best_ruled(s, s->n_items, floor, bound);
	return knap_best(s->knap, s->items, s->n_items, s->frame->width, floor,
	    s->count, bound, &s->steps);
}

int64_t strips_best(struct strips *s, size_t k, int64_t floor, int64_t *bound)
{
	int64_t value;

	s->height = s->heights[k];
	if (s->model->stages == 3) {
		value = stacks_best(s, k, floor, bound);
	} else {
		s->n_items = choose_items(s, s->height);
		value = strips_row(s, floor, bound);
	}
	s->found = value > floor;
	return value;
}

/* Does the strip found last hold a piece as high as itself? */
static bool holds_highest(const struct strips *s)
{
	for (size_t i = 0; i < s->n_items; i++)
		if (s->count[i] > 0 &&
		    s->model->ways[s->items[i].tag].h == s->height)
			return true;
	return false;
}

/* Where the way stands among the items; behind the last when it has no price. */
static size_t place_of(struct strips *s, size_t way)
{
	const struct way *w = &s->model->ways[way];
	size_t i = 0;

	while (i < s->n_items && s->items[i].tag != way)
		i++;
	if (i == s->n_items)
		s->items[s->n_items] = (struct item){w->w, 0, 1, way};
	return i;
}

/* The dearest row beside one piece of item i, this one included; counts in s->trial. */
static int64_t beside(struct strips *s, size_t i, int64_t floor, int64_t *bound)
{
	struct item one = s->items[i];
	length room = s->frame->width - one.size;
	int64_t least = floor > one.value ? floor - one.value : 0, value;
	size_t n = 0;

	for (size_t k = 0; k < s->n_items; k++) {
		s->spare[n] = s->items[k];
		s->spare[n].most -= k == i;
		n += s->spare[n].most > 0;
	}
	memset(s->trial, 0, n * sizeof(*s->trial));
	value = least;
	*bound = least;
	if (n > 0 && room > 0)
		value = knap_best(s->knap, s->spare, n, room, least, s->trial,
		    bound, &s->steps);
	*bound += one.value;
	if (value == least) /* nothing dear enough: alone, perhaps */
		return one.value > floor ? one.value : floor;
	return one.value + value;
}

/* Counts of s->spare, and item i once, back to s->items. */
static void take_trial(struct strips *s, size_t i)
{
	size_t n = 0;

	if (i == s->n_items)
		s->n_items++; /* it came without a price */
	memset(s->count, 0, s->n_items * sizeof(*s->count));
	for (size_t k = 0; k < s->n_items; k++)
		if (n < s->n_items && s->items[k].most > (k == i) &&
		    s->items[k].value > 0)
			s->count[k] = s->trial[n++];
	s->count[i]++;
}

int64_t strips_best_proper(
    struct strips *s, size_t k, int64_t floor, int64_t *bound, int64_t *any)
{
	int64_t value = strips_best(s, k, floor, bound);

	*any = *bound;
	if (!s->found || holds_highest(s))
		return value;
	value = floor;
	*bound = floor;
	for (size_t j = 0; j < s->frame->n_ways; j++) {
		size_t way = s->frame->ways[j], i;
		int64_t with, most;

		if (s->model->ways[way].h != s->height || s->most[way / 2] == 0)
			continue;
		s->n_items = choose_items(s, s->height);
		i = place_of(s, way);
		with = beside(s, i, value, &most);
		*bound = most > *bound ? most : *bound;
		if (with > value) {
			value = with;
			take_trial(s, i);
			memcpy(s->best_items, s->items,
			    s->n_items * sizeof(*s->items));
			memcpy(s->best_count, s->count,
			    s->n_items * sizeof(*s->count));
			s->n_best = s->n_items;
		}
	}
	s->found = value > floor;
	if (s->found) {
		memcpy(s->items, s->best_items, s->n_best * sizeof(*s->items));
		memcpy(s->count, s->best_count, s->n_best * sizeof(*s->count));
		s->n_items = s->n_best;
	}
	return value;
}

static struct pattern *row_pattern(const struct strips *s, struct arena *arena)
{
	struct pattern *p;
	size_t n = 0;

	for (size_t i = 0; i < s->n_items; i++)
		n += (size_t)s->count[i];
	p = pattern_new(arena, s->height, n, n);
	for (size_t i = 0; i < s->n_items; i++)
		for (int64_t c = 0; c < s->count[i]; c++) {
			pattern_add_part(p, s->items[i].size);
			pattern_add_way(p, s->items[i].tag);
		}
	return p;
}

struct pattern *strips_pattern(const struct strips *s, struct arena *arena)
{
	struct pattern *p;

	if (!s->found)
		return NULL;
	p = s->model->stages == 3 ? stacks_pattern(s, arena)
				  : row_pattern(s, arena);
	pattern_sort(s->model, p);
	return p;
}
