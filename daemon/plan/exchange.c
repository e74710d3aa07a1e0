/* SPDX-License-Identifier: MIT */
/*
 * exchange.c - fewer tears, then fewer kinds of strips, with nothing else touched.
 *
 * Strips of one height may be exchanged freely: no roll is longer for it.  So what counts
 * is how many of each kind there are, and the moves (combine.c, restack.c) turn a few
 * kinds into others.  A move stays only if the pair (tears, kinds) gets smaller, or if
 * with the same pair copies move from rare kinds to frequent ones; so there is an end; it is a local optimum, not a proven one.  When all is done the places on the
 * rolls get their strips back, equal ones one after the other.
 */
#include "exchange.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "tears.h"

#define TRIPLES                                                                \
	60 /* kinds of one frame, up to which three are looked at together */

static uint64_t mix(uint64_t z)
{
	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
	return z ^ z >> 31;
}

uint64_t part_mark(const struct pattern *p, const struct part *part)
{
	uint64_t mark = (uint64_t)part->width;

	for (size_t k = part->first; k < part->first + part->n; k++)
		mark =
		    mix(mark + (p->ways[k] + 1) * UINT64_C(0x9e3779b97f4a7c15));
	return mix(mark);
}

uint64_t height_mark(length height)
{
	return mix((uint64_t)height * UINT64_C(0x9e3779b97f4a7c15));
}

uint64_t pattern_mark(const struct pattern *p)
{
	uint64_t mark = height_mark(p->height);

	for (size_t i = 0; i < p->n_parts; i++)
		mark += part_mark(p, &p->parts[i]);
	return mark;
}

/* Where the kind is in the table, or would be. */
static size_t *slot_of(const struct exchange *x, size_t frame, uint64_t mark)
{
	size_t i = (size_t)(mark + frame) & (x->n_table - 1);

	for (; x->table[i] != 0; i = (i + 1) & (x->n_table - 1)) {
		const struct kind *k = &x->kinds[x->table[i] - 1];

		if (k->mark == mark && k->frame == frame)
			break;
	}
	return &x->table[i];
}

static void fill_table(struct exchange *x)
{
	memset(x->table, 0, x->n_table * sizeof(*x->table));
	for (size_t i = 0; i < x->n; i++)
		*slot_of(x, x->kinds[i].frame, x->kinds[i].mark) = i + 1;
}

static void grow(struct exchange *x)
{
	x->cap = x->cap == 0 ? 64 : 2 * x->cap;
	x->kinds = xrealloc(x->kinds, x->cap, sizeof(*x->kinds));
	x->n_table = 4 * x->cap;
	free(x->table);
	x->table = xcalloc(x->n_table, sizeof(*x->table));
	fill_table(x);
}

int64_t exchange_copies(const struct exchange *x, size_t frame, uint64_t mark)
{
	size_t at = *slot_of(x, frame, mark);

	return at != 0 ? x->kinds[at - 1].copies : 0;
}

void exchange_add(struct exchange *x, size_t frame,
    const struct pattern *pattern, int64_t copies)
{
	uint64_t mark = pattern_mark(pattern);
	size_t *slot;
	struct kind *k;

	if (x->n == x->cap)
		grow(x);
	slot = slot_of(x, frame, mark);
	if (*slot == 0) {
		x->kinds[x->n++] = (struct kind){.frame = frame, .mark = mark};
		*slot = x->n;
	}
	k = &x->kinds[*slot - 1];
	if (k->copies == 0)
		k->pattern = pattern;
	k->copies += copies;
}

static void collect(struct exchange *x, const struct draft *d)
{
	for (size_t i = 0; i < d->n_used; i++) {
		const struct used *used = &d->used[i];
		size_t first = 0;

		for (size_t k = 1; k <= used->n_laid; k++) {
			const struct pattern *p = used->laid[first].pattern;

			if (k < used->n_laid && used->laid[k].pattern == p)
				continue;
			exchange_add(x, x->m->bins[used->bin].frame, p,
			    (int64_t)(k - first));
			budget_spend(x->budget, 10);
			first = k;
		}
	}
}

static int compare_kinds(const void *a, const void *b)
{
	const struct kind *x = a, *y = b;

	if (x->frame != y->frame)
		return x->frame < y->frame ? -1 : 1;
	if (x->pattern->height != y->pattern->height)
		return x->pattern->height > y->pattern->height ? -1 : 1;
	if (x->pattern->used != y->pattern->used)
		return x->pattern->used > y->pattern->used ? -1 : 1;
	return (x->mark > y->mark) - (x->mark < y->mark);
}

/* Without those of which nothing is left; in a fixed order. */
static void sort_kinds(struct exchange *x)
{
	size_t n = 0;

	for (size_t i = 0; i < x->n; i++)
		if (x->kinds[i].copies > 0)
			x->kinds[n++] = x->kinds[i];
	x->n = n;
	if (n == 0)
		return;
	qsort(x->kinds, n, sizeof(*x->kinds), compare_kinds);
	fill_table(x);
}

/* All copies, as many of the one as of the other, one of each. */
static bool combine_pair(struct exchange *x, size_t i, size_t k)
{
	int64_t a = x->kinds[i].copies, b = x->kinds[k].copies;
	int64_t both = a < b ? a : b;

	if (exchange_combine(x, (struct take[]){{i, a}, {k, b}}, 2))
		return true;
	if (a != b &&
	    exchange_combine(x, (struct take[]){{i, both}, {k, both}}, 2))
		return true;
	return both > 1 &&
	       exchange_combine(x, (struct take[]){{i, 1}, {k, 1}}, 2);
}

static bool same_height(const struct exchange *x, size_t i, size_t k)
{
	return x->kinds[i].frame == x->kinds[k].frame &&
	       x->kinds[i].pattern->height == x->kinds[k].pattern->height;
}

static bool is_left(const struct exchange *x, size_t i)
{
	return x->kinds[i].copies > 0 && !x->budget->stopped;
}

/* Every pair of kinds of a frame: those of one height, or the others. */
static bool combine_pairs(struct exchange *x, bool level)
{
	size_t n = x->n;
	bool helped = false;

	for (size_t i = 0; i < n; i++)
		for (size_t k = i + 1;
		     k < n && x->kinds[k].frame == x->kinds[i].frame; k++)
			if (is_left(x, i) && is_left(x, k) &&
			    same_height(x, i, k) == level)
				helped = combine_pair(x, i, k) || helped;
	return helped;
}

static bool combine_triples(struct exchange *x)
{
	size_t n = x->n <= TRIPLES ? x->n : TRIPLES;
	bool helped = false;

	for (size_t i = 0; i < n; i++)
		for (size_t k = i + 1; k < n && same_height(x, i, k); k++)
			for (size_t l = k + 1; l < n && same_height(x, i, l);
			     l++)
				if (is_left(x, i) && is_left(x, k) &&
				    is_left(x, l))
					helped =
					    exchange_combine(x,
						(struct take[]){
						    {i, x->kinds[i].copies},
						    {k, x->kinds[k].copies},
						    {l, x->kinds[l].copies}},
						3) ||
					    helped;
	return helped;
}

static bool restack_all(struct exchange *x)
{
	size_t n = x->n;
	bool helped = false;

	for (size_t i = 0; i < n; i++)
		helped = (is_left(x, i) && exchange_restack(x, i)) || helped;
	return helped;
}

static void improve(struct exchange *x)
{
	bool helped = true;

	while (helped && !x->budget->stopped) {
		sort_kinds(x);
		helped = restack_all(x);
		sort_kinds(x);
		helped = combine_pairs(x, true) || helped;
		sort_kinds(x);
		helped = combine_triples(x) || helped;
		sort_kinds(x);
		helped = combine_pairs(x, false) || helped;
	}
	sort_kinds(x);
}

/* The next strip for a place of this height. */
static const struct pattern *hand_out(
    struct exchange *x, size_t frame, length height)
{
	size_t low = 0, high = x->n;

	while (low < high) {
		size_t mid = low + (high - low) / 2;
		const struct kind *k = &x->kinds[mid];

		if (k->frame < frame ||
		    (k->frame == frame && k->pattern->height > height))
			low = mid + 1;
		else
			high = mid;
	}
	while (x->kinds[low].copies == 0)
		low++;
	x->kinds[low].copies--;
	return x->kinds[low].pattern;
}

static void lay_again(
    struct exchange *x, const struct draft *d, struct draft *to)
{
	for (size_t i = 0; i < d->n_used; i++) {
		const struct used *from = &d->used[i];
		size_t frame = x->m->bins[from->bin].frame;
		struct used *used = draft_take(to, from->bin);

		for (size_t k = 0; k < from->n_laid; k++)
			draft_lay(to, used,
			    hand_out(x, frame, from->laid[k].pattern->height),
			    from->laid[k].run, from->laid[k].at);
	}
}

struct draft *draft_exchange(
    const struct draft *draft, int64_t steps, int64_t *spent)
{
	struct plan_job job = {.steps = steps};
	struct budget budget = {.job = &job};
	struct draft *to = draft_new(draft->model);
	struct exchange x = {
	    .m = draft->model, .arena = to->arena, .budget = &budget};

	collect(&x, draft);
	improve(&x);
	for (size_t i = 0; i < x.n; i++) /* some are still of the old draft */
		x.kinds[i].pattern =
		    pattern_copy(to->arena, x.kinds[i].pattern);
	lay_again(&x, draft, to);
	draft_count(to);
	free(x.kinds);
	free(x.table);
	*spent = budget.steps;
	return to;
}
