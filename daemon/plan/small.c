/* SPDX-License-Identifier: MIT */
/*
 * small.c - dynamic programming over sets of pieces.
 *
 * A set is how many pieces of each size, written as one number in mixed base.  For a
 * height h: the least width in which a set stands in stacks no higher than h, over the
 * stack that holds its first piece.  The first height at which that width fits the roll is
 * the set's least strip.  Then the least length of a set, over the strip that holds its
 * first piece.  Everything is looked at, so the length is the least of all plans; only for
 * orders of some hundred sets, a few sizes with a few pieces each.
 */
#include "small.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "master.h"
#include "rolls.h"

#define SETS_MOST 5000
#define SIZES_MOST 8
#define WORK 400000000
#define FAR (INT64_MAX / 4)

struct small {
	struct maker *mk;
	const struct model *m;
	const struct frame *f;
	size_t n, sets;
	int16_t (*count)[SIZES_MOST]; /* of each set */
	size_t *first;                /* its first size */
	length *heights;              /* of stacks, rising */
	size_t n_heights;
	length *stack, *width; /* by set, for the height in hand */
	size_t *taken;         /* the stack that its width comes from */
	length *strip, *least; /* by set */
	size_t *chosen;        /* the strip that its least length comes from */
};

static bool count_sets(struct small *s)
{
	s->n = s->m->n_sizes;
	s->sets = 1;
	for (size_t i = 0; i < s->n; i++) {
		if (s->n > SIZES_MOST || s->m->sizes[i].demand >= SETS_MOST)
			return false;
		s->sets *= (size_t)s->m->sizes[i].demand + 1;
		if (s->sets > SETS_MOST)
			return false;
	}
	return true;
}

static void write_counts(struct small *s)
{
	for (size_t c = 0; c < s->sets; c++) {
		size_t rest = c;

		s->first[c] = s->n;
		for (size_t i = 0; i < s->n; i++) {
			size_t base = (size_t)s->m->sizes[i].demand + 1;

			s->count[c][i] = (int16_t)(rest % base);
			rest /= base;
			if (s->count[c][i] > 0 && s->first[c] == s->n)
				s->first[c] = i;
		}
	}
}

static bool is_part(const struct small *s, size_t part, size_t all)
{
	for (size_t i = 0; i < s->n; i++)
		if (s->count[part][i] > s->count[all][i])
			return false;
	return true;
}

/* The lower way of the size that is no wider than v; SIZE_MAX: none. */
static size_t low_way(const struct small *s, size_t size, length v)
{
	size_t best = SIZE_MAX;

	for (size_t k = 0; k < s->f->n_ways; k++) {
		size_t way = s->f->ways[k];
		const struct way *w = &s->m->ways[way];

		if (w->size == size && w->w <= v &&
		    (best == SIZE_MAX || w->h < s->m->ways[best].h))
			best = way;
	}
	return best;
}

/* How high the set is in one stack of width v; FAR: a piece is wider. */
static length stack_height(const struct small *s, size_t c, length v)
{
	length sum = 0;

	for (size_t i = 0; i < s->n; i++) {
		size_t way = s->count[c][i] > 0 ? low_way(s, i, v) : SIZE_MAX;

		if (s->count[c][i] > 0 && way == SIZE_MAX)
			return FAR;
		if (s->count[c][i] > 0)
			sum += s->count[c][i] * s->m->ways[way].h;
	}
	return sum;
}

static int compare_lengths(const void *x, const void *y)
{
	length a = *(const length *)x, b = *(const length *)y;

	return (a > b) - (a < b);
}

/* high[c * n_ways + k]: the set in a stack as wide as way k. */
static length *find_heights(struct small *s)
{
	size_t n = s->sets * s->f->n_ways, kept = 0;
	length *high = xcalloc(n, sizeof(*high));

	s->heights = xcalloc(n, sizeof(*s->heights));
	for (size_t c = 1; c < s->sets; c++)
		for (size_t k = 0; k < s->f->n_ways; k++) {
			length h =
			    stack_height(s, c, s->m->ways[s->f->ways[k]].w);

			high[c * s->f->n_ways + k] = h;
			if (h <= s->f->longest)
				s->heights[s->n_heights++] = h;
		}
	qsort(s->heights, s->n_heights, sizeof(*s->heights), compare_lengths);
	for (size_t i = 0; i < s->n_heights; i++)
		if (kept == 0 || s->heights[kept - 1] != s->heights[i])
			s->heights[kept++] = s->heights[i];
	s->n_heights = kept;
	return high;
}

/* Widths of all sets in strips of height h. */
static bool find_widths(struct small *s, const length high[], length h)
{
	int64_t steps = 0;

	for (size_t c = 1; c < s->sets; c++) {
		s->stack[c] = FAR;
		for (size_t k = 0; k < s->f->n_ways; k++) {
			length v = s->m->ways[s->f->ways[k]].w;

			if (high[c * s->f->n_ways + k] <= h && v < s->stack[c])
				s->stack[c] = v;
		}
	}
	for (size_t c = 1; c < s->sets; c++) {
		s->width[c] = FAR;
		for (size_t t = 1; t <= c; t++)
			if (s->stack[t] + s->width[c - t] < s->width[c] &&
			    s->first[t] == s->first[c] && is_part(s, t, c)) {
				s->width[c] = s->stack[t] + s->width[c - t];
				s->taken[c] = t;
			}
		steps += (int64_t)c / 4 + 1;
	}
	return budget_spend(&s->mk->budget, steps);
}

/* The least strip of every set; false: stopped, or too much work. */
static bool find_strips(struct small *s, const length high[])
{
	size_t known = 1;

	if ((wide)s->sets * s->sets / 8 * s->n_heights > WORK)
		return false;
	for (size_t c = 1; c < s->sets; c++)
		s->strip[c] = FAR;
	for (size_t i = 0; i < s->n_heights && known < s->sets; i++) {
		if (!find_widths(s, high, s->heights[i]))
			return false;
		for (size_t c = 1; c < s->sets; c++)
			if (s->strip[c] == FAR && s->width[c] <= s->f->width) {
				s->strip[c] = s->heights[i];
				known++;
			}
	}
	return true;
}

static void find_lengths(struct small *s)
{
	for (size_t c = 1; c < s->sets; c++) {
		s->least[c] = FAR;
		for (size_t t = 1; t <= c; t++)
			if (s->strip[t] + s->least[c - t] < s->least[c] &&
			    s->first[t] == s->first[c] && is_part(s, t, c)) {
				s->least[c] = s->strip[t] + s->least[c - t];
				s->chosen[c] = t;
			}
	}
}

static struct pattern *write_strip(
    struct small *s, const length high[], size_t set, struct arena *arena)
{
	size_t pieces = 0;
	struct pattern *p;

	for (size_t i = 0; i < s->n; i++)
		pieces += (size_t)s->count[set][i];
	if (!find_widths(s, high, s->strip[set]))
		return NULL;
	p = pattern_new(arena, s->strip[set], pieces, pieces);
	for (size_t c = set; c > 0; c -= s->taken[c]) {
		size_t t = s->taken[c];

		pattern_add_part(p, s->stack[t]);
		for (size_t i = 0; i < s->n; i++)
			for (int16_t k = 0; k < s->count[t][i]; k++)
				pattern_add_way(p, low_way(s, i, s->stack[t]));
	}
	pattern_sort(s->m, p);
	return p;
}

static void offer(struct small *s, const length high[])
{
	struct arena *arena = arena_new((size_t)1 << 24);
	struct picks picks = {0};
	bool ok = true;

	for (size_t c = s->sets - 1; c > 0 && ok; c -= s->chosen[c]) {
		struct pattern *p = write_strip(s, high, s->chosen[c], arena);

		ok = p != NULL;
		if (ok)
			picks_add(&picks, p, 1);
	}
	if (ok)
		maker_offer(s->mk, rolls_pack(s->m, 0, &picks, &s->mk->budget));
	picks_free(&picks);
	arena_delete(arena);
}

void make_small(struct maker *mk)
{
	struct small s = {.mk = mk, .m = mk->model, .f = &mk->model->frames[0]};
	length *high;

	if (!count_sets(&s))
		return;
	s.count = xcalloc(s.sets, sizeof(*s.count));
	s.first = xcalloc(s.sets, sizeof(*s.first));
	s.stack = xcalloc(s.sets, sizeof(*s.stack));
	s.width = xcalloc(s.sets, sizeof(*s.width));
	s.taken = xcalloc(s.sets, sizeof(*s.taken));
	s.strip = xcalloc(s.sets, sizeof(*s.strip));
	s.least = xcalloc(s.sets, sizeof(*s.least));
	s.chosen = xcalloc(s.sets, sizeof(*s.chosen));
	write_counts(&s);
	high = find_heights(&s);
	if (find_strips(&s, high)) {
		find_lengths(&s);
		if (s.least[s.sets - 1] < FAR) {
			if (s.least[s.sets - 1] > mk->bounds.strip_length)
				mk->bounds.strip_length = s.least[s.sets - 1];
			offer(&s, high);
		}
	}
	free(high);
	free(s.heights);
	free(s.count);
	free(s.first);
	free(s.stack);
	free(s.width);
	free(s.taken);
	free(s.strip);
	free(s.least);
	free(s.chosen);
}
