/* SPDX-License-Identifier: MIT */
/*
 * Covering a need with strips from a list, in whole numbers.  Internal to plan/.
 */
#ifndef PLAN_COVERING_H
#define PLAN_COVERING_H

#include "columns.h"
#include "ip.h"
#include "master.h"

struct covering {
	struct ip ip;
	struct ip_column *columns;
	struct ip_entry *entries;
	int64_t *group, *firsts;
	int64_t *x; /* the answer: how many of each chosen strip */
	size_t
	    *from; /* for each column of the program, its place in the list */
};

/*
 * The program: least sum of heights / step over the strips of the list that are marked
 * in use (NULL: all of them), every need covered.
 */
void covering_init(struct covering *c, const struct columns *list,
    const bool use[], const int64_t need[], length step);
/*
 * The answer's strips without the pieces that are too many (in the list's arena); false
 * when the rules of trims keep some of them in.
 */
bool covering_picks(const struct covering *c, const struct columns *list,
    const int64_t need[], struct picks *out);
void covering_free(struct covering *c);

#endif
