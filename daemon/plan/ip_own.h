/* SPDX-License-Identifier: MIT */
/* The inside of branch and bound: what ip.c, ip_relax.c and ip_branch.c share. */
#ifndef PLAN_IP_OWN_H
#define PLAN_IP_OWN_H

#include "cuts.h"
#include "ip.h"
#include "simplex.h"

#define WHOLE 1e-6

/* A set of columns whose sum is bounded in the branch in hand. */
struct set {
	enum { SET_GROUP, SET_ROWS } kind;
	size_t a, b; /* rows; b is SIZE_MAX for one row */
	int64_t from,
	    from_b; /* group, or counts in rows a and b, at least so */
	bool *in;   /* of each column */
	int64_t low, high, y;
	size_t lp_row;
	double gain[2]; /* of the bound for one unit down and up, added up */
	int tries[2];
};

struct cut_row {
	struct cut cut;
	int32_t *count; /* of each column */
	int64_t y;
	size_t lp_row;
};

struct tree {
	const struct ip *ip;
	struct budget *budget;
	struct simplex *lp;
	size_t n_lp_rows;
	int64_t *low, *high; /* of each column, in the branch in hand */
	int64_t *y;          /* of each row */
	int64_t *rc;         /* reduced cost of each column */
	int64_t scale;       /* of y, rc and bounds */
	struct set *sets;
	size_t n_sets, cap_sets;
	struct cut_row *cuts;
	size_t n_cuts, cap_cuts;
	int64_t limit, least;
	int64_t *best;
	bool found;
	int nodes;
	bool diving;   /* for answers, on single columns */
	int64_t until; /* steps of the budget */
	bool complete; /* nothing was left out */
	double *x;
};

struct branch {
	bool on_set;
	size_t i; /* of the set or the column */
	double value;
	bool up_first;
};

/* ip_relax.c: the LP of a branch, and what it proves. */
void relax_init(struct tree *t);
void relax_free(struct tree *t);
bool relax_solve(struct tree *t); /* false: not to its end */
/* Below this no answer of the branch lies, times t->scale. */
wide relax_bound(struct tree *t);
/* The same after a few pivots. */
wide relax_try(struct tree *t);
/* Narrow columns that can go no further without passing the target. */
void relax_fix(struct tree *t, wide bound);
void relax_add_cut(struct tree *t, const struct cut *cut);
size_t relax_add_set(struct tree *t, const struct set *set);
void relax_bound_set(struct tree *t, size_t i, int64_t low, int64_t high);

/* ip_branch.c: what to split on; false: everything is whole. */
bool branch_choose(struct tree *t, wide bound, struct branch *b);

/* Costs that would be an improvement are at most this. */
static inline int64_t tree_target(const struct tree *t)
{
	return (t->limit - 1) / t->ip->divisor * t->ip->divisor;
}

/* How far from whole, 0..0.5; -1 when it is. */
static inline double brokenness(double v)
{
	double f = v - (double)(int64_t)v;

	if (f < WHOLE || f > 1 - WHOLE)
		return -1;
	return f < 0.5 ? f : 1 - f;
}

#endif
