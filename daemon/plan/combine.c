/* SPDX-License-Identifier: MIT */
/*
 * combine.c - two or three kinds of strips become fewer, or ones with fewer tears.
 *
 * Pattern combination at constant height (Foerster and Waescher 2000, from memory): the
 * segments of all these strips are laid out anew as P so many times and Q so many times.
 * With c of a segment in all, c = k P + l Q in whole numbers leaves few choices for each
 * segment, so they are all tried, widest segments first.
 */
#include "exchange.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "tears.h"

#define NODES 2000     /* of one search */
#define SEGMENTS 48    /* different ones */
#define TIMES_FIRST 12 /* P once, twice, ... so often */

struct atom { /* a segment, however often */
	const struct pattern *of;
	const struct part *part;
	uint64_t mark;
	length stretch;
	int64_t count;
	bool fits[2]; /* into P, into Q */
	int64_t tears[2];
};

struct value {
	int64_t tears, kinds;
	int64_t
	    even; /* less: many copies of a few kinds, which may become one later */
};

struct split {
	struct exchange *x;
	size_t frame;
	length height[2];
	int64_t times[2];
	struct atom *atoms;
	size_t n;
	int64_t *count[2]; /* of each atom in P and in Q */
	int64_t *best[2];
	int64_t best_times[2];
	struct value value; /* of the best */
	bool found;
	int64_t nodes;
};

static bool is_better(struct value a, struct value b)
{
	if (a.tears != b.tears)
		return a.tears < b.tears;
	return a.kinds != b.kinds ? a.kinds < b.kinds : a.even < b.even;
}

/* The row of P or Q: false when it cannot be torn. */
static bool row_stands(const struct split *s, int side, bool *full)
{
	const struct model *m = s->x->m;
	const struct frame *frame = &m->frames[s->frame];
	length used = 0, stretch = 0, rest;

	for (size_t i = 0; i < s->n; i++) {
		used += s->count[side][i] * s->atoms[i].part->width;
		stretch += s->count[side][i] * s->atoms[i].stretch;
	}
	rest = frame->whole - used;
	*full = rest <= stretch;
	return used > 0 && used <= frame->width &&
	       (rest >= m->sliver || rest <= stretch);
}

static uint64_t mark_of(const struct split *s, int side)
{
	uint64_t mark = height_mark(s->height[side]);

	for (size_t i = 0; i < s->n; i++)
		mark += (uint64_t)s->count[side][i] * s->atoms[i].mark;
	return mark;
}

static void weigh(struct split *s)
{
	struct value v = {0};
	uint64_t mark[2];

	for (int side = 0; side < 2; side++) {
		bool full;

		if (!row_stands(s, side, &full))
			return;
		v.tears -= full ? s->times[side] : 0;
		for (size_t i = 0; i < s->n; i++)
			v.tears += s->times[side] * s->count[side][i] *
				   s->atoms[i].tears[side];
		mark[side] = mark_of(s, side);
	}
	if (v.tears > s->value.tears)
		return;
	for (int side = 0; side < 2; side++) {
		int64_t there = exchange_copies(s->x, s->frame, mark[side]);
		int64_t times = s->times[side];

		if (side == 1 && mark[1] == mark[0])
			there += s->times[0];
		v.kinds += there == 0;
		v.even -= times * (2 * there + times); /* (there + times)^2 */
	}
	if (!is_better(v, s->value))
		return;
	s->value = v;
	s->found = true;
	for (int side = 0; side < 2; side++) {
		memcpy(s->best[side], s->count[side], s->n * sizeof(int64_t));
		s->best_times[side] = s->times[side];
	}
}

static void search(struct split *s, size_t i, length room0, length room1)
{
	const struct atom *a;

	if (i == s->n) {
		weigh(s);
		return;
	}
	a = &s->atoms[i];
	for (int64_t p = 0; p * s->times[0] <= a->count && s->nodes > 0; p++) {
		int64_t rest = a->count - p * s->times[0];
		length w = a->part->width;

		if (p * w > room0 || (p > 0 && !a->fits[0]))
			return;
		s->nodes--;
		if (rest % s->times[1] != 0)
			continue;
		rest /= s->times[1];
		if (rest * w > room1 || (rest > 0 && !a->fits[1]))
			continue;
		s->count[0][i] = p;
		s->count[1][i] = rest;
		search(s, i + 1, room0 - p * w, room1 - rest * w);
	}
}

static void try_times(struct split *s, int64_t p, int64_t q)
{
	length width = s->x->m->frames[s->frame].width;
	int64_t nodes = NODES;

	s->nodes = NODES;
	s->times[0] = p;
	s->times[1] = q;
	search(s, 0, width, width);
	budget_spend(s->x->budget, 20 * (nodes - s->nodes));
}

/* The segment among the atoms; false when there are too many. */
static bool add_atom(struct split *s, const struct pattern *p,
    const struct part *part, int64_t copies)
{
	const struct model *m = s->x->m;
	uint64_t mark = part_mark(p, part);
	struct atom *a;
	size_t i = 0;

	while (i < s->n && s->atoms[i].mark != mark)
		i++;
	if (i == SEGMENTS)
		return false;
	a = &s->atoms[i];
	if (i == s->n) {
		length fill = 0;

		*a = (struct atom){.of = p, .part = part, .mark = mark};
		a->stretch = pattern_stretch(m, p, (size_t)(part - p->parts));
		for (size_t k = 0; k < part->n; k++)
			fill += m->ways[p->ways[part->first + k]].h;
		for (int side = 0; side < 2; side++) {
			a->fits[side] =
			    rest_allowed(m, s->height[side] - fill, part->n);
			a->tears[side] =
			    part_tears(m, s->height[side], p, part);
		}
		s->n++;
	}
	a->count += copies;
	return true;
}

static int compare_atoms(const void *x, const void *y)
{
	const struct atom *a = x, *b = y;

	if (a->part->width != b->part->width)
		return a->part->width > b->part->width ? -1 : 1;
	return (a->mark > b->mark) - (a->mark < b->mark);
}

static const struct pattern *build(const struct split *s, int side)
{
	size_t n_parts = 0, n_ways = 0;
	struct pattern *p;

	for (size_t i = 0; i < s->n; i++) {
		n_parts += (size_t)s->best[side][i];
		n_ways += (size_t)s->best[side][i] * s->atoms[i].part->n;
	}
	p = pattern_new(s->x->arena, s->height[side], n_parts, n_ways);
	for (size_t i = 0; i < s->n; i++)
		for (int64_t c = 0; c < s->best[side][i]; c++) {
			const struct atom *a = &s->atoms[i];

			pattern_add_part(p, a->part->width);
			for (size_t k = 0; k < a->part->n; k++)
				pattern_add_way(
				    p, a->of->ways[a->part->first + k]);
		}
	pattern_sort(s->x->m, p);
	return p;
}

/* How the strips taken are now. */
static bool load(struct split *s, const struct take take[], size_t n)
{
	const struct exchange *x = s->x;
	bool ok = true;

	s->height[0] = s->height[1] = x->kinds[take[0].kind].pattern->height;
	for (size_t i = 1; i < n; i++)
		if (x->kinds[take[i].kind].pattern->height != s->height[0])
			s->height[1] = x->kinds[take[i].kind].pattern->height;
	for (size_t i = 0; i < n && ok; i++) {
		const struct kind *k = &x->kinds[take[i].kind];
		const struct pattern *p = k->pattern;

		s->value.kinds += k->copies == 0;
		s->value.even -=
		    take[i].copies * (2 * k->copies + take[i].copies);
		s->value.tears += take[i].copies * pattern_tears(x->m, p,
						       &x->m->frames[k->frame]);
		for (size_t j = 0; j < p->n_parts && ok; j++)
			ok = add_atom(s, p, &p->parts[j], take[i].copies);
	}
	qsort(s->atoms, s->n, sizeof(*s->atoms), compare_atoms);
	return ok;
}

static void search_times(struct split *s, const struct take take[], size_t n)
{
	int64_t all = 0;

	if (s->height[0] != s->height[1]) {
		try_times(s, take[0].copies, take[1].copies);
		return;
	}
	for (size_t i = 0; i < n; i++)
		all += take[i].copies;
	for (int64_t p = 1; 2 * p <= all && p <= TIMES_FIRST; p++)
		try_times(s, p, all - p);
	for (size_t i = 0; i < n; i++)
		if (take[i].copies > TIMES_FIRST)
			try_times(s, take[i].copies, all - take[i].copies);
}

bool exchange_combine(struct exchange *x, const struct take take[], size_t n)
{
	struct split s = {.x = x, .frame = x->kinds[take[0].kind].frame};
	const struct pattern *p[2];

	s.atoms = xcalloc(SEGMENTS, sizeof(*s.atoms));
	for (int side = 0; side < 2; side++) {
		s.count[side] = xcalloc(SEGMENTS, sizeof(int64_t));
		s.best[side] = xcalloc(SEGMENTS, sizeof(int64_t));
	}
	for (size_t i = 0; i < n; i++)
		x->kinds[take[i].kind].copies -= take[i].copies;
	if (load(&s, take, n))
		search_times(&s, take, n);
	if (s.found) {
		for (int side = 0; side < 2; side++)
			p[side] = build(&s, side);
		for (int side = 0; side < 2; side++)
			exchange_add(x, s.frame, p[side], s.best_times[side]);
	} else {
		for (size_t i = 0; i < n; i++)
			x->kinds[take[i].kind].copies += take[i].copies;
	}
	for (int side = 0; side < 2; side++) {
		free(s.count[side]);
		free(s.best[side]);
	}
	free(s.atoms);
	return s.found;
}
