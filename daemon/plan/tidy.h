/* SPDX-License-Identifier: MIT */
/*
 * After the optimum: a plan as good in pieces, rolls, price and length, but with fewer
 * tears, fewer different strips, and its leftover in one piece.  Improved, not proven.
 * Internal to plan/.
 */
#ifndef PLAN_TIDY_H
#define PLAN_TIDY_H

#include "draft.h"

/*
 * Put the strips of every clean run close together from its start: the highest first,
 * among equal heights the widest, equal ones next to each other.  So the straightedge is
 * set seldom, and trims of one width lie together.
 */
void draft_tidy(struct draft *draft);

/* Every strip as low as what lies in it allows (pattern_tighten); counts again. */
void draft_lower(struct draft *draft);

/*
 * The same pieces on the same rolls in strips of the same heights, with fewer tears or as
 * many and fewer kinds of strips.  A new draft; it spends at most so many steps, which
 * are told in *spent.
 */
struct draft *draft_exchange(
    const struct draft *draft, int64_t steps, int64_t *spent);

/* Three stages: strips of a roll put together where that saves tears. */
void draft_join(struct draft *draft, int64_t steps, int64_t *spent);

/*
 * Lay the strips on their rolls anew so that one roll's end is as long as it can be, where
 * that takes no more tears.
 */
void draft_gather(struct draft *draft, int64_t steps, int64_t *spent);

#endif
