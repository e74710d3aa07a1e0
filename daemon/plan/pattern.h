/* SPDX-License-Identifier: MIT */
/*
 * A pattern is a strip without a place: its height, its segments from one edge, and in
 * each segment a stack of ways.  Widths and heights are the sizes asked for; what is
 * left on within the oversize is settled when the plan is written.  Internal to plan/.
 */
#ifndef PLAN_PATTERN_H
#define PLAN_PATTERN_H

#include "model.h"

struct part { /* one segment */
	length width;
	size_t first, n; /* into ways */
};

struct pattern {
	length height;
	length used; /* sum of the widths */
	struct part *parts;
	size_t n_parts;
	size_t *ways;
	size_t n_ways;
};

/* A pattern with room for so many; fill it part by part with pattern_add(). */
struct pattern *pattern_new(
    struct arena *arena, length height, size_t max_parts, size_t max_ways);
/* A new segment of this width, or one way more on the last segment. */
void pattern_add_part(struct pattern *p, length width);
void pattern_add_way(struct pattern *p, size_t way);

struct pattern *pattern_copy(struct arena *arena, const struct pattern *p);

/*
 * Leave out pieces that are not asked for any more: left[i] may be negative by as many as
 * are too many of size i, and is raised.  The strip is lowered when that is possible.
 * NULL: nothing is left of it.  p itself when nothing is left out.
 */
const struct pattern *pattern_without_surplus(const struct model *m,
    struct arena *arena, const struct pattern *p, const struct frame *frame,
    int64_t left[]);

/*
 * The same pieces in a strip as low, and segments as narrow, as they and the rules of
 * trims allow, in the order of pattern_sort(); p itself when the rules allow no other.
 */
const struct pattern *pattern_tighten(const struct model *m,
    struct arena *arena, const struct pattern *p, const struct frame *frame);

/* Can every segment be torn, and the row in this frame, by the rules of trims? */
bool pattern_fits(
    const struct model *m, const struct pattern *p, const struct frame *frame);

/* By how much segment i may be widened by leaving paper on its pieces. */
length pattern_stretch(
    const struct model *m, const struct pattern *p, size_t i);

/* Sum of the areas of its pieces. */
area pattern_area(const struct model *m, const struct pattern *p);

/* How often it can be used before a size of `left` runs out (0: not even once). */
int64_t pattern_copies(
    const struct model *m, const struct pattern *p, const int64_t left[]);
/* Take `copies` of its pieces from left (they must be there; negative gives back). */
void pattern_take(const struct pattern *p, int64_t copies, int64_t left[]);

/* Segments in the order in which they are best torn: wide ones first, equal ones together;
 * in a stack wide pieces first.  Equal content has one order. */
void pattern_sort(const struct model *m, struct pattern *p);

#endif
