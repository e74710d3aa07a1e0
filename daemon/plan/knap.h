/* SPDX-License-Identifier: MIT */
/*
 * Dearest choice of items under a capacity: the knapsack under every price, pattern and
 * bound of the planner.  All numbers are whole, so the answer is the same everywhere.
 * Internal to plan/.
 */
#ifndef PLAN_KNAP_H
#define PLAN_KNAP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "measure.h"

struct
    item { /* pass them by falling value / size; knap_before() is that order */
	length size;   /* > 0 */
	int64_t value; /* > 0 */
	int64_t most;  /* >= 1 */
	size_t tag;    /* the caller's */
};

struct knap;

/* max_nodes bounds memory (32 bytes each) and work of one call. */
struct knap *knap_new(size_t max_nodes);
void knap_delete(struct knap *k); /* NULL is fine */

/*
 * The dearest choice with total size <= cap, if it is dearer than floor (>= 0): count[i]
 * is how many of item i, and the value is returned.  Otherwise floor is returned and
 * count is all zero.  *bound is never below the true maximum (nor below floor); it
 * equals the value returned unless the nodes ran out.  *steps grows by the work done.
 */
int64_t knap_best(struct knap *k, const struct item items[], size_t n,
    length cap, int64_t floor, int64_t count[], int64_t *bound, int64_t *steps);

/* For qsort(): by falling value / size, then larger size first, then tag. */
int knap_before(const void *x, const void *y);

#endif
