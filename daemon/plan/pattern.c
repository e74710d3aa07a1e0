/* SPDX-License-Identifier: MIT */
/* pattern.c - strips before they have a place; the rules of trims in one file. */
#include "pattern.h"

#include <assert.h>
#include <stdlib.h>

#include "alloc.h"

struct pattern *pattern_new(
    struct arena *arena, length height, size_t max_parts, size_t max_ways)
{
	struct pattern *p = arena_alloc(arena, sizeof(*p));

	p->height = height;
	p->parts = arena_array(arena, max_parts, sizeof(*p->parts));
	p->ways = arena_array(arena, max_ways, sizeof(*p->ways));
	return p;
}

void pattern_add_part(struct pattern *p, length width)
{
	p->parts[p->n_parts++] =
	    (struct part){.width = width, .first = p->n_ways};
	p->used += width;
}

void pattern_add_way(struct pattern *p, size_t way)
{
	p->ways[p->n_ways++] = way;
	p->parts[p->n_parts - 1].n++;
}

struct pattern *pattern_copy(struct arena *arena, const struct pattern *p)
{
	struct pattern *copy =
	    pattern_new(arena, p->height, p->n_parts, p->n_ways);

	for (size_t i = 0; i < p->n_parts; i++) {
		pattern_add_part(copy, p->parts[i].width);
		for (size_t k = 0; k < p->parts[i].n; k++)
			pattern_add_way(copy, p->ways[p->parts[i].first + k]);
	}
	return copy;
}

/* As p without the ways marked; parts that become empty go, narrow ones shrink. */
static struct pattern *copy_without(const struct model *m, struct arena *arena,
    const struct pattern *p, const bool drop[])
{
	struct pattern *copy = pattern_new(arena, 0, p->n_parts, p->n_ways);

	for (size_t i = 0; i < p->n_parts; i++) {
		const struct part *part = &p->parts[i];
		length width = 0, fill = 0;

		for (size_t k = part->first; k < part->first + part->n; k++)
			if (!drop[k] && m->ways[p->ways[k]].w > width)
				width = m->ways[p->ways[k]].w;
		if (width == 0)
			continue;
		pattern_add_part(copy, width);
		for (size_t k = part->first; k < part->first + part->n; k++)
			if (!drop[k]) {
				pattern_add_way(copy, p->ways[k]);
				fill += m->ways[p->ways[k]].h;
			}
		if (fill > copy->height)
			copy->height = fill;
	}
	return copy;
}

const struct pattern *pattern_without_surplus(const struct model *m,
    struct arena *arena, const struct pattern *p, const struct frame *frame,
    int64_t left[])
{
	bool *drop = xcalloc(p->n_ways, sizeof(*drop));
	size_t dropped = 0;
	struct pattern *lower = NULL;

	for (size_t k = 0; k < p->n_ways; k++)
		if (left[p->ways[k] / 2] < 0) {
			left[p->ways[k] / 2]++;
			drop[k] = true;
			dropped++;
		}
	if (dropped > 0 && dropped < p->n_ways) {
		lower = copy_without(m, arena, p, drop);
		if (!pattern_fits(m, lower,
			frame)) { /* a sliver would be left: keep the old height */
			lower->height = p->height;
			if (!pattern_fits(m, lower, frame)) {
				for (size_t k = 0; k < p->n_ways; k++)
					left[p->ways[k] / 2] -= drop[k];
				dropped = 0;
			}
		}
		if (lower != NULL && dropped > 0)
			pattern_sort(m, lower);
	}
	free(drop);
	if (dropped == 0)
		return p;
	return dropped == p->n_ways ? NULL : lower;
}

length pattern_stretch(const struct model *m, const struct pattern *p, size_t i)
{
	const struct part *part = &p->parts[i];
	length stretch = m->oversize;

	if (m->sliver == 0)
		return stretch; /* whatever does not stay on can be torn off */
	for (size_t k = 0; k < part->n; k++) {
		length gap = part->width - m->ways[p->ways[part->first + k]].w;

		if (gap <= m->oversize && m->oversize - gap < stretch)
			stretch = m->oversize - gap;
	}
	return stretch;
}

static bool part_fits(
    const struct model *m, const struct pattern *p, const struct part *part)
{
	length sum = 0;

	for (size_t k = 0; k < part->n; k++) {
		const struct way *w = &m->ways[p->ways[part->first + k]];

		if (!gap_allowed(m, part->width - w->w))
			return false;
		sum += w->h;
	}
	return rest_allowed(m, p->height - sum, part->n);
}

bool pattern_fits(
    const struct model *m, const struct pattern *p, const struct frame *frame)
{
	length rest = frame->whole - p->used, stretch = 0;

	if (p->used > frame->width)
		return false;
	for (size_t i = 0; i < p->n_parts; i++) {
		if (!part_fits(m, p, &p->parts[i]))
			return false;
		if (m->oversize > 0)
			stretch += pattern_stretch(m, p, i);
	}
	return rest >= m->sliver || rest <= stretch;
}

area pattern_area(const struct model *m, const struct pattern *p)
{
	area sum = 0;

	for (size_t k = 0; k < p->n_ways; k++)
		sum += way_area(&m->ways[p->ways[k]]);
	return sum;
}

int64_t pattern_copies(
    const struct model *m, const struct pattern *p, const int64_t left[])
{
	int64_t *count = xcalloc(m->n_sizes, sizeof(*count));
	int64_t copies = INT64_MAX;

	for (size_t k = 0; k < p->n_ways; k++)
		count[p->ways[k] / 2]++;
	for (size_t k = 0; k < p->n_ways; k++) {
		size_t size = p->ways[k] / 2;

		if (left[size] / count[size] < copies)
			copies = left[size] / count[size];
	}
	free(count);
	return copies;
}

void pattern_take(const struct pattern *p, int64_t copies, int64_t left[])
{
	for (size_t k = 0; k < p->n_ways; k++)
		left[p->ways[k] / 2] -= copies;
}

/* Segments with what orders them, since qsort() has no context argument. */
struct sorted {
	length width, fill;
	size_t way;
	struct part part;
};

static int compare_sorted(const void *x, const void *y)
{
	const struct sorted *a = x, *b = y;

	if (a->width != b->width)
		return a->width > b->width ? -1 : 1;
	if (a->fill != b->fill)
		return a->fill > b->fill ? -1 : 1;
	if (a->way != b->way)
		return a->way < b->way ? -1 : 1;
	return (a->part.first > b->part.first) -
	       (a->part.first < b->part.first);
}

void pattern_sort(const struct model *m, struct pattern *p)
{
	struct sorted few[64];

	if (p->n_parts > sizeof(few) / sizeof(few[0]))
		return; /* so many segments come in order from their maker */
	for (size_t i = 0; i < p->n_parts; i++) {
		const struct part *part = &p->parts[i];

		few[i] = (struct sorted){
		    part->width, 0, p->ways[part->first], *part};
		for (size_t k = 0; k < part->n; k++)
			few[i].fill += m->ways[p->ways[part->first + k]].h;
	}
	qsort(few, p->n_parts, sizeof(few[0]), compare_sorted);
	for (size_t i = 0; i < p->n_parts; i++)
		p->parts[i] = few[i].part;
}
