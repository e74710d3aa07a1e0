/* SPDX-License-Identifier: MIT */
/*
 * The stages of share_derive(): the door, the splits, the ceiling.  Internal to share/.
 */
#ifndef SHARE_DERIVING_H
#define SHARE_DERIVING_H

#include "derive.h"

/* What share_derive() hands around while it works. */
struct deriving {
	const struct share_order *order;
	struct arena *arena;
	struct share_result *result;
	size_t
	    *group;   /* of members with equal area in all: 0 has the largest */
	size_t *rank; /* of members by share_tie() */
	int64_t *odds; /* odd units a member has paid, less those spared */
	money *costs;  /* of each paper, its own lines added up */
	struct share_step **steps; /* of each member, as in the result */
};

/* Is what was given within the limits? */
bool order_check(const struct share_order *order, struct err *err) MUST_USE;

/* Split amount over the n members named, by own[] of each; steps[i] is filled. */
void deriving_split(struct deriving *d, money amount, const size_t *members,
    const area *own, size_t n, struct share_step *steps);

/* Fill in every member's ceiling, then apply it.  The steps and bases are there. */
void ceiling_apply(struct deriving *d);

#endif
