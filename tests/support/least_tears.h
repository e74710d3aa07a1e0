/* SPDX-License-Identifier: MIT */
/*
 * The fewest tears of any plan that has the fewest rolls and the least strip length, by
 * trying everything: tiny problems of one fresh stock without the rules of trims.
 */
#ifndef TESTS_TEARS_H
#define TESTS_TEARS_H

#include "plan.h"

#define TEARS_PIECES 7
#define TEARS_LENGTH 20

/* False: too large, or with rules that are not tried here.  Fills in rolls, length and
 * tears. */
bool tears_least(const struct problem *problem, struct totals *best);

#endif
