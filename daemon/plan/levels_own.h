/* SPDX-License-Identifier: MIT */
/* What levels.c and levels_lp.c share: the inside of a struct levels. */
#ifndef PLAN_LEVELS_OWN_H
#define PLAN_LEVELS_OWN_H

#include "levels.h"
#include "simplex.h"
#include "strips.h"

#define LEVELS_SCALE ((int64_t)1 << 24) /* of whole prices */

struct level {
	length from; /* strips at least so high */
	size_t at;   /* its place among the heights of the pricer */
	size_t way;  /* one as high as that */
	bool in_lp;
	size_t row;
	int64_t low, high;
	int64_t m;      /* price */
	int64_t room;   /* T(h) */
	double value;   /* in the LP */
	double gain[2]; /* of the bound for one strip less and more, added up */
	int tries[2];
};

struct levels {
	struct budget *budget;
	const struct model *m;
	const int64_t *need;
	length step;
	struct strips *strips;
	struct columns pool;
	struct simplex *lp;
	size_t n_in_lp, n_rows;
	struct level *list; /* by rising height */
	size_t n;
	int64_t *price;
	struct picks answer;
	int64_t most_strips; /* in an answer up to the target */
	/* of the search in hand, in steps */
	int64_t target, least;
	int nodes;
	int64_t until;
	bool complete, found, try_sides;
};

/* levels_lp.c: the LP of a branch, strips made as it wants them. */
void levels_feed(
    struct levels *l); /* it learns of the new strips of the pool */
/*
 * To the optimum.  False: cut, by whole numbers, or not done (*open).  *priced: what the
 * prices in hand prove for the branch, times LEVELS_SCALE; *bound the best so far.
 */
bool levels_solve(struct levels *l, wide *bound, wide *priced, bool *open);
void levels_add_row(struct levels *l, double low, double high,
    struct simplex_entry *e, size_t n);
void levels_enter(struct levels *l, size_t k); /* level k as a row */
void levels_bound(struct levels *l, size_t k, int64_t low, int64_t high);
/* About what the LP comes to after a few pivots. */
double levels_try(struct levels *l);

static inline bool levels_out_of_work(const struct levels *l)
{
	return l->budget->stopped || l->budget->steps >= l->until;
}

static inline bool levels_is_cut(const struct levels *l, wide bound)
{
	return bound > (wide)l->target * LEVELS_SCALE;
}

#endif
