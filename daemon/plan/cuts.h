/* SPDX-License-Identifier: MIT */
/*
 * Cuts: rows that every whole answer of a covering program keeps and its linear program
 * does not.  Internal to plan/.
 */
#ifndef PLAN_CUTS_H
#define PLAN_CUTS_H

#include "ip.h"

#define CUT_ROWS 3 /* rows of the program behind one cut */

struct cut {
	size_t row[CUT_ROWS]; /* of the program, times u / q */
	int64_t u[CUT_ROWS];
	size_t n;
	int64_t q;
	int64_t rest; /* of the right side after division by q: 0 < rest < q */
	int64_t need; /* of the cut */
};

/* How often the cut counts a column with these entries; never more than rest * entries. */
int64_t cut_count(const struct cut *c, const struct ip_column *column);

/*
 * Cuts that x (one value a column) breaks, the most broken first, at most `max` of them.
 * *steps grows by the work done.
 */
size_t cuts_find(const struct ip *ip, const double x[], struct cut out[],
    size_t max, int64_t *steps);

#endif
