/* SPDX-License-Identifier: MIT */
/*
 * simplex_pivot.c - from one basis to the next.
 *
 * A changed bound or a new row leaves the reduced costs as they should be, and the dual
 * simplex goes on.  A new column at the optimum leaves the values as they should be; where
 * it pays, the primal simplex lets it in; the dual one would have to bring it down from
 * its upper bound.
 */
#include <math.h>

#include "simplex_own.h"

#define FEASIBLE 1e-7
#define PAYS 1e-8 /* less is none */
#define WORN 1e-6 /* an error as large as this */
#define WORN_MOST 4

/* The row that is out of its bounds by most, for its norm; m: none. */
static size_t choose_row(const struct simplex *s)
{
	size_t best = s->m;
	double best_score = 0;

	for (size_t i = 0; i < s->m; i++) {
		double low = basis_low(s, s->head[i]),
		       high = basis_high(s, s->head[i]);
		double out = s->xb[i] < low    ? low - s->xb[i]
			     : s->xb[i] > high ? s->xb[i] - high
					       : 0;

		if (out <= FEASIBLE * (1 + 0.01 * fabs(s->xb[i])))
			continue;
		if (out * out > best_score * s->norm[i]) {
			best_score = out * out / s->norm[i];
			best = i;
		}
	}
	return best;
}

/* It cannot move, so any price suits it and it has no place in the basis. */
static bool is_held(const struct simplex *s, size_t v)
{
	return basis_low(s, v) == basis_high(s, v);
}

/* Does this variable set a limit to how far the dual can go: d / alpha? */
static bool limits(const struct simplex *s, size_t v, double sign)
{
	double alpha = v >= ROW ? s->row_alpha[v - ROW] : s->alpha[v];
	unsigned char where = v >= ROW ? s->row_where[v - ROW] : s->where[v];
	bool hit = where == AT_LOW    ? alpha * sign > PIVOT_LEAST
		   : where == AT_HIGH ? alpha * sign < -PIVOT_LEAST
				      : false;

	return hit && !is_held(s, v);
}

/* Harris: the longest step within a tolerance, then the largest pivot within it. */
static size_t choose_entering(const struct simplex *s, double sign)
{
	double most = HUGE_VAL, best_alpha = 0;
	size_t best = SIZE_MAX;

	for (size_t j = 0; j < s->n_columns; j++)
		if (limits(s, j, sign)) {
			double step = (fabs(s->d[j]) + DUAL_TOLERANCE) /
				      fabs(s->alpha[j]);

			most = step < most ? step : most;
		}
	for (size_t r = 0; r < s->m; r++)
		if (limits(s, ROW + r, sign)) {
			double step = (fabs(s->row_d[r]) + DUAL_TOLERANCE) /
				      fabs(s->row_alpha[r]);

			most = step < most ? step : most;
		}
	for (size_t j = 0; j < s->n_columns; j++)
		if (limits(s, j, sign) &&
		    fabs(s->d[j]) <= most * fabs(s->alpha[j]) &&
		    fabs(s->alpha[j]) > best_alpha) {
			best_alpha = fabs(s->alpha[j]);
			best = j;
		}
	for (size_t r = 0; r < s->m; r++)
		if (limits(s, ROW + r, sign) &&
		    fabs(s->row_d[r]) <= most * fabs(s->row_alpha[r]) &&
		    fabs(s->row_alpha[r]) > best_alpha) {
			best_alpha = fabs(s->row_alpha[r]);
			best = ROW + r;
		}
	return best;
}

/* One pivot on row r. */
static enum simplex_end pivot(struct simplex *s, size_t r, double cutoff)
{
	size_t leaving = s->head[r], entering;
	bool below = s->xb[r] < basis_low(s, leaving);
	double bound = below ? basis_low(s, leaving) : basis_high(s, leaving);
	double sign = below ? -1 : 1, step, primal, d;

	basis_row(s, r);
	entering = choose_entering(s, sign);
	if (entering == SIZE_MAX) {
		/* the prices may grow for ever along row r: as far as asked */
		step = (cutoff + 1) / s->top - basis_objective(s);
		step = sign * (step > 0 ? step : 0) / fabs(s->xb[r] - bound);
		basis_move_duals(s, step);
		basis_set(s, leaving, BASIC, -step);
		s->unpriced = true; /* these are no prices of the basis */
		return SIMPLEX_ABOVE;
	}
	basis_column(s, entering, s->enter);
	if (fabs(s->enter[r]) < PIVOT_LEAST)
		return SIMPLEX_DONE; /* the inverse has to be made anew */
	d = entering >= ROW ? s->row_d[entering - ROW] : s->d[entering];
	step = d / s->enter[r];
	primal = (s->xb[r] - bound) / s->enter[r];
	basis_move_duals(s, step);
	for (size_t i = 0; i < s->m; i++)
		s->xb[i] -= primal * s->enter[i];
	s->xb[r] = basis_value(s, entering) + primal;
	basis_pivot(s, r, s->enter);
	basis_set(s, leaving, below ? AT_LOW : AT_HIGH, -step);
	basis_set(s, entering, BASIC, 0);
	s->head[r] = entering;
	s->since++;
	return SIMPLEX_MORE;
}

static void start(struct simplex *s, int64_t *steps)
{
	if (s->since >= REFACTOR) {
		basis_refactor(s);
		*steps += (int64_t)(s->m * s->m * s->m / 4);
		s->moved = s->unpriced = true;
	}
	if (s->unpriced) {
		basis_price(s);
		s->moved = s->moved || !s->settled; /* some changed sides */
	}
	if (s->moved)
		basis_place(s);
	if (s->moved)
		*steps +=
		    (int64_t)(s->n_columns + s->n_entries + s->m * s->m / 2);
	s->moved = s->unpriced = false;
}

/* The column that lowers the cost most for each unit of it; SIZE_MAX: none. */
static size_t choose_paying(const struct simplex *s)
{
	double best = PAYS;
	size_t found = SIZE_MAX;

	for (size_t j = 0; j < s->n_columns; j++) {
		double d = s->where[j] == AT_LOW    ? -s->d[j]
			   : s->where[j] == AT_HIGH ? s->d[j]
						    : 0;

		if (d > best && s->low[j] < s->high[j]) {
			best = d;
			found = j;
		}
	}
	for (size_t r = 0; r < s->m; r++) {
		double d = s->row_where[r] == AT_LOW    ? -s->row_d[r]
			   : s->row_where[r] == AT_HIGH ? s->row_d[r]
							: 0;

		if (d > best && s->row_low[r] < s->row_high[r]) {
			best = d;
			found = ROW + r;
		}
	}
	return found;
}

/* How far it may go before something else meets a bound, and what: m is its own. */
static size_t choose_leaving(
    const struct simplex *s, size_t v, double dir, double *step)
{
	size_t found = s->m;
	double pivot = 0;

	*step = basis_high(s, v) - basis_low(s, v);
	for (size_t i = 0; i < s->m; i++) {
		double a = dir * s->enter[i], room;

		if (fabs(a) < PIVOT_LEAST)
			continue;
		if (a < 0 && basis_high(s, s->head[i]) >= SIMPLEX_NO_BOUND)
			continue;
		room = a > 0 ? (s->xb[i] - basis_low(s, s->head[i])) / a
			     : (basis_high(s, s->head[i]) - s->xb[i]) / -a;
		room = room > 0 ? room : 0;
		if (room < *step - 1e-9 ||
		    (room < *step + 1e-9 && fabs(a) > pivot)) {
			*step = room < *step ? room : *step;
			pivot = fabs(a);
			found = i;
		}
	}
	return found;
}

/* One pivot of the primal simplex on variable v; false: it went bad. */
static bool primal_pivot(struct simplex *s, size_t v)
{
	unsigned char at = v >= ROW ? s->row_where[v - ROW] : s->where[v];
	double dir = at == AT_LOW ? 1 : -1, step, from = basis_value(s, v), d;
	size_t r, leaving;

	basis_column(s, v, s->enter);
	r = choose_leaving(s, v, dir, &step);
	for (size_t i = 0; i < s->m; i++)
		s->xb[i] -= dir * step * s->enter[i];
	if (r == s->m) {
		basis_set(s, v, at == AT_LOW ? AT_HIGH : AT_LOW,
		    v >= ROW ? s->row_d[v - ROW] : s->d[v]);
		return step < SIMPLEX_NO_BOUND / 2;
	}
	leaving = s->head[r];
	basis_row(s, r);
	d = (v >= ROW ? s->row_d[v - ROW] : s->d[v]) / s->enter[r];
	basis_move_duals(s, d);
	s->xb[r] = from + dir * step;
	basis_set(s, leaving, dir * s->enter[r] > 0 ? AT_LOW : AT_HIGH, -d);
	basis_pivot(s, r, s->enter);
	basis_set(s, v, BASIC, 0);
	s->head[r] = v;
	s->since++;
	return true;
}

/* Columns that pay come in while everything stays within its bounds; false: not done. */
static bool let_paying_in(struct simplex *s, int *pivots, int64_t *steps)
{
	size_t v;

	while ((v = choose_paying(s)) != SIZE_MAX) {
		if ((*pivots)-- <= 0 || s->since >= REFACTOR ||
		    !primal_pivot(s, v))
			return false;
		*steps +=
		    (int64_t)(s->n_columns + s->n_entries + s->m * s->m / 2);
	}
	return true;
}

/* Errors have crept into the inverse: it has to be made anew. */
static bool is_worn(struct simplex *s, int64_t *steps)
{
	*steps += (int64_t)(s->n_columns + s->m * 8);
	return s->since > 0 && basis_error(s) > WORN;
}

enum simplex_end simplex_solve(
    struct simplex *s, double cutoff, int pivots, int64_t *steps)
{
	int bad = 0;

	start(s, steps);
	if (s->settled && !let_paying_in(s, &pivots, steps)) {
		s->settled = false; /* the dual simplex takes over */
		s->unpriced = true;
		start(s, steps);
	}
	s->settled = false;
	while (pivots-- > 0) {
		size_t r = choose_row(s);
		enum simplex_end end;

		if (r == s->m && !is_worn(s, steps)) {
			s->settled = true;
			return SIMPLEX_DONE;
		}
		if (r == s->m) {
			if (++bad > WORN_MOST)
				return SIMPLEX_MORE;
			s->since = REFACTOR;
		}
		if (s->since >= REFACTOR) {
			start(s, steps);
			continue;
		}
		end = pivot(s, r, cutoff);
		*steps +=
		    (int64_t)(s->n_columns + s->n_entries + s->m * s->m / 2);
		if (end == SIMPLEX_ABOVE)
			return SIMPLEX_ABOVE;
		if (end == SIMPLEX_DONE) {
			if (++bad > WORN_MOST)
				return SIMPLEX_MORE;
			s->since = REFACTOR;
		}
		if (s->since % 8 == 0 && basis_objective(s) * s->top > cutoff)
			return SIMPLEX_ABOVE;
	}
	return SIMPLEX_MORE;
}
