/* SPDX-License-Identifier: MIT */
/* model.c - from named pieces and stock to sizes, ways, frames and bins. */
#include "model.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#include "problem_rules.h"

#define MODEL_MEMORY ((size_t)2 << 30)

static int compare_lengths(length a, length b)
{
	return (a > b) - (a < b);
}

/* What qsort() needs to see of a piece, since it has no context argument in C17. */
struct ask {
	length a, b;
	bool turn;
	const char *name;
	size_t piece;
};

static int compare_measures(const struct ask *x, const struct ask *y)
{
	int d = compare_lengths(y->b, x->b);

	if (d == 0)
		d = compare_lengths(y->a, x->a);
	return d != 0 ? d : (int)x->turn - (int)y->turn;
}

static int compare_asks(const void *p, const void *q)
{
	const struct ask *x = p, *y = q;
	int d = compare_measures(x, y);

	if (d == 0 && x->name != NULL && y->name != NULL)
		d = strcmp(x->name, y->name);
	return d != 0 ? d : (x->piece > y->piece) - (x->piece < y->piece);
}

static struct ask *sorted_asks(struct model *m)
{
	const struct problem *problem = m->problem;
	struct ask *asks =
	    arena_array(m->arena, problem->n_pieces, sizeof(*asks));

	for (size_t i = 0; i < problem->n_pieces; i++) {
		const struct piece *p = &problem->pieces[i];
		bool swap = p->turn && p->across > p->along;

		asks[i] = (struct ask){
		    .a = swap ? p->along : p->across,
		    .b = swap ? p->across : p->along,
		    .turn =
			p->turn &&
			p->across != p->along, /* a square turned is itself */
		    .name = p->name,
		    .piece = i,
		};
	}
	qsort(asks, problem->n_pieces, sizeof(*asks), compare_asks);
	return asks;
}

static void make_sizes(struct model *m)
{
	const struct problem *problem = m->problem;
	struct ask *asks = sorted_asks(m);
	size_t *order =
	    arena_array(m->arena, problem->n_pieces, sizeof(*order));

	m->sizes = arena_array(m->arena, problem->n_pieces, sizeof(*m->sizes));
	for (size_t i = 0; i < problem->n_pieces; i++) {
		struct size *size;

		order[i] = asks[i].piece;
		if (i == 0 || compare_measures(&asks[i - 1], &asks[i]) != 0)
			m->sizes[m->n_sizes++] = (struct size){asks[i].a,
			    asks[i].b, asks[i].turn, 0, &order[i], 0};
		size = &m->sizes[m->n_sizes - 1];
		size->demand += problem->pieces[order[i]].count;
		size->n_pieces++;
	}
}

static void make_ways(struct model *m)
{
	m->ways = arena_array(m->arena, 2 * m->n_sizes, sizeof(*m->ways));
	for (size_t i = 0; i < m->n_sizes; i++) {
		const struct size *s = &m->sizes[i];

		m->ways[2 * i] = (struct way){i, s->a, s->b};
		m->ways[2 * i + 1] = (struct way){i, s->b, s->a};
	}
}

static size_t find_frame(
    struct model *m, length width, length whole, bool quarter)
{
	size_t f = 0;

	while (f < m->n_frames &&
	       (m->frames[f].width != width || m->frames[f].whole != whole ||
		   m->frames[f].quarter != quarter))
		f++;
	if (f == m->n_frames)
		m->frames[m->n_frames++] = (struct frame){
		    .width = width, .whole = whole, .quarter = quarter};
	return f;
}

static void find_runs(
    struct model *m, struct bin *bin, const struct stock *s, length end)
{
	length at = 0;

	bin->runs = arena_array(m->arena, s->n_spoiled + 1, sizeof(*bin->runs));
	for (size_t k = 0; k < s->n_spoiled && !bin->quarter; k++) {
		if (s->spoiled[k].from > at)
			bin->runs[bin->n_runs++] =
			    (struct clean){at, s->spoiled[k].from - at};
		at = s->spoiled[k].to;
	}
	if (end > at)
		bin->runs[bin->n_runs++] = (struct clean){at, end - at};
}

static void add_bin(
    struct model *m, size_t i, bool quarter, length width, bool bound_only)
{
	const struct stock *s = &m->problem->stock[i];
	struct bin *bin = &m->bins[m->n_bins++];
	struct frame *frame;

	*bin = (struct bin){
	    .stock = i, .quarter = quarter, .bound_only = bound_only};
	bin->frame =
	    find_frame(m, width, quarter ? s->length : s->width, quarter);
	frame = &m->frames[bin->frame];
	find_runs(m, bin, s, quarter ? s->width : s->length);
	for (size_t k = 0; k < bin->n_runs; k++)
		if (bin->runs[k].length > frame->longest)
			frame->longest = bin->runs[k].length;
}

/*
 * Flat stock begun the other way has its spoiled runs across: only what lies before the
 * first one is planned.  For the bounds the sheet stands whole beside it.
 */
static void make_bins(struct model *m)
{
	const struct problem *problem = m->problem;

	m->bins = arena_array(m->arena, 3 * problem->n_stock, sizeof(*m->bins));
	m->frames =
	    arena_array(m->arena, 3 * problem->n_stock, sizeof(*m->frames));
	for (size_t i = 0; i < problem->n_stock; i++) {
		const struct stock *s = &problem->stock[i];

		add_bin(m, i, false, s->width, false);
		if (s->flat && s->n_spoiled > 0 && s->spoiled[0].from > 0)
			add_bin(m, i, true, s->spoiled[0].from, false);
		if (s->flat)
			add_bin(m, i, true, s->length, s->n_spoiled > 0);
	}
}

/* Ways 2i and 2i+1 that may lie in the frame, whatever their measures. */
static bool way_offered(
    const struct model *m, const struct frame *f, size_t way)
{
	const struct size *s = &m->sizes[way / 2];
	bool swapped = way % 2 == 1;

	if (s->turn)
		return true;
	if (s->a == s->b)
		return !swapped;
	return swapped == f->quarter; /* the grain is kept */
}

struct ranked {
	length w, h;
	size_t way;
};

static int compare_ranked(const void *p, const void *q)
{
	const struct ranked *x = p, *y = q;
	int d = compare_lengths(y->h, x->h);

	if (d == 0)
		d = compare_lengths(y->w, x->w);
	return d != 0 ? d : (x->way > y->way) - (x->way < y->way);
}

static struct ranked *rank_ways(const struct model *m)
{
	struct ranked *ranked =
	    arena_array(m->arena, 2 * m->n_sizes, sizeof(*ranked));

	for (size_t k = 0; k < 2 * m->n_sizes; k++)
		ranked[k] = (struct ranked){m->ways[k].w, m->ways[k].h, k};
	qsort(ranked, 2 * m->n_sizes, sizeof(*ranked), compare_ranked);
	return ranked;
}

static bool way_fits(const struct model *m, const struct frame *f, size_t way)
{
	return way_offered(m, f, way) && m->ways[way].w <= f->width &&
	       m->ways[way].h <= f->longest;
}

static void fill_frame(
    struct model *m, struct frame *f, const struct ranked *ranked)
{
	size_t n = 0;

	for (size_t k = 0; k < 2 * m->n_sizes; k++)
		n += way_fits(m, f, k);
	f->ways = arena_array(m->arena, n, sizeof(*f->ways));
	for (size_t k = 0; k < 2 * m->n_sizes; k++)
		if (way_fits(m, f, ranked[k].way))
			f->ways[f->n_ways++] = ranked[k].way;
}

/* The widest stock, for the message: what could at most be given. */
static const struct stock *widest_stock(const struct problem *problem)
{
	const struct stock *best = &problem->stock[0];

	for (size_t i = 1; i < problem->n_stock; i++)
		if (problem->stock[i].width > best->width ||
		    (problem->stock[i].width == best->width &&
			problem->stock[i].length > best->length))
			best = &problem->stock[i];
	return best;
}

static bool refuse_size(
    const struct model *m, const struct size *size, struct err *err)
{
	const struct problem *problem = m->problem;
	size_t i = size->pieces[0];
	const struct piece *p;
	const struct stock *widest = widest_stock(problem);
	char across[LENGTH_TEXT_MAX], along[LENGTH_TEXT_MAX];
	char width[LENGTH_TEXT_MAX], len[LENGTH_TEXT_MAX];

	for (size_t k = 1; k < size->n_pieces;
	     k++) /* the first of them as asked for */
		if (size->pieces[k] < i)
			i = size->pieces[k];
	p = &problem->pieces[i];
	err_set(err, ERR_MISSING, "piece \"%.80s\" (%s x %s) fits no stock",
	    p->name ? p->name : "?", rules_length(across, p->across),
	    rules_length(along, p->along));
	err_hint(err,
	    "The widest stock is \"%.60s\", %s across and %s along%s.",
	    widest->name ? widest->name : "?",
	    rules_length(width, widest->width),
	    rules_length(len, widest->length),
	    p->turn ? "" : "; this piece may not be turned");
	err_field(err, "/pieces/%zu", i);
	return false;
}

static bool fits_bin(const struct bin *bin, length h)
{
	for (size_t k = 0; k < bin->n_runs; k++)
		if (bin->runs[k].length >= h)
			return true;
	return false;
}

static bool check_fits(const struct model *m, struct err *err)
{
	bool *fits = arena_array(m->arena, m->n_sizes, sizeof(*fits));

	for (size_t b = 0; b < m->n_bins; b++) {
		const struct frame *f = &m->frames[m->bins[b].frame];

		for (size_t k = 0; k < f->n_ways && !m->bins[b].bound_only; k++)
			if (fits_bin(&m->bins[b], m->ways[f->ways[k]].h))
				fits[f->ways[k] / 2] = true;
	}
	for (size_t i = 0; i < m->n_sizes; i++)
		if (!fits[i])
			return refuse_size(m, &m->sizes[i], err);
	return true;
}

bool model_new(
    const struct problem *problem, struct model **out, struct err *err)
{
	struct arena *arena = arena_new(MODEL_MEMORY);
	struct model *m = arena_alloc(arena, sizeof(*m));
	const struct ranked *ranked;

	*out = NULL;
	m->arena = arena;
	m->problem = problem;
	m->stages = problem->stages;
	m->oversize = problem->oversize;
	m->sliver =
	    problem->oversize >= problem->sliver - 1 ? 0 : problem->sliver;
	make_sizes(m);
	make_ways(m);
	make_bins(m);
	ranked = rank_ways(m);
	for (size_t f = 0; f < m->n_frames; f++)
		fill_frame(m, &m->frames[f], ranked);
	if (!check_fits(m, err)) {
		model_delete(m);
		return false;
	}
	*out = m;
	return true;
}

void model_delete(struct model *model)
{
	if (model != NULL)
		arena_delete(model->arena);
}

struct wide_way {
	length w, h;
	size_t way;
};

static int compare_wide(const void *x, const void *y)
{
	const struct wide_way *a = x, *b = y;

	if (a->w != b->w)
		return a->w < b->w ? -1 : 1;
	if (a->h != b->h)
		return a->h < b->h ? -1 : 1;
	return (a->way > b->way) - (a->way < b->way);
}

void frame_by_width(const struct model *m, const struct frame *f, size_t ways[],
    length *unit_w, length *unit_h)
{
	struct wide_way *order = xcalloc(f->n_ways + 1, sizeof(*order));

	*unit_w = *unit_h = 0;
	for (size_t k = 0; k < f->n_ways; k++) {
		const struct way *w = &m->ways[f->ways[k]];

		order[k] = (struct wide_way){w->w, w->h, f->ways[k]};
		*unit_w = length_gcd(w->w, *unit_w);
		*unit_h = length_gcd(w->h, *unit_h);
	}
	qsort(order, f->n_ways, sizeof(*order), compare_wide);
	for (size_t k = 0; k < f->n_ways; k++)
		ways[k] = order[k].way;
	free(order);
}
