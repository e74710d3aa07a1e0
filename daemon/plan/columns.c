/* SPDX-License-Identifier: MIT */
/*
 * columns.c - the pool of patterns.
 *
 * Two patterns are the same column when their heights and counts agree, however the
 * pieces lie; the first one stays.  The hash only finds candidates: order and content of
 * the pool depend on what was added, not on addresses.
 */
#include "columns.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define COLUMNS_MEMORY ((size_t)2 << 30)

void columns_init(struct columns *c, const struct model *model)
{
	*c = (struct columns){
	    .model = model, .arena = arena_new(COLUMNS_MEMORY)};
	if (model->held != NULL)
		arena_meter(c->arena, model->held);
}

void columns_free(struct columns *c)
{
	arena_delete(c->arena);
	free(c->list);
	free(c->table);
	*c = (struct columns){0};
}

static uint64_t hash_column(const struct column *c)
{
	uint64_t h =
	    (uint64_t)c->pattern->height * UINT64_C(0x9e3779b97f4a7c15);

	for (size_t i = 0; i < c->n; i++) {
		h ^= c->size[i] * UINT64_C(0xbf58476d1ce4e5b9) +
		     (uint64_t)c->count[i];
		h = (h << 27 | h >> 37) * UINT64_C(0x94d049bb133111eb);
	}
	return h ^ h >> 31;
}

static bool same_column(const struct column *a, const struct column *b)
{
	return a->pattern->height == b->pattern->height && a->n == b->n &&
	       memcmp(a->size, b->size, a->n * sizeof(*a->size)) == 0 &&
	       memcmp(a->count, b->count, a->n * sizeof(*a->count)) == 0;
}

static size_t *find_slot(const struct columns *c, const struct column *column)
{
	size_t i = (size_t)hash_column(column) & (c->n_table - 1);

	while (
	    c->table[i] != 0 && !same_column(&c->list[c->table[i] - 1], column))
		i = (i + 1) & (c->n_table - 1);
	return &c->table[i];
}

static void grow(struct columns *c)
{
	c->cap = c->cap == 0 ? 64 : 2 * c->cap;
	c->list = xrealloc(c->list, c->cap, sizeof(*c->list));
	free(c->table);
	c->n_table = 4 * c->cap;
	c->table = xcalloc(c->n_table, sizeof(*c->table));
	for (size_t i = 0; i < c->n; i++)
		*find_slot(c, &c->list[i]) = i + 1;
}

static int compare_sizes(const void *x, const void *y)
{
	size_t a = *(const size_t *)x, b = *(const size_t *)y;

	return (a > b) - (a < b);
}

static struct column count_sizes(struct arena *arena, const struct pattern *p)
{
	size_t *all = xcalloc(p->n_ways, sizeof(*all)), n = 0;
	size_t *size;
	int64_t *count;

	for (size_t i = 0; i < p->n_ways; i++)
		all[i] = p->ways[i] / 2;
	qsort(all, p->n_ways, sizeof(*all), compare_sizes);
	for (size_t i = 0; i < p->n_ways; i++)
		n += i == 0 || all[i] != all[i - 1];
	size = arena_array(arena, n, sizeof(*size));
	count = arena_array(arena, n, sizeof(*count));
	n = 0;
	for (size_t i = 0; i < p->n_ways; i++) {
		if (i == 0 || all[i] != all[i - 1])
			size[n++] = all[i];
		count[n - 1]++;
	}
	free(all);
	return (struct column){p, n, size, count};
}

bool columns_add(struct columns *c, const struct pattern *p)
{
	struct column column = count_sizes(c->arena, p);
	size_t *slot;

	if (c->n == c->cap)
		grow(c);
	slot = find_slot(c, &column);
	if (*slot != 0)
		return false;
	c->list[c->n++] = column;
	*slot = c->n;
	return true;
}

bool columns_add_fitting(
    struct columns *c, const struct pattern *p, const struct frame *frame)
{
	return p != NULL && p->n_ways > 0 && pattern_fits(c->model, p, frame) &&
	       columns_add(c, p);
}
