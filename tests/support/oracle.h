/* SPDX-License-Identifier: MIT */
/*
 * The true optimum of a tiny problem, by trying everything.
 *
 * Written from the rules of docs/plan.md alone, without a line of the planner: single
 * pieces, subsets as bit masks, positions one unit apart.  For at most ORACLE_PIECES
 * pieces and lengths up to ORACLE_LENGTH units.  Flat stock with spoiled runs is left
 * to other tests.
 */
#ifndef TESTS_ORACLE_H
#define TESTS_ORACLE_H

#include "plan.h"

#define ORACLE_PIECES 7
#define ORACLE_LENGTH 24

/* The best values of the four goals, in order; tears and kinds stay 0.  False: too large. */
bool oracle_solve(const struct problem *problem, struct totals *best);

#endif
