/* SPDX-License-Identifier: MIT */
/*
 * Covering programs in whole numbers: min cost x, every row covered, x whole.
 *
 * Branch and bound of our own.  The LP suggests where to branch and with which prices to
 * cut; whether a branch is cut is decided in whole numbers.  Internal to plan/.
 */
#ifndef PLAN_IP_H
#define PLAN_IP_H

#include "budget.h"

struct ip_entry {
	size_t row;
	int64_t count;
};

struct ip_column {
	int64_t cost; /* >= 0 */
	int64_t most; /* x lies in 0..most */
	const struct ip_entry *entries;
	size_t n;
};

struct ip {
	size_t n_rows;
	const int64_t *need; /* of each row: sum count x >= need */
	size_t n_columns;
	const struct ip_column *columns;
	/* a sum of columns is whole in every answer and good to branch on: all columns i
	 * with first <= group[i]; sums are given by their `first`, rising */
	const int64_t *group; /* of each column */
	const int64_t *firsts;
	size_t n_firsts;
	/* NULL, or: only answers in which these sums lie within such bounds are looked for;
	 * a cheaper one outside may be met on the way and is as welcome */
	const int64_t *first_low, *first_high;
	int64_t divisor; /* every cost is a multiple of it */
	const int64_t
	    *slack;   /* NULL, or: columns likely to be used have little */
	int64_t work; /* steps to spend at most; 0: no limit */
	bool cuts;    /* rows of counts >= 0: cuts may be added (cuts.h) */
};

enum ip_answer {
	IP_FOUND, /* x is the best there is, its cost below the limit */
	IP_NONE,  /* there is no answer below the limit */
	IP_BETTER, /* stopped early: x is below the limit, perhaps not the best */
	IP_OPEN,   /* stopped early, nothing found */
};

/*
 * Look for answers of cost below `limit`.  x has room for every column.  At most `nodes`
 * branches are looked at.  *cost is the cost of x when there is one, else the limit; no
 * answer costs less than *least.
 */
enum ip_answer ip_solve(const struct ip *ip, int64_t limit, int nodes,
    struct budget *budget, int64_t x[], int64_t *cost, int64_t *least);

#endif
