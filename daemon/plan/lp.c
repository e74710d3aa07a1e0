/* SPDX-License-Identifier: MIT */
/*
 * lp.c - COIN-OR CLP behind a small door.
 *
 * New columns are gathered and handed over together before a solve, since CLP copies its
 * matrix at every call.  CLP accepts a wrong row index in silence, hence the asserts.
 */
#include "lp.h"

#include <assert.h>
#include <coin/Clp_C_Interface.h>
#include <stdlib.h>

#include "alloc.h"

struct lp {
	Clp_Simplex *clp;
	size_t n_rows, n_columns; /* the waiting ones included */
	/* columns not yet handed over */
	double *cost, *lower, *upper, *values;
	int *starts, *rows;
	size_t n_wait, cap_wait, n_values, cap_values;
};

struct lp *lp_new(void)
{
	struct lp *lp = xcalloc(1, sizeof(*lp));

	lp->clp = Clp_newModel();
	Clp_setLogLevel(lp->clp, 0);
	Clp_setPerturbation(lp->clp, 100); /* no random perturbation */
	return lp;
}

void lp_delete(struct lp *lp)
{
	if (lp == NULL)
		return;
	Clp_deleteModel(lp->clp);
	free(lp->cost);
	free(lp->lower);
	free(lp->upper);
	free(lp->values);
	free(lp->starts);
	free(lp->rows);
	free(lp);
}

static void hand_over(struct lp *lp)
{
	if (lp->n_wait == 0)
		return;
	lp->starts[lp->n_wait] = (int)lp->n_values;
	Clp_addColumns(lp->clp, (int)lp->n_wait, lp->lower, lp->upper, lp->cost,
	    lp->starts, lp->rows, lp->values);
	lp->n_wait = 0;
	lp->n_values = 0;
}

void lp_add_row(struct lp *lp, double lower, double upper)
{
	int start[2] = {0, 0};

	hand_over(lp);
	Clp_addRows(lp->clp, 1, &lower, &upper, start, NULL, NULL);
	lp->n_rows++;
}

static void make_room(struct lp *lp, size_t n)
{
	if (lp->n_wait + 1 >= lp->cap_wait) {
		lp->cap_wait = lp->cap_wait == 0 ? 64 : 2 * lp->cap_wait;
		lp->cost = xrealloc(lp->cost, lp->cap_wait, sizeof(*lp->cost));
		lp->lower =
		    xrealloc(lp->lower, lp->cap_wait, sizeof(*lp->lower));
		lp->upper =
		    xrealloc(lp->upper, lp->cap_wait, sizeof(*lp->upper));
		lp->starts =
		    xrealloc(lp->starts, lp->cap_wait + 1, sizeof(*lp->starts));
	}
	while (lp->n_values + n > lp->cap_values) {
		lp->cap_values = lp->cap_values == 0 ? 256 : 2 * lp->cap_values;
		lp->values =
		    xrealloc(lp->values, lp->cap_values, sizeof(*lp->values));
		lp->rows =
		    xrealloc(lp->rows, lp->cap_values, sizeof(*lp->rows));
	}
}

void lp_add_column(struct lp *lp, double cost, double lower, double upper,
    size_t n, const int rows[], const double coefficients[])
{
	make_room(lp, n);
	lp->starts[lp->n_wait] = (int)lp->n_values;
	lp->cost[lp->n_wait] = cost;
	lp->lower[lp->n_wait] = lower;
	lp->upper[lp->n_wait] = upper;
	for (size_t i = 0; i < n; i++) {
		assert(rows[i] >= 0 && (size_t)rows[i] < lp->n_rows);
		lp->rows[lp->n_values] = rows[i];
		lp->values[lp->n_values++] = coefficients[i];
	}
	lp->n_wait++;
	lp->n_columns++;
}

void lp_drop_columns(struct lp *lp, size_t first)
{
	int *which;

	hand_over(lp);
	if (first >= lp->n_columns)
		return;
	which = xcalloc(lp->n_columns - first, sizeof(*which));
	for (size_t i = first; i < lp->n_columns; i++)
		which[i - first] = (int)i;
	Clp_deleteColumns(lp->clp, (int)(lp->n_columns - first), which);
	free(which);
	lp->n_columns = first;
}

void lp_bound_row(struct lp *lp, size_t row, double lower, double upper)
{
	assert(row < lp->n_rows);
	Clp_rowLower(lp->clp)[row] = lower;
	Clp_rowUpper(lp->clp)[row] = upper;
}

void lp_bound_column(struct lp *lp, size_t column, double lower, double upper)
{
	hand_over(lp);
	assert(column < lp->n_columns);
	Clp_columnLower(lp->clp)[column] = lower;
	Clp_columnUpper(lp->clp)[column] = upper;
}

void lp_cost(struct lp *lp, size_t column, double cost)
{
	hand_over(lp);
	assert(column < lp->n_columns);
	Clp_objective(lp->clp)[column] = cost;
}

enum lp_end { LP_DONE, LP_MORE, LP_FAILED };

/* At most `pivots` pivots; LP_MORE: not at the optimum yet. */
static enum lp_end lp_solve(
    struct lp *lp, bool dual, int pivots, int64_t *steps)
{
	hand_over(lp);
	Clp_setNumberIterations(lp->clp, 0);
	Clp_setMaximumIterations(lp->clp, pivots);
	if (dual)
		Clp_dual(lp->clp, 0);
	else
		Clp_primal(lp->clp, 0);
	/* a call costs something before its first pivot: about 30 per row and 3 per column */
	*steps += (int64_t)Clp_numberIterations(lp->clp) *
		      (int64_t)(lp->n_rows + lp->n_columns / 8 + 20) +
		  (int64_t)(30 * lp->n_rows + 3 * lp->n_columns + 500);
	if (Clp_status(lp->clp) == 0)
		return LP_DONE;
	return Clp_status(lp->clp) == 3 ? LP_MORE : LP_FAILED;
}

/* So many pivots take a few hundredths of a second: ask the budget after them. */
static int lp_patience(const struct lp *lp)
{
	size_t pivots = 200000 / (lp->n_rows + 1);

	return pivots < 100 ? 100 : pivots > 2000 ? 2000 : (int)pivots;
}

bool lp_run(struct lp *lp, bool dual, struct budget *budget)
{
	int64_t steps;
	enum lp_end end;

	do {
		steps = 0;
		end = lp_solve(lp, dual, lp_patience(lp), &steps);
		if (!budget_spend(budget, steps))
			return false;
	} while (end == LP_MORE);
	return end == LP_DONE;
}

double lp_value(const struct lp *lp)
{
	return Clp_objectiveValue(lp->clp);
}

const double *lp_columns(const struct lp *lp)
{
	return Clp_primalColumnSolution(lp->clp);
}

const double *lp_prices(const struct lp *lp)
{
	return Clp_dualRowSolution(lp->clp);
}
