/* SPDX-License-Identifier: MIT */
/*
 * stacks.c - pricing of strips, three stages.
 *
 * A segment of width v holds a stack of ways no wider than v.  The dearest stack for
 * every height is a list of undominated states; the ways enter by rising width, so that
 * the list after the last way of width v is the table for v (Gilmore and Gomory 1965,
 * one level deeper).  A row of segments for a strip of height h is then the same
 * knapsack as in two stages, its items the widths, each with its dearest stack for h.
 *
 * Heights: sums of heights of ways, all of one, then of two, three, ... until there are
 * enough.  So, unlike in two stages, the strips found are good but not all there are;
 * bounds in three stages come from elsewhere (bars.c).  Different stacks of a row may
 * together hold more of a size than is needed: what is too many is left out of the
 * pattern.
 *
 * Under the sliver rule a way may stand in v only if the trim beside it may be torn, and
 * the list is made for every v anew.
 */
#include "strips_own.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define HEIGHTS_MOST 1500
#define HEIGHTS_ALL 600 /* so many are tried up to the length of the roll */
#define STACK_NODES 1000000
#define EFFORT 60000 /* heights times ways: more would be slow in every round */

struct node {
	length size;
	int64_t value;
	uint32_t parent, way; /* way indexes model->ways */
	int64_t copies;
	int64_t pieces;
};

struct front { /* undominated stacks of one width, by rising size and value */
	length width;
	uint32_t *nodes;
	size_t n;
};

struct chosen { /* the stack behind an item of the row */
	uint32_t node;
};

struct stacks {
	length cap;
	bool all_heights;
	size_t *ways; /* of the frame, by rising width */
	struct node *nodes;
	size_t n_nodes, cap_nodes;
	uint32_t *list, *next;
	size_t n_list, cap_list;
	struct front *fronts;
	size_t n_fronts;
	struct chosen *chosen; /* by item tag */
	size_t n_chosen;
};

static length tallest(const struct frame *f, const struct model *m)
{
	return f->n_ways > 0 ? m->ways[f->ways[0]].h : 0;
}

/* Sums of two, three, ... heights up to the cap. */
static void find_sums(struct strips *s, length cap, size_t heights_most)
{
	size_t n_one = s->n_heights, n = n_one;
	size_t room = 4 * HEIGHTS_MOST + 2 * n_one;
	length *one = xcalloc(n_one + 1, sizeof(*one));
	size_t from = 0;
	bool cut = false;

	memcpy(one, s->heights, n_one * sizeof(*one));
	s->heights = xrealloc(s->heights, room, sizeof(*s->heights));
	while (n < heights_most && from < n) {
		size_t to = n, all = n;

		for (size_t i = from; i < to; i++)
			for (size_t k = 0; k < n_one && all < room; k++)
				if (s->heights[i] + one[k] <= cap)
					s->heights[all++] =
					    s->heights[i] + one[k];
		/* new ones stay behind the old ones, so that the next level starts from them */
		cut = cut || all == room;
		all = to + strips_unique(s->heights + to, all - to);
		for (size_t i = to; i < all; i++) {
			bool old = false;

			for (size_t k = 0; k < to && !old; k++)
				old = s->heights[k] == s->heights[i];
			if (!old)
				s->heights[n++] = s->heights[i];
		}
		from = to;
	}
	s->n_heights =
	    strips_unique(s->heights, n < heights_most ? n : heights_most);
	free(one);
}

/* How many heights, with so many ways of so many heights of their own. */
static size_t heights_worth(size_t n_ways, size_t n_heights)
{
	size_t worth = EFFORT / (n_ways + 1);

	if (worth < n_heights + 100)
		worth = n_heights + 100;
	return worth < HEIGHTS_MOST ? worth : HEIGHTS_MOST;
}

struct wide_way {
	length w;
	size_t way;
};

static int compare_wide(const void *x, const void *y)
{
	const struct wide_way *a = x, *b = y;

	if (a->w != b->w)
		return a->w < b->w ? -1 : 1;
	return (a->way > b->way) - (a->way < b->way);
}

void stacks_init(struct strips *s)
{
	const struct frame *f = s->frame;
	struct stacks *st = xcalloc(1, sizeof(*st));
	struct wide_way *order = xcalloc(f->n_ways + 1, sizeof(*order));
	length cap = f->longest / 6;
	size_t n_ways = s->n_heights; /* before any sums: those of the ways */
	length *of_ways = xcalloc(n_ways + 1, sizeof(*of_ways));

	s->stacks = st;
	memcpy(of_ways, s->heights, n_ways * sizeof(*of_ways));
	cap = cap < 2 * tallest(f, s->model) ? 2 * tallest(f, s->model) : cap;
	find_sums(s, f->longest, s->relaxed ? HEIGHTS_MOST : HEIGHTS_ALL);
	st->cap = f->longest;
	if (!s->complete && !s->relaxed &&
	    cap < f->longest) { /* too many: lower strips only */
		memcpy(s->heights, of_ways, n_ways * sizeof(*of_ways));
		s->n_heights = n_ways;
		st->cap = cap;
		find_sums(s, cap, heights_worth(f->n_ways, n_ways));
		s->complete = false;
	}
	free(of_ways);
	st->all_heights = s->complete;
	st->ways = xcalloc(f->n_ways + 1, sizeof(*st->ways));
	for (size_t k = 0; k < f->n_ways; k++)
		order[k] =
		    (struct wide_way){s->model->ways[f->ways[k]].w, f->ways[k]};
	qsort(order, f->n_ways, sizeof(*order), compare_wide);
	for (size_t k = 0; k < f->n_ways; k++)
		st->ways[k] = order[k].way;
	st->fronts = xcalloc(f->n_ways + 1, sizeof(*st->fronts));
	st->chosen = xcalloc(f->n_ways + 1, sizeof(*st->chosen));
	free(order);
}

static void drop_fronts(struct stacks *st)
{
	for (size_t i = 0; i < st->n_fronts; i++)
		free(st->fronts[i].nodes);
	st->n_fronts = 0;
}

void stacks_free(struct strips *s)
{
	struct stacks *st = s->stacks;

	drop_fronts(st);
	free(st->fronts);
	free(st->chosen);
	free(st->ways);
	free(st->nodes);
	free(st->list);
	free(st->next);
	free(st);
}

static bool make_room(struct stacks *st, size_t more)
{
	if (st->n_nodes + more > STACK_NODES)
		return false;
	if (st->n_nodes + more > st->cap_nodes) {
		st->cap_nodes = 2 * (st->n_nodes + more) + 512;
		st->nodes =
		    xrealloc(st->nodes, st->cap_nodes, sizeof(*st->nodes));
	}
	if (2 * more > st->cap_list) {
		st->cap_list = 4 * more + 64;
		st->list = xrealloc(st->list, st->cap_list, sizeof(*st->list));
		st->next = xrealloc(st->next, st->cap_list, sizeof(*st->next));
	}
	return true;
}

static uint32_t put_on(struct stacks *st, uint32_t below, size_t way,
    int64_t copies, length h, int64_t price)
{
	struct node node = st->nodes[below];

	node.size += copies * h;
	node.value += copies * price;
	node.pieces += copies;
	node.parent = below;
	node.way = (uint32_t)way;
	node.copies = copies;
	st->nodes[st->n_nodes] = node;
	return (uint32_t)st->n_nodes++;
}

/* The list merged with itself, every stack `copies` of the way higher. */
static bool enter(struct strips *s, size_t way, int64_t copies)
{
	struct stacks *st = s->stacks;
	const struct way *w = &s->model->ways[way];
	length up = copies * w->h;
	int64_t more = copies * s->price[w->size], dearest = -1;
	size_t old = 0, shifted = 0, n = 0;
	uint32_t *swap;

	if (!make_room(st, st->n_list + 1))
		return false;
	while (old < st->n_list || shifted < st->n_list) {
		const struct node *a =
		    old < st->n_list ? &st->nodes[st->list[old]] : NULL;
		const struct node *b =
		    shifted < st->n_list ? &st->nodes[st->list[shifted]] : NULL;

		if (b != NULL && b->size + up > st->cap) {
			shifted = st->n_list;
			continue;
		}
		assert(a != NULL || b != NULL);
		if (b == NULL || (a != NULL && a->size <= b->size + up)) {
			if (a->value > dearest) {
				dearest = a->value;
				st->next[n++] = st->list[old];
			}
			old++;
		} else if (b->value + more > dearest) {
			dearest = b->value + more;
			st->next[n++] = put_on(st, st->list[shifted++], way,
			    copies, w->h, s->price[w->size]);
		} else {
			shifted++;
		}
	}
	s->steps += (int64_t)(2 * st->n_list);
	swap = st->list;
	st->list = st->next;
	st->next = swap;
	st->n_list = n;
	return true;
}

static void enter_all(struct strips *s, size_t way)
{
	const struct way *w = &s->model->ways[way];
	int64_t left = s->stacks->cap / w->h;

	if (s->price[w->size] <= 0 || s->most[w->size] <= 0)
		return;
	if (left > s->most[w->size])
		left = s->most[w->size];
	for (int64_t chunk = 1; left > 0; chunk *= 2) {
		int64_t copies = chunk < left ? chunk : left;

		left -= copies;
		if (!enter(s, way, copies)) {
			s->complete = false;
			return;
		}
	}
}

static void begin_list(struct stacks *st)
{
	st->n_nodes = 0;
	make_room(st, 1);
	st->nodes[st->n_nodes++] = (struct node){0};
	st->list[0] = 0;
	st->n_list = 1;
}

static void keep_front(struct stacks *st, length width)
{
	struct front *f = &st->fronts[st->n_fronts++];

	f->width = width;
	f->n = st->n_list;
	f->nodes = xcalloc(st->n_list, sizeof(*f->nodes));
	memcpy(f->nodes, st->list, st->n_list * sizeof(*f->nodes));
}

static bool may_stand(const struct strips *s, length v, size_t way)
{
	length gap = v - s->model->ways[way].w;

	return gap >= 0 && (gap <= s->model->oversize || gap >= s->sliver);
}

void stacks_set(struct strips *s)
{
	struct stacks *st = s->stacks;
	const struct frame *f = s->frame;
	size_t i = 0;

	drop_fronts(st);
	begin_list(st);
	s->complete = st->all_heights;
	while (i < f->n_ways) {
		length v = s->model->ways[st->ways[i]].w;

		if (s->sliver > 0) {
			uint32_t root = put_on(st, 0, 0, 0, 0,
			    0); /* nothing yet: a list of its own */

			st->list[0] = root;
			st->n_list = make_room(st, 1) ? 1 : 0;
			for (size_t k = 0; k < i; k++)
				if (may_stand(s, v, st->ways[k]))
					enter_all(s, st->ways[k]);
		}
		for (; i < f->n_ways && s->model->ways[st->ways[i]].w == v; i++)
			enter_all(s, st->ways[i]);
		if (st->n_list > 1)
			keep_front(st, v);
	}
}

/* The dearest stack of the front that may be torn from a strip of height h; 0: none. */
static uint32_t best_stack(
    const struct strips *s, const struct front *f, length h)
{
	const struct node *nodes = s->stacks->nodes;
	size_t low = 0, high = f->n;

	while (low < high) { /* the first that is too high */
		size_t mid = (low + high) / 2;

		if (nodes[f->nodes[mid]].size <= h)
			low = mid + 1;
		else
			high = mid;
	}
	while (low-- > 0) {
		const struct node *n = &nodes[f->nodes[low]];
		length rest = h - n->size;

		if (n->value > 0 && (rest >= s->sliver ||
					rest <= n->pieces * s->model->oversize))
			return f->nodes[low];
	}
	return 0;
}

/* How often a stack may stand in the row before one of its sizes runs out. */
static int64_t copies_of(const struct strips *s, uint32_t node, int64_t most)
{
	const struct node *nodes = s->stacks->nodes;

	for (; node != 0; node = nodes[node].parent) {
		int64_t there;

		if (nodes[node].copies == 0)
			continue;
		there = s->most[nodes[node].way / 2] / nodes[node].copies;
		if (there < most)
			most = there;
	}
	return most > 0 ? most : 1;
}

int64_t stacks_best(struct strips *s, size_t k, int64_t floor, int64_t *bound)
{
	struct stacks *st = s->stacks;
	length h = s->heights[k];
	int64_t dearest = 0, value;

	s->n_items = 0;
	for (size_t i = 0; i < st->n_fronts; i++) {
		const struct front *f = &st->fronts[i];
		uint32_t node = best_stack(s, f, h);

		if (node == 0 ||
		    (s->sliver == 0 && st->nodes[node].value <= dearest))
			continue; /* a narrower segment holds as much */
		dearest = st->nodes[node].value;
		s->items[s->n_items] = (struct item){
		    f->width, dearest, s->frame->width / f->width, s->n_items};
		if (!s->relaxed)
			s->items[s->n_items].most =
			    copies_of(s, node, s->items[s->n_items].most);
		st->chosen[s->n_items++].node = node;
	}
	s->steps += (int64_t)st->n_fronts * 8;
	qsort(s->items, s->n_items, sizeof(*s->items), knap_before);
	value = strips_row(s, floor, bound);
	if (!s->relaxed)
		*bound = INT64_MAX;
	return value;
}

static void add_stack(const struct strips *s, struct pattern *p, uint32_t node,
    length width, int64_t left[])
{
	const struct node *nodes = s->stacks->nodes;
	bool begun = false;

	for (; node != 0; node = nodes[node].parent)
		for (int64_t c = 0; c < nodes[node].copies; c++) {
			if (left[nodes[node].way / 2]-- <= 0)
				continue; /* one too many for what is needed */
			if (!begun)
				pattern_add_part(p, width);
			begun = true;
			pattern_add_way(p, nodes[node].way);
		}
}

/* A segment may be as narrow as its widest piece. */
static void narrow_parts(const struct strips *s, struct pattern *p)
{
	p->used = 0;
	for (size_t i = 0; i < p->n_parts; i++) {
		struct part *part = &p->parts[i];
		length width = 0;

		for (size_t k = 0; k < part->n; k++)
			if (s->model->ways[p->ways[part->first + k]].w > width)
				width =
				    s->model->ways[p->ways[part->first + k]].w;
		part->width = width;
		p->used += width;
	}
}

struct pattern *stacks_pattern(const struct strips *s, struct arena *arena)
{
	const struct stacks *st = s->stacks;
	size_t parts = 0, ways = 0;
	int64_t *left = xcalloc(s->model->n_sizes, sizeof(*left));
	struct pattern *p;

	memcpy(left, s->most, s->model->n_sizes * sizeof(*left));
	for (size_t i = 0; i < s->n_items; i++) {
		parts += (size_t)s->count[i];
		ways += (size_t)(s->count[i] *
				 st->nodes[st->chosen[s->items[i].tag].node]
				     .pieces);
	}
	p = pattern_new(arena, s->height, parts, ways);
	for (size_t i = 0; i < s->n_items; i++)
		for (int64_t c = 0; c < s->count[i]; c++)
			add_stack(s, p, st->chosen[s->items[i].tag].node,
			    s->items[i].size, left);
	if (s->sliver == 0)
		narrow_parts(s, p);
	free(left);
	return p;
}
