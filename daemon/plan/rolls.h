/* SPDX-License-Identifier: MIT */
/*
 * Strips into rolls: bin packing of heights into clean runs.  Internal to plan/.
 */
#ifndef PLAN_ROLLS_H
#define PLAN_ROLLS_H

#include "draft.h"
#include "master.h"

/*
 * Lay all picks on stock of one frame: what is not fresh first where it is a gift, then
 * fresh rolls.  NULL when they cannot be laid (limited stock).  The draft has its own
 * copies of the patterns.
 */
struct draft *rolls_pack(const struct model *m, size_t frame,
    const struct picks *picks, struct budget *budget);

#endif
