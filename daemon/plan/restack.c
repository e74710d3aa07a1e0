/* SPDX-License-Identifier: MIT */
/*
 * restack.c - the pieces of one or two segments of a strip laid another way.
 *
 * Every division of the pieces is tried, and with few of them every way to turn them.
 * Fewer tears win; among as many the narrower strip, since its trim is the larger offcut.
 */
#include "exchange.h"

#include <stdlib.h>

#include "alloc.h"
#include "tears.h"

#define PIECES 10 /* of two segments: 2^9 divisions */
#define TURNED 5  /* pieces, up to which they are turned too: 2^4 * 2^5 */

struct pile { /* what lies in one of the two segments */
	length width, fill;
	size_t n;
};

struct restack {
	struct exchange *x;
	const struct frame *frame;
	const struct pattern *p;
	size_t from[2];      /* the two segments; equal: only one */
	size_t ways[PIECES]; /* of both, as they lie now */
	size_t n;
	int64_t tears; /* of the two */
	length width;
	/* one division */
	unsigned side, turned; /* by piece */
	struct pile pile[2];
};

static size_t way_of(const struct restack *r, size_t n)
{
	return r->ways[n] ^ (r->turned >> n & 1);
}

static bool may_turn(const struct restack *r)
{
	const struct model *m = r->x->m;

	for (size_t n = 0; n < r->n; n++)
		if (r->turned >> n & 1 && !m->sizes[r->ways[n] / 2].turn)
			return false;
	return true;
}

/* The two stacks of a division: false when there cannot be such. */
static bool pile_up(struct restack *r)
{
	const struct model *m = r->x->m;
	size_t most = m->stages == 3 ? r->n : 1;

	if (!may_turn(r))
		return false;
	r->pile[0] = r->pile[1] = (struct pile){0};
	for (size_t n = 0; n < r->n; n++) {
		const struct way *w = &m->ways[way_of(r, n)];
		struct pile *to = &r->pile[r->side >> n & 1];

		to->fill += w->h;
		to->width = w->w > to->width ? w->w : to->width;
		to->n++;
	}
	return r->pile[0].fill <= r->p->height &&
	       r->pile[1].fill <= r->p->height && r->pile[0].n <= most &&
	       r->pile[1].n <= most;
}

/* May it have fewer tears or less width than the segments have?  Quick, to the safe
 * side: pieces narrower than their segment are not looked for, and the row may fill. */
static bool may_help(const struct restack *r)
{
	int64_t least = (int64_t)r->n;

	for (int side = 0; side < 2; side++)
		if (r->pile[side].n > 0)
			least += 1 - (r->p->height - r->pile[side].fill <=
					 (length)r->pile[side].n *
					     r->x->m->oversize);
	return least - 1 < r->tears ||
	       (least - 1 == r->tears &&
		   r->pile[0].width + r->pile[1].width < r->width);
}

static struct pattern *divided(const struct restack *r)
{
	const struct pattern *p = r->p;
	struct pattern *q =
	    pattern_new(r->x->arena, p->height, p->n_parts + 1, p->n_ways);

	for (size_t j = 0; j < p->n_parts; j++) {
		const struct part *part = &p->parts[j];

		if (j == r->from[0] || j == r->from[1])
			continue;
		pattern_add_part(q, part->width);
		for (size_t n = 0; n < part->n; n++)
			pattern_add_way(q, p->ways[part->first + n]);
	}
	for (unsigned side = 0; side < 2; side++) {
		if (r->pile[side].n == 0)
			continue;
		pattern_add_part(q, r->pile[side].width);
		for (size_t n = 0; n < r->n; n++)
			if ((r->side >> n & 1) == side)
				pattern_add_way(q, way_of(r, n));
	}
	pattern_sort(r->x->m, q);
	return q;
}

static void load(struct restack *r)
{
	const struct model *m = r->x->m;

	for (int s = 0; s < 2; s++) {
		const struct part *part = &r->p->parts[r->from[s]];

		if (s == 1 && r->from[1] == r->from[0])
			break;
		for (size_t n = 0; n < part->n; n++)
			r->ways[r->n++] = r->p->ways[part->first + n];
		r->tears += part_tears(m, r->p->height, r->p, part);
		r->width += part->width;
	}
}

/* The best division; NULL when none helps. */
static const struct pattern *divide(struct restack *r)
{
	const struct model *m = r->x->m;
	const struct pattern *best = NULL;
	int64_t least = pattern_tears(m, r->p, r->frame);
	length used = r->p->used;
	unsigned turns;

	load(r);
	turns = r->n <= TURNED ? 1u << r->n : 1;
	for (r->side = 0; r->side < 1u << (r->n - 1); r->side++)
		for (r->turned = 0; r->turned < turns; r->turned++) {
			const struct pattern *q;
			int64_t now;

			if (!pile_up(r) || !may_help(r))
				continue;
			budget_spend(r->x->budget, 50 * (int64_t)r->p->n_ways);
			q = divided(r);
			now = pattern_tears(m, q, r->frame);
			if (now > least || (now == least && q->used >= used) ||
			    !pattern_fits(m, q, r->frame))
				continue;
			best = q;
			least = now;
			used = q->used;
		}
	budget_spend(r->x->budget, (int64_t)turns << r->n);
	return best;
}

bool exchange_restack(struct exchange *x, size_t kind)
{
	const struct kind *k = &x->kinds[kind];
	const struct pattern *p = k->pattern;

	for (size_t i = 0; i < p->n_parts; i++)
		for (size_t j = i; j < p->n_parts && !x->budget->stopped; j++) {
			struct restack r = {.x = x,
			    .frame = &x->m->frames[k->frame],
			    .p = p,
			    .from = {i, j}};
			size_t n = p->parts[i].n + (j > i ? p->parts[j].n : 0);
			const struct pattern *q =
			    n <= PIECES ? divide(&r) : NULL;
			int64_t copies = k->copies;

			if (q == NULL)
				continue;
			x->kinds[kind].copies = 0;
			exchange_add(x, k->frame, q, copies);
			return true;
		}
	return false;
}
