/* SPDX-License-Identifier: MIT */
/*
 * simplex.c - bounded dual simplex with an explicit inverse.
 *
 * Row i has the activity s_i = sum a_ij x_j as a variable of its own, so the program is
 * A x - s = 0 with bounds on x and s, and the basis of all s is where it begins: costs
 * are not negative, so it is dual feasible.  From then on every change is one of bounds
 * or a row more, which keeps that so, and the dual simplex goes on from where it stood.
 *
 * With some dozen rows the inverse of the basis is kept as it is, a dense square: a pivot
 * is then a few thousand multiplications, the norms for steepest-edge pricing come for
 * nothing, and there is none of the set-up that a solver for large sparse programs does
 * at every call (which took nine tenths of the time before).  Every REFACTOR pivots the
 * inverse is made anew.  Dual simplex with steepest edge: Forrest and Goldfarb 1992 (from
 * memory); the ratio test is Harris's, 1973 (from memory).
 */
#include "simplex.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define REFACTOR 100
#define FEASIBLE 1e-7
#define DUAL_TOLERANCE 1e-9
#define PIVOT_LEAST 1e-7
#define STIR 1e-9 /* costs are stirred by so much, against cycling */

enum where { AT_LOW, AT_HIGH, BASIC };

struct column { /* of the matrix */
	struct simplex_entry *entries;
	size_t n, cap;
};

struct simplex {
	/* variables: the columns, then one for each row */
	struct column *column;
	size_t n_columns, cap_columns;
	size_t m, cap_rows;
	size_t n_entries; /* of the matrix */
	double *cost;     /* of columns, over top */
	double top;
	double *low, *high;         /* of columns */
	double *row_low, *row_high; /* of rows */
	unsigned char *where, *row_where;
	double *d, *row_d; /* reduced costs */
	double *x;         /* of columns, for the caller */
	double *price;
	/* the basis: head[i] < n_columns is a column, else n_columns + row */
	size_t *head;
	double *inverse; /* [i * cap_rows + k] */
	double *xb;
	double *alpha, *row_alpha; /* the pivot row */
	double *enter;             /* the pivot column */
	int since;                 /* pivots since the inverse was made */
};

/* Heads name rows by ROW + row, so that columns may still be added. */
#define ROW ((size_t)1 << 62)

struct simplex *simplex_new(void)
{
	struct simplex *s = xcalloc(1, sizeof(*s));

	s->top = 1;
	return s;
}

void simplex_delete(struct simplex *s)
{
	if (s == NULL)
		return;
	for (size_t j = 0; j < s->n_columns; j++)
		free(s->column[j].entries);
	free(s->column);
	free(s->cost);
	free(s->low);
	free(s->high);
	free(s->row_low);
	free(s->row_high);
	free(s->where);
	free(s->row_where);
	free(s->d);
	free(s->row_d);
	free(s->x);
	free(s->price);
	free(s->head);
	free(s->inverse);
	free(s->xb);
	free(s->alpha);
	free(s->row_alpha);
	free(s->enter);
	free(s);
}

static void add_entry(struct column *c, size_t row, double value)
{
	if (c->n == c->cap) {
		c->cap = c->cap == 0 ? 8 : 2 * c->cap;
		c->entries = xrealloc(c->entries, c->cap, sizeof(*c->entries));
	}
	c->entries[c->n++] = (struct simplex_entry){row, value};
}

static void grow_columns(struct simplex *s)
{
	size_t cap = s->cap_columns == 0 ? 256 : 2 * s->cap_columns;

	s->column = xrealloc(s->column, cap, sizeof(*s->column));
	s->cost = xrealloc(s->cost, cap, sizeof(*s->cost));
	s->low = xrealloc(s->low, cap, sizeof(*s->low));
	s->high = xrealloc(s->high, cap, sizeof(*s->high));
	s->where = xrealloc(s->where, cap, sizeof(*s->where));
	s->d = xrealloc(s->d, cap, sizeof(*s->d));
	s->x = xrealloc(s->x, cap, sizeof(*s->x));
	s->alpha = xrealloc(s->alpha, cap, sizeof(*s->alpha));
	s->cap_columns = cap;
}

static void grow_rows(struct simplex *s)
{
	size_t cap = s->cap_rows == 0 ? 32 : 2 * s->cap_rows;
	double *inverse = xcalloc(cap * cap, sizeof(*inverse));

	for (size_t i = 0; i < s->m; i++)
		memcpy(&inverse[i * cap], &s->inverse[i * s->cap_rows],
		    s->m * sizeof(*inverse));
	free(s->inverse);
	s->inverse = inverse;
	s->row_low = xrealloc(s->row_low, cap, sizeof(*s->row_low));
	s->row_high = xrealloc(s->row_high, cap, sizeof(*s->row_high));
	s->row_where = xrealloc(s->row_where, cap, sizeof(*s->row_where));
	s->row_d = xrealloc(s->row_d, cap, sizeof(*s->row_d));
	s->row_alpha = xrealloc(s->row_alpha, cap, sizeof(*s->row_alpha));
	s->price = xrealloc(s->price, cap, sizeof(*s->price));
	s->head = xrealloc(s->head, cap, sizeof(*s->head));
	s->xb = xrealloc(s->xb, cap, sizeof(*s->xb));
	s->enter = xrealloc(s->enter, cap, sizeof(*s->enter));
	s->cap_rows = cap;
}

/* A number in 0..1 that depends on j alone. */
static double stir(size_t j)
{
	uint64_t z = (j + 1) * UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	return (double)((z ^ z >> 31) >> 40) / (double)(1 << 24);
}

void simplex_add_column(struct simplex *s, double cost, double low, double high,
    const struct simplex_entry entries[], size_t n)
{
	size_t j = s->n_columns;

	if (j == s->cap_columns)
		grow_columns(s);
	s->column[j] = (struct column){0};
	for (size_t k = 0; k < n; k++)
		add_entry(&s->column[j], entries[k].at, entries[k].value);
	s->n_entries += n;
	s->cost[j] = cost;
	s->top = cost > s->top ? cost : s->top;
	s->low[j] = low;
	s->high[j] = high;
	s->where[j] = AT_LOW;
	s->x[j] = low;
	s->n_columns++;
}

/* The row of the inverse for a new row whose own variable is basic. */
static void extend_inverse(
    struct simplex *s, const struct simplex_entry entries[], size_t n)
{
	size_t m = s->m, w = s->cap_rows;
	double *last = &s->inverse[m * w];

	memset(last, 0, (m + 1) * sizeof(*last));
	for (size_t i = 0; i < m; i++) {
		double a = 0;

		s->inverse[i * w + m] = 0;
		for (size_t k = 0; k < n && s->head[i] < ROW; k++)
			if (entries[k].at == s->head[i])
				a = entries[k].value;
		for (size_t k = 0; k < m && a != 0; k++)
			last[k] += a * s->inverse[i * w + k];
	}
	last[m] = -1;
}

void simplex_add_row(struct simplex *s, double low, double high,
    const struct simplex_entry entries[], size_t n)
{
	size_t r = s->m;

	if (r == s->cap_rows)
		grow_rows(s);
	for (size_t k = 0; k < n; k++)
		add_entry(&s->column[entries[k].at], r, entries[k].value);
	s->n_entries += n;
	extend_inverse(s, entries, n);
	s->row_low[r] = low;
	s->row_high[r] = high;
	s->row_where[r] = BASIC;
	s->row_d[r] = 0;
	s->head[r] = ROW + r;
	s->m++;
}

void simplex_bound_column(
    struct simplex *s, size_t column, double low, double high)
{
	s->low[column] = low;
	s->high[column] = high;
}

void simplex_bound_row(struct simplex *s, size_t row, double low, double high)
{
	s->row_low[row] = low;
	s->row_high[row] = high;
}

static double low_of(const struct simplex *s, size_t v)
{
	return v >= ROW ? s->row_low[v - ROW] : s->low[v];
}

static double high_of(const struct simplex *s, size_t v)
{
	return v >= ROW ? s->row_high[v - ROW] : s->high[v];
}

static double cost_of(const struct simplex *s, size_t v)
{
	return v >= ROW ? 0 : s->cost[v] / s->top + STIR * (1 + stir(v));
}

/* out = inverse * the column of variable v */
static void solve_column(const struct simplex *s, size_t v, double *out)
{
	size_t w = s->cap_rows;

	if (v >= ROW) {
		for (size_t i = 0; i < s->m; i++)
			out[i] = -s->inverse[i * w + (v - ROW)];
		return;
	}
	for (size_t i = 0; i < s->m; i++) {
		const double *row = &s->inverse[i * w];
		double sum = 0;

		for (size_t k = 0; k < s->column[v].n; k++)
			sum += row[s->column[v].entries[k].at] *
			       s->column[v].entries[k].value;
		out[i] = sum;
	}
}

/* Make row r of the inverse belong to a variable whose column solves to `enter`. */
static void pivot_inverse(struct simplex *s, size_t r, const double *enter)
{
	size_t w = s->cap_rows, m = s->m;
	double *pivot = &s->inverse[r * w], by = 1 / enter[r];

	for (size_t k = 0; k < m; k++)
		pivot[k] *= by;
	for (size_t i = 0; i < m; i++) {
		double f = enter[i], *row = &s->inverse[i * w];

		if (i == r || fabs(f) < 1e-13)
			continue;
		for (size_t k = 0; k < m; k++)
			row[k] -= f * pivot[k];
	}
}

/* The inverse made anew from the basis; a column that cannot go in leaves it. */
static void refactor(struct simplex *s)
{
	size_t m = s->m, w = s->cap_rows;
	size_t *wanted = xcalloc(m + 1, sizeof(*wanted)), n = 0;
	bool *taken = xcalloc(m + 1, sizeof(*taken));

	for (size_t i = 0; i < m; i++) {
		if (s->head[i] >= ROW)
			taken[s->head[i] - ROW] = true;
		else
			wanted[n++] = s->head[i];
	}
	for (size_t i = 0; i < m; i++) {
		memset(&s->inverse[i * w], 0, m * sizeof(*s->inverse));
		s->inverse[i * w + i] = -1;
		s->head[i] = ROW + i;
		s->row_where[i] = taken[i] ? BASIC : s->row_where[i];
	}
	for (size_t k = 0; k < n; k++) {
		size_t best = m;

		solve_column(s, wanted[k], s->enter);
		for (size_t i = 0; i < m; i++)
			if (!taken[i] &&
			    (best == m ||
				fabs(s->enter[i]) > fabs(s->enter[best])))
				best = i;
		if (best == m || fabs(s->enter[best]) < PIVOT_LEAST) {
			s->where[wanted[k]] = AT_LOW;
			continue;
		}
		pivot_inverse(s, best, s->enter);
		taken[best] = true;
		s->head[best] = wanted[k];
	}
	for (size_t i = 0; i < m; i++)
		if (s->head[i] >= ROW)
			s->row_where[s->head[i] - ROW] = BASIC;
	s->since = 0;
	free(taken);
	free(wanted);
}

/* Reduced costs from the basis, each variable at the bound its sign asks for. */
static void price_all(struct simplex *s)
{
	size_t m = s->m, w = s->cap_rows;

	memset(s->price, 0, m * sizeof(*s->price));
	for (size_t i = 0; i < m; i++) {
		double c = cost_of(s, s->head[i]);

		for (size_t k = 0; k < m && c != 0; k++)
			s->price[k] += c * s->inverse[i * w + k];
	}
	for (size_t j = 0; j < s->n_columns; j++) {
		double d = cost_of(s, j);

		if (s->where[j] == BASIC) {
			s->d[j] = 0;
			continue;
		}
		for (size_t k = 0; k < s->column[j].n; k++)
			d -= s->price[s->column[j].entries[k].at] *
			     s->column[j].entries[k].value;
		s->d[j] = d;
		if (d < -DUAL_TOLERANCE)
			s->where[j] = AT_HIGH;
		else if (d > DUAL_TOLERANCE)
			s->where[j] = AT_LOW;
	}
	for (size_t r = 0; r < m; r++) {
		s->row_d[r] = s->row_where[r] == BASIC ? 0 : s->price[r];
		if (s->row_d[r] < 0 && s->row_high[r] >= SIMPLEX_NO_BOUND)
			s->row_d[r] = 0; /* a hair: there is nowhere to go */
		if (s->row_where[r] != BASIC)
			s->row_where[r] =
			    s->row_d[r] < -DUAL_TOLERANCE  ? AT_HIGH
			    : s->row_d[r] > DUAL_TOLERANCE ? AT_LOW
							   : s->row_where[r];
	}
}

static double value_of(const struct simplex *s, size_t v)
{
	unsigned char at = v >= ROW ? s->row_where[v - ROW] : s->where[v];

	return at == AT_HIGH ? high_of(s, v) : low_of(s, v);
}

/* The basic variables from the others. */
static void place_basis(struct simplex *s)
{
	size_t m = s->m, w = s->cap_rows;
	double *rhs = s->enter;

	memset(rhs, 0, m * sizeof(*rhs));
	for (size_t j = 0; j < s->n_columns; j++) {
		double x = s->where[j] == BASIC ? 0 : value_of(s, j);

		for (size_t k = 0; k < s->column[j].n && x != 0; k++)
			rhs[s->column[j].entries[k].at] -=
			    s->column[j].entries[k].value * x;
	}
	for (size_t r = 0; r < m; r++)
		if (s->row_where[r] != BASIC)
			rhs[r] += value_of(s, ROW + r);
	for (size_t i = 0; i < m; i++) {
		double sum = 0;

		for (size_t k = 0; k < m; k++)
			sum += s->inverse[i * w + k] * rhs[k];
		s->xb[i] = sum;
	}
}

static double objective(const struct simplex *s)
{
	double sum = 0;

	for (size_t j = 0; j < s->n_columns; j++)
		if (s->where[j] != BASIC && value_of(s, j) != 0)
			sum += s->d[j] * value_of(s, j);
	for (size_t r = 0; r < s->m; r++)
		if (s->row_where[r] != BASIC)
			sum += s->row_d[r] * value_of(s, ROW + r);
	return sum;
}

/* The row that is out of its bounds by most, for its norm; m: none. */
static size_t choose_row(const struct simplex *s)
{
	size_t best = s->m, w = s->cap_rows;
	double best_score = 0;

	for (size_t i = 0; i < s->m; i++) {
		double low = low_of(s, s->head[i]),
		       high = high_of(s, s->head[i]);
		double out = s->xb[i] < low    ? low - s->xb[i]
			     : s->xb[i] > high ? s->xb[i] - high
					       : 0;
		double norm = 0;

		if (out <= FEASIBLE * (1 + 0.01 * fabs(s->xb[i])))
			continue;
		for (size_t k = 0; k < s->m; k++)
			norm += s->inverse[i * w + k] * s->inverse[i * w + k];
		if (out * out / norm > best_score) {
			best_score = out * out / norm;
			best = i;
		}
	}
	return best;
}

/* alpha = row r of the inverse times every column that is not basic */
static void make_row(struct simplex *s, size_t r)
{
	const double *rho = &s->inverse[r * s->cap_rows];

	for (size_t j = 0; j < s->n_columns; j++) {
		const struct column *c = &s->column[j];
		double sum = 0;

		if (s->where[j] == BASIC || s->low[j] == s->high[j]) {
			s->alpha[j] = 0;
			continue;
		}
		for (size_t k = 0; k < c->n; k++)
			sum += rho[c->entries[k].at] * c->entries[k].value;
		s->alpha[j] = sum;
	}
	for (size_t i = 0; i < s->m; i++)
		s->row_alpha[i] = s->row_where[i] == BASIC ? 0 : -rho[i];
}

/* How far the dual can go for this variable: d / alpha, or no limit. */
static bool limits(double alpha, double sign, unsigned char where)
{
	double a = alpha * sign;

	return where == AT_LOW    ? a > PIVOT_LEAST
	       : where == AT_HIGH ? a < -PIVOT_LEAST
				  : false;
}

/* Harris: the longest step within a tolerance, then the largest pivot within it. */
static size_t choose_entering(const struct simplex *s, double sign)
{
	double most = HUGE_VAL, best_alpha = 0;
	size_t best = SIZE_MAX;

	for (size_t j = 0; j < s->n_columns; j++)
		if (s->alpha[j] != 0 &&
		    limits(s->alpha[j], sign, s->where[j])) {
			double step = (fabs(s->d[j]) + DUAL_TOLERANCE) /
				      fabs(s->alpha[j]);

			most = step < most ? step : most;
		}
	for (size_t r = 0; r < s->m; r++)
		if (limits(s->row_alpha[r], sign, s->row_where[r])) {
			double step = (fabs(s->row_d[r]) + DUAL_TOLERANCE) /
				      fabs(s->row_alpha[r]);

			most = step < most ? step : most;
		}
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->alpha[j] != 0 &&
		    limits(s->alpha[j], sign, s->where[j]) &&
		    fabs(s->d[j]) <= most * fabs(s->alpha[j]) &&
		    fabs(s->alpha[j]) > best_alpha) {
			best_alpha = fabs(s->alpha[j]);
			best = j;
		}
	for (size_t r = 0; r < s->m; r++)
		if (limits(s->row_alpha[r], sign, s->row_where[r]) &&
		    fabs(s->row_d[r]) <= most * fabs(s->row_alpha[r]) &&
		    fabs(s->row_alpha[r]) > best_alpha) {
			best_alpha = fabs(s->row_alpha[r]);
			best = ROW + r;
		}
	return best;
}

static void move_duals(struct simplex *s, double step)
{
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->alpha[j] != 0)
			s->d[j] -= step * s->alpha[j];
	for (size_t r = 0; r < s->m; r++)
		s->row_d[r] -= step * s->row_alpha[r];
}

static void set_where(
    struct simplex *s, size_t v, unsigned char where, double d)
{
	if (v >= ROW) {
		s->row_where[v - ROW] = where;
		s->row_d[v - ROW] = d;
	} else {
		s->where[v] = where;
		s->d[v] = d;
	}
}

/* One pivot on row r. */
static enum simplex_end pivot(struct simplex *s, size_t r, double cutoff)
{
	size_t leaving = s->head[r], entering;
	bool below = s->xb[r] < low_of(s, leaving);
	double bound = below ? low_of(s, leaving) : high_of(s, leaving);
	double sign = below ? -1 : 1, step, primal, d;

	make_row(s, r);
	entering = choose_entering(s, sign);
	if (entering == SIZE_MAX) {
		/* the prices may grow for ever along row r: as far as asked */
		step = (cutoff + 1) / s->top - objective(s);
		step = sign * (step > 0 ? step : 0) / fabs(s->xb[r] - bound);
		move_duals(s, step);
		set_where(s, leaving, BASIC, -step);
		return SIMPLEX_ABOVE;
	}
	solve_column(s, entering, s->enter);
	if (fabs(s->enter[r]) < PIVOT_LEAST)
		return SIMPLEX_DONE; /* the inverse has to be made anew */
	d = entering >= ROW ? s->row_d[entering - ROW] : s->d[entering];
	step = d / s->enter[r];
	primal = (s->xb[r] - bound) / s->enter[r];
	move_duals(s, step);
	for (size_t i = 0; i < s->m; i++)
		s->xb[i] -= primal * s->enter[i];
	s->xb[r] = value_of(s, entering) + primal;
	pivot_inverse(s, r, s->enter);
	set_where(s, leaving, below ? AT_LOW : AT_HIGH, -step);
	set_where(s, entering, BASIC, 0);
	s->head[r] = entering;
	s->since++;
	return SIMPLEX_MORE;
}

static void start(struct simplex *s, int64_t *steps)
{
	if (s->since >= REFACTOR) {
		refactor(s);
		*steps += (int64_t)(s->m * s->m * s->m / 4);
	}
	price_all(s);
	place_basis(s);
	*steps += (int64_t)(s->n_columns + s->n_entries + s->m * s->m / 2);
}

enum simplex_end simplex_solve(
    struct simplex *s, double cutoff, int pivots, int64_t *steps)
{
	int bad = 0;

	start(s, steps);
	while (pivots-- > 0) {
		size_t r = choose_row(s);
		enum simplex_end end;

		if (r == s->m)
			return SIMPLEX_DONE;
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
			if (++bad > 2)
				return SIMPLEX_MORE;
			s->since = REFACTOR;
		}
		if (s->since % 8 == 0 && objective(s) * s->top > cutoff)
			return SIMPLEX_ABOVE;
	}
	return SIMPLEX_MORE;
}

const double *simplex_columns(struct simplex *s)
{
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->where[j] != BASIC)
			s->x[j] = value_of(s, j);
	for (size_t i = 0; i < s->m; i++)
		if (s->head[i] < ROW)
			s->x[s->head[i]] = s->xb[i];
	return s->x;
}

const double *simplex_prices(struct simplex *s)
{
	for (size_t r = 0; r < s->m; r++)
		s->price[r] = s->row_d[r] * s->top;
	return s->price;
}
