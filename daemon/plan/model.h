/* SPDX-License-Identifier: MIT */
/*
 * What is left of a problem once names are taken away: sizes, ways, frames and bins.
 * Internal to plan/.
 *
 * A *size* is one torn size with everybody's demand added up (a x b and b x a are one
 * size when both may be turned).  A *way* is a size as it lies: way 2i is size i as it
 * stands, way 2i+1 is it with its sides exchanged.  A *frame* is a width with the ways
 * that may lie in it; flat stock begun the other way has a frame of its own.  A *bin*
 * is a stock in one frame: the clean runs between its spoiled ones.
 *
 * The order of sizes depends on their measures alone, so the order in which pieces are
 * asked for, or their split over members, changes nothing that is planned here.
 */
#ifndef PLAN_MODEL_H
#define PLAN_MODEL_H

#include "problem.h"

struct size {
	length a,
	    b; /* across and along as asked; a <= b when it may be turned */
	bool turn;
	int64_t demand;
	size_t *pieces; /* entries of problem->pieces, by name */
	size_t n_pieces;
};

struct way {
	size_t size;
	length w, h; /* across, along */
};

struct frame {
	length width; /* up to which pieces may lie */
	length whole; /* of the stock, where the last trim ends */
	bool quarter;
	length longest; /* longest clean run of any bin with this frame */
	size_t *
	    ways; /* into model->ways: those that fit, by falling h, then falling w */
	size_t n_ways;
};

struct clean { /* a run without spoil */
	length at, length;
};

struct bin {
	size_t stock;
	size_t frame;
	bool quarter;
	bool bound_only; /* holds more than can be planned: see model.c */
	struct clean *runs;
	size_t n_runs;
};

struct model {
	const struct problem *problem;
	struct arena *arena;
	size_t
	    *held; /* what the arenas of the search take; NULL: nobody counts */
	int stages;
	length sliver, oversize; /* sliver is 0 when the rule cannot bite */
	struct size *sizes;
	size_t n_sizes;
	struct way *ways; /* 2 * n_sizes */
	struct frame *frames;
	size_t n_frames;
	struct bin *bins;
	size_t n_bins;
};

/* False: a piece fits no stock, err names it. */
bool model_new(const struct problem *problem, struct model **out,
    struct err *err) MUST_USE;
void model_delete(struct model *model); /* NULL is fine */

/* May a trim of `gap` be left beside one piece: torn off, or left on within the oversize? */
static inline bool gap_allowed(const struct model *m, length gap)
{
	return gap >= 0 && (gap <= m->oversize || gap >= m->sliver);
}

/* The same beside n pieces that lie in a row or a stack and share the gap. */
static inline bool rest_allowed(const struct model *m, length rest, size_t n)
{
	return rest >= 0 &&
	       (rest >= m->sliver || rest <= (length)n * m->oversize);
}

/*
 * The frame's ways by rising width, then height, into ways[]; the greatest common
 * divisors of their widths and heights (0 without ways).
 */
void frame_by_width(const struct model *m, const struct frame *f, size_t ways[],
    length *unit_w, length *unit_h);

static inline area way_area(const struct way *w)
{
	return w->w * w->h;
}

#endif
