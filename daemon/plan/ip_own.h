/* SPDX-License-Identifier: MIT */
/* The inside of branch and bound: what ip.c, ip_relax.c and ip_branch.c share. */
#ifndef PLAN_IP_OWN_H
#define PLAN_IP_OWN_H

#include "cuts.h"
#include "ip.h"
#include "simplex.h"

#define WHOLE 1e-6
#define OUTSIDE SIZE_MAX

/* A set of columns whose sum is bounded in the branch in hand. */
struct set {
	enum { SET_GROUP, SET_ROWS } kind;
	size_t a, b; /* rows; b is SIZE_MAX for one row */
	int64_t from,
	    from_b; /* group, or counts in rows a and b, at least so */
	bool *in;   /* of each column */
	int64_t low, high, y;
	int64_t most;   /* high as long as it is not bounded */
	size_t lp_row;  /* OUTSIDE: it is not bounded, and forgotten for now */
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
	struct simplex
	    *lp;       /* over some of the columns: those that it has use for */
	size_t *in_lp; /* of each column: its place there, or OUTSIDE */
	size_t *of_lp; /* of each place there: the column */
	bool *parked;  /* of each place: held at 0 for now */
	size_t n_lp_columns, n_parked, n_lp_rows;
	int64_t *low, *high; /* of each column, in the branch in hand */
	int64_t *y;          /* of each row */
	int64_t *rc;         /* reduced cost of each column */
	int64_t scale;       /* of y, rc and bounds */
	wide priced;         /* what y proves by itself */
	struct set *sets;
	size_t n_sets, cap_sets, n_sets_in;
	struct cut_row *cuts;
	size_t n_cuts, cap_cuts;
	int64_t limit, least;
	int64_t *best;
	bool found;
	int nodes;
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
/* False: not to its end.  No answer of the branch is below *bound / t->scale. */
bool relax_solve(struct tree *t, wide *bound);
/* About what the LP comes to after a few pivots. */
double relax_try(struct tree *t);
/* Narrow columns that can go no further without passing the target. */
void relax_fix(struct tree *t);

/* ip_rows.c: what the LP holds. */
void relax_init(struct tree *t);
void relax_free(struct tree *t);
void relax_bound_column(struct tree *t, size_t j, int64_t low, int64_t high);
void relax_add_cut(struct tree *t, const struct cut *cut);
size_t relax_add_set(struct tree *t, const struct set *set);
void relax_bound_set(struct tree *t, size_t i, int64_t low, int64_t high);
/* The LP forgets sets that bind nothing. */
void relax_drop_sets(struct tree *t);
/* Columns outside that are worth their cost come in, the best of them; false: none are. */
bool relax_let_in(struct tree *t);
/* The dearest columns that it does not use wait aside. */
void relax_park(struct tree *t);

/* ip_branch.c: what to split on; false: everything is whole. */
bool branch_choose(struct tree *t, struct branch *b);

/* No multiplier is larger: in a branch without an answer they grow beyond all costs. */
static inline double tree_y_most(const struct tree *t)
{
	return 64.0 * ((double)t->limit + 1);
}

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
