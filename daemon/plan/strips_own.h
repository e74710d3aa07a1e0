/* SPDX-License-Identifier: MIT */
/* What strips.c and stacks.c share: the inside of a struct strips. */
#ifndef PLAN_STRIPS_OWN_H
#define PLAN_STRIPS_OWN_H

#include "knap.h"
#include "strips.h"

struct stacks;

struct strips {
	const struct model *model;
	const struct frame *frame;
	length sliver; /* 0 when relaxed */
	length *heights;
	size_t n_heights;
	const int64_t *price, *most; /* by size */
	struct knap *knap;
	struct item
	    *all; /* every way with a price, by falling price for its width */
	size_t n_all;
	/* the strip found last */
	struct item *items;
	size_t n_items;
	int64_t *count, *trial;
	/* of strips_best_proper() */
	struct item *spare, *best_items;
	int64_t *best_count;
	size_t n_best;
	length height;
	bool found;
	bool
	    relaxed; /* for bounds: three stages then put no end to equal stacks */
	bool
	    complete; /* every height that matters is there and every stack was looked at */
	int64_t steps;
	struct stacks *stacks; /* three stages only */
};

/* Sort and drop equals; returns how many are left. */
size_t strips_unique(length list[], size_t n);

/* The dearest row of s->items above the floor, by the rules of trims: fills s->count. */
int64_t strips_row(struct strips *s, int64_t floor, int64_t *bound);

void stacks_init(struct strips *s); /* adds heights too */
void stacks_free(struct strips *s);
void stacks_set(struct strips *s);
int64_t stacks_best(struct strips *s, size_t k, int64_t floor, int64_t *bound);
struct pattern *stacks_pattern(const struct strips *s, struct arena *arena);

#endif
