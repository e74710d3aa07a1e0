/* SPDX-License-Identifier: MIT */
/*
 * Plans in three stages: built strip by strip, then taken apart and built anew in parts.
 * Internal to plan/.
 */
#ifndef PLAN_REBUILD_H
#define PLAN_REBUILD_H

#include "make.h"

/*
 * All stock in frame 0, no sliver rule.  Offers its plans to the maker: new ones first if
 * `anew`, then the best plan rebuilt part by part, until that did not help for so many
 * rounds or plan and bound meet.
 */
void make_rebuilt(struct maker *mk, bool anew, int rounds);

#endif
