/* SPDX-License-Identifier: MIT */
/* draft.c - patterns on rolls, and how they become a plan. */
#include "draft.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "inspect.h"
#include "plan_new.h"

#define DRAFT_MEMORY ((size_t)2 << 30)

struct draft *draft_new(const struct model *model)
{
	struct draft *d = xcalloc(1, sizeof(*d));

	d->model = model;
	d->arena = arena_new(DRAFT_MEMORY);
	if (model->held != NULL)
		arena_meter(d->arena, model->held);
	d->left = arena_array(d->arena, model->n_sizes, sizeof(*d->left));
	for (size_t i = 0; i < model->n_sizes; i++)
		d->left[i] = model->sizes[i].demand;
	return d;
}

void draft_delete(struct draft *draft)
{
	if (draft == NULL)
		return;
	for (size_t i = 0; i < draft->n_used; i++)
		free(draft->used[i].laid);
	free(draft->used);
	arena_delete(draft->arena);
	free(draft);
}

struct used *draft_take(struct draft *draft, size_t bin)
{
	struct used *used;

	if (draft->n_used == draft->cap_used) {
		draft->cap_used =
		    draft->cap_used == 0 ? 8 : 2 * draft->cap_used;
		draft->used = xrealloc(
		    draft->used, draft->cap_used, sizeof(*draft->used));
	}
	used = &draft->used[draft->n_used++];
	*used = (struct used){.bin = bin};
	return used;
}

void draft_lay(struct draft *draft, struct used *used,
    const struct pattern *pattern, size_t run, length at)
{
	if (used->n_laid == used->cap_laid) {
		used->cap_laid = used->cap_laid == 0 ? 8 : 2 * used->cap_laid;
		used->laid =
		    xrealloc(used->laid, used->cap_laid, sizeof(*used->laid));
	}
	used->laid[used->n_laid++] = (struct laid){pattern, run, at};
	pattern_take(pattern, 1, draft->left);
}

void draft_drop_last(struct draft *draft)
{
	struct used *used = &draft->used[--draft->n_used];

	for (size_t i = 0; i < used->n_laid; i++)
		pattern_take(used->laid[i].pattern, -1, draft->left);
	free(used->laid);
}

void draft_count(struct draft *draft)
{
	const struct model *m = draft->model;
	struct totals t = {0};

	for (size_t i = 0; i < m->n_sizes; i++)
		t.unplaced += draft->left[i];
	for (size_t i = 0; i < draft->n_used; i++) {
		const struct used *used = &draft->used[i];
		const struct stock *stock =
		    &m->problem->stock[m->bins[used->bin].stock];

		t.price += stock->price;
		t.fresh_rolls += stock->fresh;
		for (size_t k = 0; k < used->n_laid && stock->fresh; k++)
			t.strip_length += used->laid[k].pattern->height;
	}
	draft->totals = t;
}

static int compare_whole(int64_t a, int64_t b)
{
	return (a > b) - (a < b);
}

int totals_compare(const struct problem *problem, const struct totals *a,
    const struct totals *b)
{
	int rolls = compare_whole(a->fresh_rolls, b->fresh_rolls);
	int price = compare_whole(a->price, b->price);
	int first = problem->prefer_price ? price : rolls;
	int second = problem->prefer_price ? rolls : price;

	if (a->unplaced != b->unplaced)
		return compare_whole(a->unplaced, b->unplaced);
	if (first != 0)
		return first;
	return second != 0 ? second
			   : compare_whole(a->strip_length, b->strip_length);
}

/*
 * Finishing.  The pieces of a size are handed out in the order of their names, roll by
 * roll, so that what one member asked for lies near together.
 */
struct finish {
	const struct model *m;
	struct plan *plan;
	size_t *turn; /* for each size, whose turn it is in size->pieces */
	int64_t *
	    handed; /* for each entry of problem->pieces, how many are placed */
};

static size_t hand_out(struct finish *f, size_t size)
{
	const struct size *s = &f->m->sizes[size];
	size_t piece;

	assert(f->turn[size] < s->n_pieces);
	piece = s->pieces[f->turn[size]];
	if (++f->handed[piece] == f->m->problem->pieces[piece].count)
		f->turn[size]++;
	return piece;
}

/* Was the piece turned, seen from how it was asked for? */
static bool is_turned(
    const struct finish *f, size_t piece, const struct way *w, bool quarter)
{
	const struct piece *p = &f->m->problem->pieces[piece];
	bool exchanged = !(w->w == p->across && w->h == p->along);

	return p->across != p->along && exchanged != quarter;
}

static void finish_stack(struct finish *f, const struct pattern *p,
    const struct part *part, bool quarter, struct segment *out)
{
	const struct model *m = f->m;
	length sum = 0, rest, at = 0;

	out->n_pieces = part->n;
	out->pieces =
	    arena_array(f->plan->arena, part->n, sizeof(*out->pieces));
	for (size_t k = 0; k < part->n; k++)
		sum += m->ways[p->ways[part->first + k]].h;
	rest = p->height - sum;
	if (rest > (length)part->n * m->oversize)
		rest = 0; /* torn off */
	for (size_t k = 0; k < part->n; k++) {
		const struct way *w = &m->ways[p->ways[part->first + k]];
		struct placed *placed = &out->pieces[k];
		length more = rest < m->oversize ? rest : m->oversize;
		length beside = out->width - w->w;

		placed->piece = hand_out(f, w->size);
		placed->turned = is_turned(f, placed->piece, w, quarter);
		placed->at = at;
		placed->across = beside <= m->oversize ? out->width : w->w;
		placed->along = w->h + more;
		rest -= more;
		at += placed->along;
	}
}

static void finish_strip(struct finish *f, const struct laid *laid,
    const struct bin *bin, struct strip *out)
{
	const struct model *m = f->m;
	const struct pattern *p = laid->pattern;
	length rest = m->frames[bin->frame].whole - p->used, stretch = 0,
	       at = 0;

	out->at = laid->at;
	out->height = p->height;
	out->n_segments = p->n_parts;
	out->segments =
	    arena_array(f->plan->arena, p->n_parts, sizeof(*out->segments));
	for (size_t i = 0; i < p->n_parts; i++)
		stretch += pattern_stretch(m, p, i);
	if (rest > stretch)
		rest = 0; /* torn off */
	for (size_t i = 0; i < p->n_parts; i++) {
		length more = pattern_stretch(m, p, i);

		more = more < rest ? more : rest;
		rest -= more;
		out->segments[i].at = at;
		out->segments[i].width = p->parts[i].width + more;
		finish_stack(
		    f, p, &p->parts[i], bin->quarter, &out->segments[i]);
		at += out->segments[i].width;
	}
}

static int compare_laid(const void *x, const void *y)
{
	const struct laid *a = x, *b = y;

	return (a->at > b->at) - (a->at < b->at);
}

static void finish_roll(
    struct finish *f, const struct used *used, struct roll *out)
{
	const struct bin *bin = &f->m->bins[used->bin];
	const struct stock *stock = &f->m->problem->stock[bin->stock];

	out->stock = bin->stock;
	out->quarter = bin->quarter;
	out->width = bin->quarter ? stock->length : stock->width;
	out->length = bin->quarter ? stock->width : stock->length;
	out->n_strips = used->n_laid;
	out->strips =
	    arena_array(f->plan->arena, used->n_laid, sizeof(*out->strips));
	qsort(used->laid, used->n_laid, sizeof(*used->laid), compare_laid);
	for (size_t k = 0; k < used->n_laid; k++)
		finish_strip(f, &used->laid[k], bin, &out->strips[k]);
}

struct plan *draft_finish(const struct draft *draft)
{
	const struct model *m = draft->model;
	const struct problem *problem = m->problem;
	struct finish f = {
	    .m = m, .plan = plan_new(draft->n_used, problem->n_pieces)};

	f.turn = xcalloc(m->n_sizes, sizeof(*f.turn));
	f.handed = xcalloc(problem->n_pieces, sizeof(*f.handed));
	for (size_t i = 0; i < draft->n_used; i++)
		finish_roll(&f, &draft->used[i], &f.plan->rolls[i]);
	for (size_t i = 0; i < problem->n_pieces; i++)
		f.plan->unplaced[i] = problem->pieces[i].count - f.handed[i];
	free(f.handed);
	free(f.turn);
	plan_count(problem, f.plan, &f.plan->totals);
	return f.plan;
}
