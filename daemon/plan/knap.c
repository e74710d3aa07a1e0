/* SPDX-License-Identifier: MIT */
/*
 * knap.c - a bounded knapsack by lists of undominated states.
 *
 * A state is a size and a value; it is kept while no smaller state is as dear.  Items
 * come by falling value / size, so what a state can still become is at most its value
 * plus the room left times the next item's ratio: states that cannot pass the best known
 * value are dropped.  With few pieces beside each other the lists stay short, whatever
 * the unit of length is; a table over 365,760 cells for a 45 in roll was the other
 * choice.  Lists: Nemhauser and Ullmann 1969, bounds in them: Pisinger's work on
 * knapsacks (both from memory).  `most` copies are entered as 1, 2, 4, ..., rest.
 */
#include "knap.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

struct node {
	length size;
	int64_t value;
	uint32_t parent, item;
	int64_t copies;
};

struct knap {
	struct node *nodes;
	size_t n_nodes, cap_nodes, max_nodes;
	uint32_t *list, *next;
	size_t n_list, cap_list;
};

/* One call's search. */
struct search {
	struct knap *k;
	const struct item *items;
	size_t n;
	length cap;
	int64_t best;
	uint32_t best_node; /* 0: the floor or the greedy choice is best */
	int64_t *steps;
};

struct knap *knap_new(size_t max_nodes)
{
	struct knap *k = xcalloc(1, sizeof(*k));

	k->max_nodes = max_nodes;
	return k;
}

void knap_delete(struct knap *k)
{
	if (k == NULL)
		return;
	free(k->nodes);
	free(k->list);
	free(k->next);
	free(k);
}

int knap_before(const void *x, const void *y)
{
	const struct item *a = x, *b = y;
	wide l = (wide)a->value * b->size, r = (wide)b->value * a->size;

	if (l != r)
		return l > r ? -1 : 1;
	if (a->size != b->size)
		return a->size > b->size ? -1 : 1;
	return (a->tag > b->tag) - (a->tag < b->tag);
}

static bool make_room(struct knap *k, size_t more)
{
	size_t need = k->n_nodes + more;

	if (need > k->max_nodes)
		return false;
	if (need > k->cap_nodes) {
		size_t cap = k->cap_nodes < 512 ? 512 : k->cap_nodes;

		while (cap < need)
			cap *= 2;
		k->nodes = xrealloc(k->nodes, cap, sizeof(*k->nodes));
		k->cap_nodes = cap;
	}
	if (2 * more > k->cap_list) {
		k->cap_list = 4 * more;
		k->list = xrealloc(k->list, k->cap_list, sizeof(*k->list));
		k->next = xrealloc(k->next, k->cap_list, sizeof(*k->next));
	}
	return true;
}

/* Can the state still pass the best, filling its room at the ratio of `item`? */
static bool hopeful(
    const struct search *s, length size, int64_t value, const struct item *item)
{
	if (item == NULL)
		return false;
	return (wide)(s->best - value) * item->size <
	       (wide)(s->cap - size) * item->value;
}

/* Where the merge of the list with its shifted copy stands. */
struct merge {
	size_t old, shifted;
	int64_t dearest;
	size_t n_next;
};

static void keep(
    struct search *s, struct merge *m, uint32_t node, const struct item *next)
{
	const struct node *n = &s->k->nodes[node];

	m->dearest = n->value;
	if (hopeful(s, n->size, n->value, next))
		s->k->next[m->n_next++] = node;
}

static void add_shifted(struct search *s, struct merge *m, size_t i,
    int64_t copies, uint32_t from, const struct item *next)
{
	struct knap *k = s->k;
	struct node node = {
	    .size = k->nodes[from].size + copies * s->items[i].size,
	    .value = k->nodes[from].value + copies * s->items[i].value,
	    .parent = from,
	    .item = (uint32_t)i,
	    .copies = copies,
	};

	if (node.value <= m->dearest)
		return;
	k->nodes[k->n_nodes] = node;
	if (node.value > s->best) {
		s->best = node.value;
		s->best_node = (uint32_t)k->n_nodes;
	}
	keep(s, m, (uint32_t)k->n_nodes++, next);
}

/* Enter `copies` of item i at once; next is the dearest ratio that may follow. */
static bool enter(
    struct search *s, size_t i, int64_t copies, const struct item *next)
{
	struct knap *k = s->k;
	length size = copies * s->items[i].size;
	struct merge m = {.dearest = -1};
	uint32_t *swap;

	if (!make_room(k, k->n_list + 1))
		return false;
	while (m.old < k->n_list || m.shifted < k->n_list) {
		length a = m.old < k->n_list ? k->nodes[k->list[m.old]].size
					     : INT64_MAX;
		length b = m.shifted < k->n_list
			       ? k->nodes[k->list[m.shifted]].size + size
			       : INT64_MAX;

		if (b > s->cap && a == INT64_MAX)
			break;
		if (a <= b) {
			if (k->nodes[k->list[m.old]].value > m.dearest)
				keep(s, &m, k->list[m.old], next);
			m.old++;
		} else if (b > s->cap) {
			m.shifted = k->n_list;
		} else {
			add_shifted(
			    s, &m, i, copies, k->list[m.shifted++], next);
		}
	}
	*s->steps += (int64_t)(2 * k->n_list);
	swap = k->list;
	k->list = k->next;
	k->next = swap;
	k->n_list = m.n_next;
	return true;
}

static const struct item *next_fitting(const struct search *s, size_t i)
{
	while (i < s->n && s->items[i].size > s->cap)
		i++;
	return i < s->n ? &s->items[i] : NULL;
}

/* All copies of item i; false when the nodes ran out. */
static bool enter_all(struct search *s, size_t i)
{
	int64_t left = s->cap / s->items[i].size;

	if (left > s->items[i].most)
		left = s->items[i].most;
	for (int64_t chunk = 1; left > 0 && s->k->n_list > 0; chunk *= 2) {
		int64_t copies = chunk < left ? chunk : left;

		left -= copies;
		if (!enter(s, i, copies,
			left > 0 ? &s->items[i] : next_fitting(s, i + 1)))
			return false;
	}
	return true;
}

/* The most any state in the list can become, filling at the ratio of item i. */
static int64_t bound_of_list(const struct search *s, size_t i)
{
	const struct item *item = next_fitting(s, i);
	int64_t bound = s->best;

	for (size_t j = 0; j < s->k->n_list && item != NULL; j++) {
		const struct node *n = &s->k->nodes[s->k->list[j]];
		int64_t most = n->value + (int64_t)((wide)(s->cap - n->size) *
						    item->value / item->size);

		if (most > bound)
			bound = most;
	}
	return bound;
}

/* A first choice to prune against: as many as fit, item by item. */
static void choose_greedily(struct search *s, int64_t count[])
{
	length room = s->cap;
	int64_t value = 0;

	for (size_t i = 0; i < s->n; i++) {
		count[i] = room / s->items[i].size;
		if (count[i] > s->items[i].most)
			count[i] = s->items[i].most;
		room -= count[i] * s->items[i].size;
		value += count[i] * s->items[i].value;
	}
	if (value > s->best)
		s->best = value;
	else
		memset(count, 0, s->n * sizeof(*count));
}

static void walk_back(const struct search *s, int64_t count[])
{
	memset(count, 0, s->n * sizeof(*count));
	for (uint32_t node = s->best_node; node != 0;
	     node = s->k->nodes[node].parent)
		count[s->k->nodes[node].item] += s->k->nodes[node].copies;
}

int64_t knap_best(struct knap *k, const struct item items[], size_t n,
    length cap, int64_t floor, int64_t count[], int64_t *bound, int64_t *steps)
{
	struct search s = {.k = k,
	    .items = items,
	    .n = n,
	    .cap = cap,
	    .best = floor,
	    .steps = steps};
	size_t i = 0;

	choose_greedily(&s, count);
	*steps += (int64_t)n;
	k->n_nodes = 0;
	if (!make_room(k, 1))
		return floor;
	k->nodes[k->n_nodes++] = (struct node){0}; /* nothing chosen yet */
	k->list[0] = 0;
	k->n_list = hopeful(&s, 0, 0, next_fitting(&s, 0)) ? 1 : 0;
	while (i < n && k->n_list > 0) {
		if (items[i].size <= cap && !enter_all(&s, i))
			break;
		i++;
	}
	*bound = k->n_list > 0 && i < n ? bound_of_list(&s, i) : s.best;
	if (s.best_node != 0)
		walk_back(&s, count);
	return s.best;
}
