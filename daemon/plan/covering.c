/* SPDX-License-Identifier: MIT */
/*
 * covering.c - strips as columns of a whole-number program.
 *
 * Besides single columns, branch and bound may split on how many strips are at least so
 * high; a dozen heights spread over all are enough, more make the LP dense.
 */
#include "covering.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define SUMS_MOST 60

static int compare_heights(const void *x, const void *y)
{
	int64_t a = *(const int64_t *)x, b = *(const int64_t *)y;

	return (a > b) - (a < b);
}

static void pick_firsts(struct covering *c)
{
	size_t n = c->ip.n_columns, unique = 0;
	int64_t *heights = xcalloc(n + 1, sizeof(*heights));

	memcpy(heights, c->group, n * sizeof(*heights));
	qsort(heights, n, sizeof(*heights), compare_heights);
	for (size_t i = 0; i < n; i++)
		if (unique == 0 || heights[unique - 1] != heights[i])
			heights[unique++] = heights[i];
	c->firsts = xcalloc(SUMS_MOST, sizeof(*c->firsts));
	for (size_t i = 0; i < SUMS_MOST && i < unique; i++)
		c->firsts[c->ip.n_firsts++] =
		    heights[unique <= SUMS_MOST ? i : i * unique / SUMS_MOST];
	free(heights);
}

static void add_column(struct covering *c, const struct column *column,
    size_t place, const int64_t need[], length step, size_t *n_entries)
{
	size_t j = c->ip.n_columns++;
	struct ip_column *out = &c->columns[j];

	c->from[j] = place;
	c->group[j] = column->pattern->height / step;
	*out = (struct ip_column){.cost = c->group[j],
	    .entries = &c->entries[*n_entries],
	    .n = column->n};
	for (size_t k = 0; k < column->n; k++) {
		int64_t most =
		    ceil_div(need[column->size[k]], column->count[k]);

		c->entries[(*n_entries)++] =
		    (struct ip_entry){column->size[k], column->count[k]};
		out->most = most > out->most ? most : out->most;
	}
}

void covering_init(struct covering *c, const struct columns *list,
    const bool use[], const int64_t need[], length step)
{
	size_t n = 0, n_entries = 0;

	for (size_t j = 0; j < list->n; j++)
		if (use == NULL || use[j]) {
			n_entries += list->list[j].n;
			n++;
		}
	*c = (struct covering){.ip = {.n_rows = list->model->n_sizes,
				   .need = need,
				   .divisor = 1,
				   .cuts = true}};
	c->columns = xcalloc(n + 1, sizeof(*c->columns));
	c->entries = xcalloc(n_entries + 1, sizeof(*c->entries));
	c->group = xcalloc(n + 1, sizeof(*c->group));
	c->x = xcalloc(n + 1, sizeof(*c->x));
	c->from = xcalloc(n + 1, sizeof(*c->from));
	n_entries = 0;
	for (size_t j = 0; j < list->n; j++)
		if (use == NULL || use[j])
			add_column(
			    c, &list->list[j], j, need, step, &n_entries);
	pick_firsts(c);
	c->ip.columns = c->columns;
	c->ip.group = c->group;
	c->ip.firsts = c->firsts;
}

bool covering_picks(const struct covering *c, const struct columns *list,
    const int64_t need[], struct picks *out)
{
	const struct model *m = list->model;
	int64_t *left = xcalloc(m->n_sizes, sizeof(*left));
	bool ok;

	*out = (struct picks){0};
	memcpy(left, need, m->n_sizes * sizeof(*left));
	for (size_t j = 0; j < c->ip.n_columns; j++) {
		const struct pattern *p = list->list[c->from[j]].pattern;

		if (c->x[j] == 0)
			continue;
		picks_add(out, p, c->x[j]);
		pattern_take(p, c->x[j], left);
	}
	ok = picks_drop_surplus(m, 0, list->arena, left, out);
	free(left);
	return ok;
}

void covering_free(struct covering *c)
{
	free(c->columns);
	free(c->entries);
	free(c->group);
	free(c->firsts);
	free(c->x);
	free(c->from);
}
