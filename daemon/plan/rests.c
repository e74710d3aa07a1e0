/* SPDX-License-Identifier: MIT */
/*
 * rests.c - small orders by what is left of them.
 *
 * A *rest* says how many pieces of each size there still are.  For a height h the least
 * width in which a rest can lie is the least over its stacks of the stack's width and the
 * least width of what then remains; a strip of height h holds a rest if that width is the
 * roll's or less.  Once the lowest strip of every rest is known, the least length of a
 * rest is the least over its strips of the strip's height and the least length of what
 * remains.  Strips as high as the best plan is long are of no use, nor stacks and strips
 * that waste more area than all of a shorter plan may: that leaves few.  The answer is
 * final, whether a shorter plan is found or not.
 *
 * The counts of a rest are the bytes of one 64-bit word, so that "is part of" is one
 * subtraction (SWAR; Lamport 1975, from memory).
 */
#include "rests.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "master.h"
#include "rolls.h"
#include "strips_own.h"

#define SIZES_MOST 8
#define COUNT_MOST 100
#define RESTS_MOST 20000
#define TOP_BITS UINT64_C(0x8080808080808080)

struct stack {
	uint64_t counts;
	size_t rest; /* its place among the rests */
	length width;
};

struct rests {
	const struct model *m;
	struct budget *budget;
	size_t n, n_sizes;
	size_t step[SIZES_MOST + 1]; /* from a count to the place of its rest */
	uint64_t *counts;            /* of each rest */
	area *area;
	length width;
	wide slack;     /* area that a shorter plan may waste */
	length *widths; /* of ways, rising: a segment has one of them */
	size_t n_widths;
	length
	    *high; /* [width * n + rest]: the lowest stack so wide; 0: none */
	length *heights; /* of stacks, rising */
	size_t n_heights;
	length *strip;  /* of each rest: the lowest strip for it; 0: none */
	length *total;  /* of each rest: the least length */
	size_t *chosen; /* of each rest: the strip's part of it */
	/* of one height */
	struct stack *stacks;
	size_t n_stacks;
	length *least; /* width of each rest */
	size_t *last;  /* of each rest: the stack that is taken */
	int64_t until; /* steps */
};

static bool is_part(uint64_t part, uint64_t of)
{
	return (((of | TOP_BITS) - part) & TOP_BITS) == TOP_BITS;
}

static int64_t count_of(uint64_t counts, size_t i)
{
	return (int64_t)(counts >> (8 * i) & 0x7f);
}

/* The first size that the rest has any of: a part that has it comes first. */
static size_t first_of(uint64_t counts)
{
	size_t i = 0;

	while (count_of(counts, i) == 0)
		i++;
	return i;
}

/* False: too many. */
static bool number_rests(struct rests *r)
{
	const struct model *m = r->m;

	if (m->n_sizes > SIZES_MOST)
		return false;
	r->n = 1;
	r->n_sizes = m->n_sizes;
	for (size_t i = 0; i < m->n_sizes; i++) {
		if (m->sizes[i].demand > COUNT_MOST)
			return false;
		r->step[i] = r->n;
		r->n *= (size_t)m->sizes[i].demand + 1;
		if (r->n > RESTS_MOST)
			return false;
	}
	r->step[m->n_sizes] = r->n;
	r->counts = xcalloc(r->n, sizeof(*r->counts));
	r->area = xcalloc(r->n, sizeof(*r->area));
	for (size_t k = 0; k < r->n; k++)
		for (size_t i = 0; i < m->n_sizes; i++) {
			size_t c =
			    k / r->step[i] % ((size_t)m->sizes[i].demand + 1);

			r->counts[k] |= (uint64_t)c << (8 * i);
			r->area[k] += (area)c * m->sizes[i].a * m->sizes[i].b;
		}
	return true;
}

/* The way of a size that is lowest among those no wider than v; NULL: none. */
static const struct way *lowest_way(
    const struct rests *r, size_t size, length v)
{
	const struct frame *f = &r->m->frames[0];
	const struct way *best = NULL;

	for (size_t k = 0; k < f->n_ways; k++) {
		const struct way *w = &r->m->ways[f->ways[k]];

		if (w->size == size && w->w <= v &&
		    (best == NULL || w->h < best->h))
			best = w;
	}
	return best;
}

/* The lowest stack of every rest in segments of every width. */
static void find_stacks(struct rests *r, length most)
{
	const struct frame *f = &r->m->frames[0];

	r->widths = xcalloc(f->n_ways + 1, sizeof(*r->widths));
	for (size_t k = 0; k < f->n_ways; k++)
		r->widths[k] = r->m->ways[f->ways[k]].w;
	r->n_widths = strips_unique(r->widths, f->n_ways);
	r->high = xcalloc(r->n_widths * r->n + 1, sizeof(*r->high));
	r->heights = xcalloc(r->n_widths * r->n + 1, sizeof(*r->heights));
	for (size_t v = 0; v < r->n_widths; v++)
		for (size_t i = 0; i < r->n_sizes; i++) {
			const struct way *w = lowest_way(r, i, r->widths[v]);
			length *high = &r->high[v * r->n];

			for (size_t k = 1; k < r->n; k++) {
				int64_t c = count_of(r->counts[k], i);

				if (c == 0 || high[k] < 0)
					continue;
				high[k] = w == NULL ? -1 : high[k] + c * w->h;
			}
		}
	for (size_t j = 0; j < r->n_widths * r->n; j++)
		if (r->high[j] > 0 && r->high[j] <= most)
			r->heights[r->n_heights++] = r->high[j];
	r->n_heights = strips_unique(r->heights, r->n_heights);
}

/* The stacks that fit into a strip of height h, each as narrow as can be. */
static void list_stacks(struct rests *r, length h)
{
	r->n_stacks = 0;
	for (size_t k = 1; k < r->n; k++)
		for (size_t v = 0; v < r->n_widths; v++) {
			length high = r->high[v * r->n + k];

			if (high <= 0 || high > h)
				continue;
			if ((wide)h * r->widths[v] - r->area[k] > r->slack)
				break;
			r->stacks[r->n_stacks++] =
			    (struct stack){r->counts[k], k, r->widths[v]};
			break;
		}
}

/* The least width of every rest that a strip of height h could hold; false: stopped. */
static bool fill_widths(struct rests *r, length h)
{
	wide room = (wide)h * r->width;

	list_stacks(r, h);
	if (!budget_spend(r->budget, (int64_t)(r->n * r->n_widths)))
		return false;
	for (size_t k = 1; k < r->n; k++) {
		uint64_t counts = r->counts[k];
		uint64_t first = UINT64_C(0x7f) << (8 * first_of(counts));

		r->least[k] = INT64_MAX / 4;
		if (r->area[k] > room)
			continue;
		for (size_t s = 0; s < r->n_stacks; s++) {
			const struct stack *t = &r->stacks[s];
			length width;

			if (t->rest > k)
				break;
			if ((t->counts & first) == 0 ||
			    !is_part(t->counts, counts))
				continue;
			width = t->width + r->least[k - t->rest];
			if (width < r->least[k] &&
			    (wide)h * width - r->area[k] <= r->slack) {
				r->least[k] = width;
				r->last[k] = s;
			}
		}
		if (!budget_spend(r->budget, (int64_t)r->n_stacks))
			return false;
	}
	return true;
}

/* The lowest strip of every rest, heights from below; false: too much work, or stopped. */
static bool find_strips(struct rests *r)
{
	for (size_t j = 0; j < r->n_heights; j++) {
		if (r->budget->steps > r->until ||
		    !fill_widths(r, r->heights[j]))
			return false;
		for (size_t k = 1; k < r->n; k++)
			if (r->strip[k] == 0 && r->least[k] <= r->width)
				r->strip[k] = r->heights[j];
	}
	return true;
}

/* The least length of every rest. */
static bool find_totals(struct rests *r)
{
	for (size_t k = 1; k < r->n; k++) {
		uint64_t first = UINT64_C(0x7f) << (8 * first_of(r->counts[k]));

		r->total[k] = INT64_MAX / 4;
		for (size_t s = 1; s <= k; s++) {
			length total;

			if (r->strip[s] == 0 || (r->counts[s] & first) == 0 ||
			    !is_part(r->counts[s], r->counts[k]))
				continue;
			total = r->strip[s] + r->total[k - s];
			if (total < r->total[k]) {
				r->total[k] = total;
				r->chosen[k] = s;
			}
		}
		if (!budget_spend(r->budget, (int64_t)k))
			return false;
	}
	return true;
}

/* The strip that holds this rest, stack by stack. */
static struct pattern *make_strip(
    struct rests *r, size_t rest, struct arena *arena)
{
	size_t pieces = 0;
	struct pattern *p;

	for (size_t i = 0; i < r->n_sizes; i++)
		pieces += (size_t)count_of(r->counts[rest], i);
	p = pattern_new(arena, r->strip[rest], pieces, pieces);
	if (!fill_widths(r, r->strip[rest]))
		return NULL;
	for (; rest > 0; rest -= r->stacks[r->last[rest]].rest) {
		const struct stack *s = &r->stacks[r->last[rest]];

		pattern_add_part(p, s->width);
		for (size_t i = 0; i < r->n_sizes; i++)
			for (int64_t c = count_of(s->counts, i); c > 0; c--)
				pattern_add_way(
				    p, (size_t)(lowest_way(r, i, s->width) -
						r->m->ways));
	}
	pattern_sort(r->m, p);
	return p;
}

static void offer(struct rests *r, struct maker *mk)
{
	struct picks picks = {0};
	struct arena *arena = arena_new((size_t)1 << 26);
	bool all = true;

	for (size_t rest = r->n - 1; rest > 0 && all; rest -= r->chosen[rest]) {
		const struct pattern *p = make_strip(r, r->chosen[rest], arena);

		all = p != NULL;
		if (all)
			picks_add(&picks, p, 1);
	}
	if (all)
		maker_offer(mk, rolls_pack(r->m, 0, &picks, &mk->budget));
	picks_free(&picks);
	arena_delete(arena);
}

static void run(struct rests *r, struct maker *mk)
{
	const struct model *m = mk->model;
	length known = mk->totals.strip_length, least,
	       most = known - 1 < m->frames[0].longest ? known - 1
						       : m->frames[0].longest;

	r->width = m->frames[0].width;
	r->slack = (wide)r->width * (known - 1) - r->area[r->n - 1];
	find_stacks(r, most);
	r->strip = xcalloc(r->n, sizeof(*r->strip));
	r->total = xcalloc(r->n, sizeof(*r->total));
	r->chosen = xcalloc(r->n, sizeof(*r->chosen));
	r->stacks = xcalloc(r->n, sizeof(*r->stacks));
	r->least = xcalloc(r->n, sizeof(*r->least));
	r->last = xcalloc(r->n, sizeof(*r->last));
	if (!find_strips(r) || !find_totals(r))
		return;
	least = r->total[r->n - 1] < known ? r->total[r->n - 1] : known;
	if (least > mk->bounds.strip_length)
		mk->bounds.strip_length = least;
	if (least < known)
		offer(r, mk);
}

void rests_run(struct maker *mk, int64_t work)
{
	struct rests r = {.m = mk->model,
	    .budget = &mk->budget,
	    .until = mk->budget.steps + work};

	if (number_rests(&r))
		run(&r, mk);
	free(r.counts);
	free(r.area);
	free(r.widths);
	free(r.high);
	free(r.heights);
	free(r.strip);
	free(r.total);
	free(r.chosen);
	free(r.stacks);
	free(r.least);
	free(r.last);
}
