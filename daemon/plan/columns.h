/* SPDX-License-Identifier: MIT */
/*
 * Patterns as columns of a program: which sizes, how many of each; every pattern once.
 * Internal to plan/.
 */
#ifndef PLAN_COLUMNS_H
#define PLAN_COLUMNS_H

#include "pattern.h"

struct column {
	const struct pattern *pattern;
	size_t n;             /* sizes in it */
	const size_t *size;   /* rising */
	const int64_t *count; /* of each */
};

struct columns {
	const struct model *model;
	struct arena *arena; /* of its patterns too */
	struct column *list;
	size_t n, cap;
	size_t *table; /* of indices + 1, open addressing */
	size_t n_table;
};

void columns_init(struct columns *c, const struct model *model);
void columns_free(struct columns *c);

/* False (and nothing is added) when a strip of this height and content is there already. */
bool columns_add(struct columns *c, const struct pattern *p);

/* The same, but only if the pattern may be torn in this frame; NULL is none. */
bool columns_add_fitting(
    struct columns *c, const struct pattern *p, const struct frame *frame);

#endif
