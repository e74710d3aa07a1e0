/* SPDX-License-Identifier: MIT */
/*
 * What is exchanged between strips, for exchange.c and its moves only: callers use
 * tidy.h.
 */
#ifndef PLAN_EXCHANGE_H
#define PLAN_EXCHANGE_H

#include "budget.h"
#include "tidy.h"

struct kind { /* strips that are equal */
	size_t frame;
	const struct pattern *pattern;
	int64_t copies; /* 0: none is left */
	uint64_t mark;  /* equal in equal patterns */
};

struct exchange {
	const struct model *m;
	struct arena *arena; /* of the new patterns */
	struct kind *kinds;
	size_t n, cap;
	size_t *table; /* by mark: index into kinds, plus 1 */
	size_t n_table;
	struct budget *budget;
};

/* The same number for segments and for patterns with the same content; the second is a
 * sum over the first, so that it can be known before there is a pattern. */
uint64_t part_mark(const struct pattern *p, const struct part *part);
uint64_t height_mark(length height);
uint64_t pattern_mark(const struct pattern *p);

/* So many more of these strips. */
void exchange_add(struct exchange *x, size_t frame,
    const struct pattern *pattern, int64_t copies);
/* How many strips there are in this frame with this mark. */
int64_t exchange_copies(const struct exchange *x, size_t frame, uint64_t mark);

struct take { /* so many copies of a kind */
	size_t kind;
	int64_t copies;
};

/* combine.c: the segments of these strips, of one frame and at most two heights, in at
 * most two kinds of strips. */
bool exchange_combine(struct exchange *x, const struct take take[], size_t n);

/* restack.c: the pieces of two segments in another way, or in one. */
bool exchange_restack(struct exchange *x, size_t kind);

#endif
