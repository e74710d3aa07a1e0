/* SPDX-License-Identifier: MIT */
/*
 * A plan being made: patterns laid on bins, pieces still without names.  Internal to
 * plan/.
 */
#ifndef PLAN_DRAFT_H
#define PLAN_DRAFT_H

#include "pattern.h"
#include "plan.h"

struct laid { /* a pattern on a clean run of a bin */
	const struct pattern *pattern;
	size_t run;
	length at; /* from the roll's start */
};

struct used { /* one roll, in one frame */
	size_t bin;
	struct laid *laid;
	size_t n_laid, cap_laid;
};

struct draft {
	const struct model *model;
	struct arena *arena; /* of its patterns */
	struct used *used;
	size_t n_used, cap_used;
	int64_t *left; /* for each size, how many are not placed */
	struct totals
	    totals; /* tears and strip_kinds once draft_count() was called */
};

struct draft *draft_new(const struct model *model);
void draft_delete(struct draft *draft); /* NULL is fine */

/* Take a new roll of this bin; then lay patterns on it. */
struct used *draft_take(struct draft *draft, size_t bin);
/* Put the pattern at `at`; the draft's left goes down by its pieces. */
void draft_lay(struct draft *draft, struct used *used,
    const struct pattern *pattern, size_t run, length at);
/* Give back the last roll with all that lies on it. */
void draft_drop_last(struct draft *draft);

/* Unplaced, rolls, price and length. */
void draft_count(struct draft *draft);
/* Negative when a is better by the problem's goals, as far as price and length. */
int totals_compare(const struct problem *problem, const struct totals *a,
    const struct totals *b);

/* The finished plan: pieces handed out, trims settled, totals counted; no bounds yet. */
struct plan *draft_finish(const struct draft *draft);

#endif
