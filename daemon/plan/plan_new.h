/* SPDX-License-Identifier: MIT */
/* An empty plan with room for so many rolls (zeroed), for the makers of plans. */
#ifndef PLAN_PLAN_NEW_H
#define PLAN_PLAN_NEW_H

#include "plan.h"

/* n_unplaced is the number of entries in problem->pieces. */
struct plan *plan_new(size_t n_rolls, size_t n_unplaced);

#endif
