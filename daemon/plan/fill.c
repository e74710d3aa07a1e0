/* SPDX-License-Identifier: MIT */
/*
 * fill.c - a strip, a roll.
 *
 * A strip is as high as the piece that opens it.  Beside it comes either the first piece
 * that fits, by falling height (FFDH: Coffman, Garey, Johnson and Tarjan 1980), or the
 * choice of largest area, which is a knapsack.  In three stages whatever then fits on
 * top of a piece is stacked there, again by area.  Where the sliver rule bites, the row
 * or the stack is filled once more with room kept for a clean tear.
 */
#include "fill.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define FILL_NODES                                                             \
	4000 /* area is nearly as good as its bound: no need to be exact */

void filler_init(
    struct filler *f, const struct model *model, struct budget *budget)
{
	*f = (struct filler){
	    .model = model, .knap = knap_new(FILL_NODES), .budget = budget};
	f->first = true;
}

static void drop_openings(struct filler *f)
{
	for (size_t i = 0; f->openings != NULL && i < f->model->n_frames; i++)
		free(f->openings[i]);
	free(f->openings);
	f->openings = NULL;
}

void filler_free(struct filler *f)
{
	drop_openings(f);
	knap_delete(f->knap);
	f->knap = NULL;
}

void filler_set(struct filler *f, enum fill_row row, enum fill_opening opening)
{
	drop_openings(f);
	f->row = row;
	f->opening = opening;
}

/* A way with its place in the order of opening; larger keys open first. */
struct opener {
	int64_t key, second;
	size_t way;
};

static int compare_openers(const void *x, const void *y)
{
	const struct opener *a = x, *b = y;

	if (a->key != b->key)
		return a->key > b->key ? -1 : 1;
	if (a->second != b->second)
		return a->second > b->second ? -1 : 1;
	return (a->way > b->way) - (a->way < b->way);
}

static bool has_way(const struct frame *frame, size_t way)
{
	for (size_t k = 0; k < frame->n_ways; k++)
		if (frame->ways[k] == way)
			return true;
	return false;
}

static struct opener rank(
    const struct filler *f, const struct frame *frame, size_t way)
{
	const struct way *w = &f->model->ways[way];

	switch (f->opening) {
	case OPEN_LOWEST_SIDE: /* the higher way only where the lower one does not fit */
		if (w->h > w->w && has_way(frame, way ^ 1))
			return (struct opener){-1, w->h, way};
		return (struct opener){w->h, w->w, way};
	case OPEN_WIDEST:
		return (struct opener){w->w, w->h, way};
	case OPEN_LARGEST:
		return (struct opener){way_area(w), w->h, way};
	default:
		return (struct opener){w->h, w->w, way};
	}
}

static const size_t *openings(struct filler *f, size_t frame)
{
	const struct frame *fr = &f->model->frames[frame];
	struct opener *order;

	if (f->openings == NULL)
		f->openings = xcalloc(f->model->n_frames, sizeof(*f->openings));
	if (f->openings[frame] != NULL)
		return f->openings[frame];
	order = xcalloc(fr->n_ways, sizeof(*order));
	for (size_t k = 0; k < fr->n_ways; k++)
		order[k] = rank(f, fr, fr->ways[k]);
	qsort(order, fr->n_ways, sizeof(*order), compare_openers);
	f->openings[frame] = xcalloc(fr->n_ways, sizeof(size_t));
	for (size_t k = 0; k < fr->n_ways; k++)
		f->openings[frame][k] = order[k].way;
	free(order);
	return f->openings[frame];
}

/* What is going into one strip. */
struct row {
	struct filler *f;
	const struct frame *frame;
	length height;
	int64_t *left;
	size_t *ways; /* chosen, in order */
	size_t n_ways, cap_ways;
	length used;
};

static void put(struct row *r, size_t way)
{
	if (r->n_ways == r->cap_ways) {
		r->cap_ways = r->cap_ways == 0 ? 16 : 2 * r->cap_ways;
		r->ways = xrealloc(r->ways, r->cap_ways, sizeof(*r->ways));
	}
	r->ways[r->n_ways++] = way;
	r->used += r->f->model->ways[way].w;
	r->left[way / 2]--;
}

static void unput(struct row *r)
{
	size_t way = r->ways[--r->n_ways];

	r->used -= r->f->model->ways[way].w;
	r->left[way / 2]++;
}

static bool row_stands(const struct row *r)
{
	return rest_allowed(r->f->model, r->frame->whole - r->used, r->n_ways);
}

static void fill_first(struct row *r)
{
	const struct model *m = r->f->model;

	for (size_t k = 0; k < r->frame->n_ways; k++) {
		const struct way *w = &m->ways[r->frame->ways[k]];

		if (w->h > r->height || !gap_allowed(m, r->height - w->h))
			continue;
		while (
		    r->left[w->size] > 0 && r->used + w->w <= r->frame->width)
			put(r, r->frame->ways[k]);
	}
	r->f->steps += (int64_t)r->frame->n_ways;
}

/* In a strip that takes a size either way, the narrower way is enough. */
static bool is_wider_twin(const struct row *r, size_t way)
{
	const struct model *m = r->f->model;
	const struct way *w = &m->ways[way], *twin = &m->ways[way ^ 1];

	return m->sizes[w->size].turn && twin->w < w->w &&
	       twin->h <= r->height && gap_allowed(m, r->height - twin->h) &&
	       twin->h <= r->frame->longest;
}

static void fill_best(struct row *r, length room)
{
	const struct model *m = r->f->model;
	struct item *items = xcalloc(r->frame->n_ways, sizeof(*items));
	int64_t *count = xcalloc(r->frame->n_ways, sizeof(*count));
	int64_t bound;
	size_t n = 0;

	for (size_t k = 0; k < r->frame->n_ways; k++) {
		const struct way *w = &m->ways[r->frame->ways[k]];

		if (w->h > r->height || r->left[w->size] <= 0 || w->w > room ||
		    !gap_allowed(m, r->height - w->h) ||
		    is_wider_twin(r, r->frame->ways[k]))
			continue;
		items[n++] = (struct item){
		    w->w, way_area(w), r->left[w->size], r->frame->ways[k]};
	}
	if (room > 0 && n > 0)
		knap_best(
		    r->f->knap, items, n, room, 0, count, &bound, &r->f->steps);
	for (size_t i = 0; i < n; i++)
		for (int64_t c = 0; c < count[i]; c++)
			put(r, items[i].tag);
	free(count);
	free(items);
}

static void fill_row(struct row *r)
{
	length room = r->frame->width - r->used;

	if (r->f->row == FILL_FIRST)
		fill_first(r);
	else
		fill_best(r, room);
	if (row_stands(r))
		return;
	while (r->n_ways > 1)
		unput(r);
	if (room >= r->f->model->sliver)
		fill_best(r, room - r->f->model->sliver);
}

/* A stack on the piece that begins segment i of p, by area. */
static void stack_on(struct row *r, struct pattern *p, size_t way)
{
	const struct model *m = r->f->model;
	length width = m->ways[way].w, room = r->height - m->ways[way].h;
	struct item *items = xcalloc(r->frame->n_ways, sizeof(*items));
	int64_t *count = xcalloc(r->frame->n_ways, sizeof(*count));
	int64_t bound, sum = 0, pieces = 1;
	size_t n = 0;

	for (size_t k = r->frame->n_ways; k-- > 0;) {
		const struct way *w = &m->ways[r->frame->ways[k]];

		if (w->w <= width && w->h <= room && r->left[w->size] > 0 &&
		    gap_allowed(m, width - w->w))
			items[n++] = (struct item){w->h, way_area(w),
			    r->left[w->size], r->frame->ways[k]};
	}
	qsort(items, n, sizeof(*items), knap_before);
	for (length kept = 0; n > 0 && kept <= m->sliver;
	     kept += m->sliver > 0 ? m->sliver : 1) {
		if (room - kept <= 0)
			break;
		knap_best(r->f->knap, items, n, room - kept, 0, count, &bound,
		    &r->f->steps);
		sum = 0;
		pieces = 1;
		for (size_t i = 0; i < n; i++) {
			sum += count[i] * items[i].size;
			pieces += count[i];
		}
		if (rest_allowed(m, room - sum, (size_t)pieces))
			break;
	}
	for (size_t i = 0; i < n && rest_allowed(m, room - sum, (size_t)pieces);
	     i++)
		for (int64_t c = 0;
		     c < count[i] && r->left[items[i].tag / 2] > 0; c++) {
			pattern_add_way(p, items[i].tag);
			r->left[items[i].tag / 2]--;
		}
	free(count);
	free(items);
}

static int64_t pieces_left(const struct row *r)
{
	int64_t sum = 0;

	for (size_t i = 0; i < r->f->model->n_sizes; i++)
		sum += r->left[i] > 0 ? r->left[i] : 0;
	return sum;
}

static struct pattern *make_pattern(struct row *r, struct arena *arena)
{
	const struct model *m = r->f->model;
	struct pattern *p;
	size_t max_ways = r->n_ways, most;
	length lowest = r->height;

	for (size_t k = 0; k < r->frame->n_ways; k++)
		if (r->left[r->frame->ways[k] / 2] > 0 &&
		    m->ways[r->frame->ways[k]].h < lowest)
			lowest = m->ways[r->frame->ways[k]].h;
	if (m->stages == 3) { /* stacks, and no more than there are pieces */
		most = r->n_ways + (size_t)pieces_left(r);
		max_ways *= (size_t)(r->height / lowest) + 2;
		max_ways = max_ways < most ? max_ways : most;
	}
	p = pattern_new(arena, r->height, r->n_ways, max_ways);
	for (size_t k = 0; k < r->n_ways; k++) {
		pattern_add_part(p, m->ways[r->ways[k]].w);
		pattern_add_way(p, r->ways[k]);
		if (m->stages == 3 && m->ways[r->ways[k]].h < r->height)
			stack_on(r, p, r->ways[k]);
	}
	pattern_sort(m, p);
	return p;
}

/* A strip opened by this way, or NULL when the sliver rule forbids it. */
static struct pattern *strip_from(
    struct row *r, struct arena *arena, size_t way, length height)
{
	struct pattern *p = NULL;

	r->height = height;
	put(r, way);
	fill_row(r);
	if (row_stands(r)) {
		p = make_pattern(r, arena);
		if (!pattern_fits(r->f->model, p, r->frame))
			p = NULL; /* a trim beside an opener lower than its strip */
	}
	while (r->n_ways > 0)
		unput(r);
	return p;
}

struct pattern *fill_strip(struct filler *f, struct arena *arena, size_t frame,
    length room, const int64_t left[])
{
	const struct model *m = f->model;
	const size_t *order = openings(f, frame);
	struct row r = {.f = f, .frame = &m->frames[frame]};
	struct pattern *p = NULL;

	r.left = xcalloc(m->n_sizes, sizeof(*r.left));
	for (size_t k = 0; k < r.frame->n_ways && p == NULL; k++) {
		const struct way *w = &m->ways[order[k]];

		if (left[w->size] <= 0 || w->h > room)
			continue;
		memcpy(r.left, left, m->n_sizes * sizeof(*left));
		p = strip_from(&r, arena, order[k], w->h);
	}
	free(r.left);
	free(r.ways);
	return p;
}

bool filler_goes_on(struct filler *f)
{
	int64_t steps = f->steps;

	f->steps = 0;
	return budget_spend(f->budget, steps) || f->first;
}

bool fill_bin(struct filler *f, struct draft *draft, size_t bin)
{
	const struct bin *b = &f->model->bins[bin];
	struct used *used = draft_take(draft, bin);

	for (size_t run = 0; run < b->n_runs; run++) {
		length at = b->runs[run].at, end = at + b->runs[run].length;
		struct pattern *p;

		while (filler_goes_on(f) &&
		       (p = fill_strip(f, draft->arena, b->frame, end - at,
			    draft->left)) != NULL) {
			int64_t copies =
			    pattern_copies(f->model, p, draft->left);

			for (int64_t c = 0; c < copies && p->height <= end - at;
			     c++) {
				draft_lay(draft, used, p, run, at);
				at += p->height;
			}
		}
	}
	if (used->n_laid > 0)
		return true;
	draft_drop_last(draft);
	return false;
}
