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

static length part_fill(
    const struct model *m, const struct pattern *p, const struct part *part)
{
	length sum = 0;

	for (size_t k = part->first; k < part->first + part->n; k++)
		sum += m->ways[p->ways[k]].h;
	return sum;
}

/* As p without the ways marked; parts that become empty go, narrow ones shrink. */
static struct pattern *copy_without(const struct model *m, struct arena *arena,
    const struct pattern *p, const bool drop[])
{
	struct pattern *copy = pattern_new(arena, 0, p->n_parts, p->n_ways);

	for (size_t i = 0; i < p->n_parts; i++) {
		const struct part *part = &p->parts[i];
		length width = 0;

		for (size_t k = part->first; k < part->first + part->n; k++)
			if (!drop[k] && m->ways[p->ways[k]].w > width)
				width = m->ways[p->ways[k]].w;
		if (width == 0)
			continue;
		pattern_add_part(copy, width);
		for (size_t k = part->first; k < part->first + part->n; k++)
			if (!drop[k])
				pattern_add_way(copy, p->ways[k]);
	}
	return copy;
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
	for (size_t k = 0; k < part->n; k++)
		if (!gap_allowed(
			m, part->width - m->ways[p->ways[part->first + k]].w))
			return false;
	return rest_allowed(m, p->height - part_fill(m, p, part), part->n);
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

/* From this height up: above every stack nothing, what stays on, or a clean tear. */
static length lowest_clean(
    const struct model *m, const struct pattern *p, length height)
{
	bool again;

	do {
		again = false;
		for (size_t i = 0; i < p->n_parts; i++) {
			length fill = part_fill(m, p, &p->parts[i]);

			if (rest_allowed(m, height - fill, p->parts[i].n))
				continue;
			height = fill + m->sliver;
			again = true;
		}
	} while (again);
	return height;
}

/*
 * Make the strip as low as its tallest stack and the sliver rule allow, at most `most`
 * high.  False: the rule forbids it at every height.
 */
static bool settle_height(const struct model *m, struct pattern *p,
    const struct frame *frame, length most)
{
	p->height = 0;
	for (size_t i = 0; i < p->n_parts; i++) {
		length fill = part_fill(m, p, &p->parts[i]);

		p->height = fill > p->height ? fill : p->height;
	}
	p->height = lowest_clean(m, p, p->height);
	pattern_sort(m, p);
	return p->height <= most && pattern_fits(m, p, frame);
}

const struct pattern *pattern_tighten(const struct model *m,
    struct arena *arena, const struct pattern *p, const struct frame *frame)
{
	bool *none = xcalloc(p->n_ways, sizeof(*none));
	struct pattern *tight = copy_without(m, arena, p, none);

	free(none);
	if (settle_height(m, tight, frame, p->height))
		return tight;
	tight = pattern_copy(arena, p); /* its segments must stay as wide */
	return settle_height(m, tight, frame, p->height) ? tight : p;
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
		if (!settle_height(m, lower, frame, p->height)) {
			for (size_t k = 0; k < p->n_ways; k++)
				left[p->ways[k] / 2] -= drop[k];
			dropped = 0;
		}
	}
	free(drop);
	if (dropped == 0)
		return p;
	return dropped == p->n_ways ? NULL : lower;
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

/* What orders segments and pieces, since qsort() has no context argument in C17. */
struct sorted_way {
	length w, h;
	size_t way;
};

struct sorted_part {
	length width, fill;
	const struct sorted_way *ways;
	struct part part;
};

static int compare_lengths(length a, length b)
{
	return (a > b) - (a < b);
}

static int compare_ways(const void *x, const void *y)
{
	const struct sorted_way *a = x, *b = y;
	int d = compare_lengths(b->w, a->w);

	if (d == 0)
		d = compare_lengths(b->h, a->h);
	return d != 0 ? d : (a->way > b->way) - (a->way < b->way);
}

static int compare_parts(const void *x, const void *y)
{
	const struct sorted_part *a = x, *b = y;
	int d = compare_lengths(b->width, a->width);

	if (d == 0)
		d = compare_lengths(b->fill, a->fill);
	for (size_t k = 0; k < a->part.n && k < b->part.n && d == 0; k++)
		d = compare_ways(&a->ways[k], &b->ways[k]);
	if (d == 0)
		d = (a->part.n > b->part.n) - (a->part.n < b->part.n);
	return d != 0 ? d
		      : compare_lengths(
			    (length)a->part.first, (length)b->part.first);
}

void pattern_sort(const struct model *m, struct pattern *p)
{
	struct sorted_part *parts = xcalloc(p->n_parts + 1, sizeof(*parts));
	struct sorted_way *ways = xcalloc(p->n_ways + 1, sizeof(*ways));

	for (size_t k = 0; k < p->n_ways; k++)
		ways[k] = (struct sorted_way){
		    m->ways[p->ways[k]].w, m->ways[p->ways[k]].h, p->ways[k]};
	for (size_t i = 0; i < p->n_parts; i++) {
		const struct part *part = &p->parts[i];

		parts[i] = (struct sorted_part){part->width,
		    part_fill(m, p, part), &ways[part->first], *part};
		qsort(&ways[part->first], part->n, sizeof(*ways), compare_ways);
	}
	qsort(parts, p->n_parts, sizeof(*parts), compare_parts);
	for (size_t i = 0; i < p->n_parts; i++)
		p->parts[i] = parts[i].part;
	for (size_t k = 0; k < p->n_ways; k++)
		p->ways[k] = ways[k].way;
	free(ways);
	free(parts);
}
