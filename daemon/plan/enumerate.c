/* SPDX-License-Identifier: MIT */
/*
 * enumerate.c - all strips within a slack.
 *
 * Let D be the price of everything asked for, and no strip worth more than height *
 * scale.  In a plan of length U the strips' slacks add up to at most U * scale - D, so a
 * plan shorter than the best one has no strip with more slack than that.  Depth first
 * through the ways by falling price for their width; a branch ends where even the
 * fraction of the next way cannot bring the slack down enough.  Covering rows allow
 * pieces too many, hence strips that could take another piece are not needed.
 */
#include "enumerate.h"

#include <stdlib.h>

#include "alloc.h"
#include "knap.h"

struct listing {
	const struct model *m;
	const struct frame *frame;
	const int64_t *most;
	struct item *items;
	int64_t *count;
	size_t n;
	length height;
	int64_t floor; /* a strip must be worth this */
	size_t max;
	struct columns *out;
	struct budget *budget;
	int64_t steps;
	bool full;
};

static bool is_wider_twin(const struct listing *l, size_t way)
{
	const struct way *w = &l->m->ways[way], *twin = &l->m->ways[way ^ 1];

	return l->m->sizes[w->size].turn && twin->w < w->w &&
	       twin->h <= l->height;
}

static bool is_maximal(const struct listing *l, length room)
{
	for (size_t i = 0; i < l->n; i++)
		if (l->count[i] < l->items[i].most && l->items[i].size <= room)
			return false;
	return true;
}

static void keep_strip(struct listing *l, length room)
{
	struct pattern *p;
	size_t n = 0;
	bool tall = false;

	for (size_t i = 0; i < l->n; i++) {
		n += (size_t)l->count[i];
		tall = tall || (l->count[i] > 0 &&
				   l->m->ways[l->items[i].tag].h == l->height);
	}
	if (!tall || !is_maximal(l, room))
		return; /* the same strip is met lower, or with one piece more */
	if (l->out->n >= l->max) {
		l->full = true;
		return;
	}
	budget_spend(l->budget, 300);
	p = pattern_new(l->out->arena, l->height, n, n);
	for (size_t i = 0; i < l->n; i++)
		for (int64_t c = 0; c < l->count[i]; c++) {
			pattern_add_part(p, l->items[i].size);
			pattern_add_way(p, l->items[i].tag);
		}
	pattern_sort(l->m, p);
	columns_add(l->out, p);
}

static void list_from(struct listing *l, size_t i, length room, int64_t value)
{
	int64_t most;

	if ((++l->steps & 1023) == 0 && !budget_spend(l->budget, 1024))
		l->full = true;
	while (i < l->n && l->items[i].size > room)
		i++;
	if (l->full)
		return;
	if (i == l->n) {
		if (value >= l->floor)
			keep_strip(l, room);
		return;
	}
	if ((wide)(l->floor - value) * l->items[i].size >
	    (wide)room * l->items[i].value)
		return;
	most = room / l->items[i].size;
	if (most > l->items[i].most)
		most = l->items[i].most;
	for (int64_t c = most; c >= 0 && !l->full; c--) {
		l->count[i] = c;
		list_from(l, i + 1, room - c * l->items[i].size,
		    value + c * l->items[i].value);
	}
	l->count[i] = 0;
}

static void list_height(struct listing *l, const int64_t price[], length height)
{
	l->n = 0;
	l->height = height;
	for (size_t k = 0; k < l->frame->n_ways; k++) {
		size_t way = l->frame->ways[k];
		const struct way *w = &l->m->ways[way];

		if (w->h <= height && l->most[w->size] > 0 &&
		    !is_wider_twin(l, way))
			l->items[l->n++] = (struct item){
			    w->w, price[w->size], l->most[w->size], way};
	}
	qsort(l->items, l->n, sizeof(*l->items), knap_before);
	list_from(l, 0, l->frame->width, 0);
}

bool enumerate_above(const struct model *m, size_t frame, const int64_t price[],
    const int64_t most[], const length heights[], const int64_t floors[],
    size_t n, size_t max, struct columns *out, struct budget *budget)
{
	const struct frame *f = &m->frames[frame];
	struct listing l = {.m = m,
	    .frame = f,
	    .most = most,
	    .max = max,
	    .out = out,
	    .budget = budget};

	l.items = xcalloc(f->n_ways, sizeof(*l.items));
	l.count = xcalloc(f->n_ways, sizeof(*l.count));
	for (size_t k = n; k-- > 0 && !l.full;) {
		l.floor = floors[k];
		list_height(&l, price, heights[k]);
	}
	free(l.items);
	free(l.count);
	return !l.full;
}

bool enumerate_strips(const struct model *m, size_t frame,
    const int64_t price[], const int64_t most[], int64_t scale, int64_t slack,
    size_t max, struct columns *out, struct budget *budget)
{
	const struct frame *f = &m->frames[frame];
	length *heights = xcalloc(f->n_ways + 1, sizeof(*heights));
	int64_t *floors = xcalloc(f->n_ways + 1, sizeof(*floors));
	size_t n = 0;
	bool all;

	for (size_t k = f->n_ways; k-- > 0;) { /* they come by falling height */
		length h = m->ways[f->ways[k]].h;

		if (n > 0 && heights[n - 1] == h)
			continue;
		heights[n] = h;
		floors[n++] = h * scale - slack;
	}
	all = enumerate_above(
	    m, frame, price, most, heights, floors, n, max, out, budget);
	free(heights);
	free(floors);
	return all;
}
