/* SPDX-License-Identifier: MIT */
/*
 * The least strip length of a small problem, by looking at every set of pieces left.
 */
#ifndef SUPPORT_LENGTHS_H
#define SUPPORT_LENGTHS_H

#include "problem.h"

/*
 * No sliver rule, one stock as long as need be: the least sum of strip heights that holds
 * everything.  -1: too many sets of pieces, or too many sizes.
 */
length lengths_least(const struct problem *problem);

#endif
