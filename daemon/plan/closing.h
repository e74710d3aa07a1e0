/* SPDX-License-Identifier: MIT */
/*
 * Closing the gap between the shortest strips known and what is proven.  Internal to
 * plan/.
 */
#ifndef PLAN_CLOSING_H
#define PLAN_CLOSING_H

#include "make.h"
#include "master.h"

/*
 * All stock fresh and in frame 0, two stages, no sliver rule; w holds prices with
 * w->num > 0.  Better plans are offered to the maker and its bound on the length raised.
 * work: steps to spend; less when the gap closes.
 */
void closing_run(struct maker *mk, const struct master *ma,
    const struct worth *w, const int64_t need[], int64_t work);

#endif
