/* SPDX-License-Identifier: MIT */
/*
 * Closing the gap between the shortest strips known and what is proven.  Internal to
 * plan/.
 */
#ifndef PLAN_CLOSING_H
#define PLAN_CLOSING_H

#include "make.h"
#include "master.h"

struct closing;

/*
 * All stock fresh and in frame 0, two stages, no sliver rule; w holds prices with
 * w->num > 0.  Everything given is borrowed.
 */
struct closing *closing_new(struct maker *mk, const struct master *ma,
    const struct worth *w, const int64_t need[]);
void closing_delete(struct closing *c); /* NULL is fine */

/*
 * Go on closing: better plans are offered to the maker and its bound on the length is
 * raised.  work: steps to spend; less when the gap closes.
 */
void closing_run(struct closing *c, int64_t work);

#endif
