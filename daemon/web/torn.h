/* SPDX-License-Identifier: MIT */
/*
 * After the paper is torn: what is left on its rolls becomes stock.
 */
#ifndef WEB_TORN_H
#define WEB_TORN_H

#include "act_plan.h"
#include "call.h"

struct rest {         /* what is left of one roll after its last strip */
	size_t stock; /* index into the problem's stock */
	length width, length;
	length from; /* where it begins on the roll it is left of */
	bool
	    quarter; /* of a flat sheet begun the other way: the sides are exchanged again */
};

/* The rest of one roll of a plan; false when there is none or it is shorter than keep. */
bool torn_rest(const struct roll *roll, length keep, struct rest *out);
/* Spoiled runs as they lie on what begins at `from`: JSON, from the call's arena. */
const char *torn_spoiled(
    struct call *call, const struct stock *stock, length from);

/* Put the rests of the accepted plan of call->workshop on the shelf, then next(call). */
void torn_shelve(struct call *call, call_fn *next);

#endif
