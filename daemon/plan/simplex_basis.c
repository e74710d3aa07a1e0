/* SPDX-License-Identifier: MIT */
/*
 * simplex_basis.c - the basis: its inverse, and what follows from it.
 *
 * The inverse is a dense square.  Its rows' norms, which steepest-edge pricing asks for,
 * are kept as the rows change.  Reduced costs are moved along with every pivot and worked
 * out anew only where that is not enough.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "simplex_own.h"

#define STIR 1e-9 /* costs are stirred by so much, against cycling */

double basis_norm(const double row[], size_t m)
{
	double a = 0, b = 0;
	size_t k = 0;

	for (; k + 1 < m; k += 2) {
		a += row[k] * row[k];
		b += row[k + 1] * row[k + 1];
	}
	return k < m ? a + b + row[k] * row[k] : a + b;
}

double basis_low(const struct simplex *s, size_t v)
{
	return v >= ROW ? s->row_low[v - ROW] : s->low[v];
}

double basis_high(const struct simplex *s, size_t v)
{
	return v >= ROW ? s->row_high[v - ROW] : s->high[v];
}

/* A number in 0..1 that depends on j alone. */
static double stir(size_t j)
{
	uint64_t z = (j + 1) * UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	return (double)((z ^ z >> 31) >> 40) / (double)(1 << 24);
}

static double cost_of(const struct simplex *s, size_t v)
{
	return v >= ROW ? 0 : s->cost[v] / s->top + STIR * (1 + stir(v));
}

void basis_column(const struct simplex *s, size_t v, double *out)
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

/* row -= f * pivot; returns the norm of what comes out. */
static double subtract(
    double *restrict row, const double *restrict pivot, double f, size_t m)
{
	double a = 0, b = 0;
	size_t k = 0;

	for (; k + 1 < m; k += 2) {
		double x = row[k] - f * pivot[k];
		double y = row[k + 1] - f * pivot[k + 1];

		row[k] = x;
		row[k + 1] = y;
		a += x * x;
		b += y * y;
	}
	if (k < m) {
		row[k] -= f * pivot[k];
		a += row[k] * row[k];
	}
	return a + b;
}

void basis_pivot(struct simplex *s, size_t r, const double *enter)
{
	size_t w = s->cap_rows, m = s->m;
	double *pivot = &s->inverse[r * w], by = 1 / enter[r];

	for (size_t k = 0; k < m; k++)
		pivot[k] *= by;
	s->norm[r] *= by * by;
	for (size_t i = 0; i < m; i++)
		if (i != r && fabs(enter[i]) >= 1e-13)
			s->norm[i] =
			    subtract(&s->inverse[i * w], pivot, enter[i], m);
}

void basis_refactor(struct simplex *s)
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
		s->norm[i] = 1;
		s->head[i] = ROW + i;
		s->row_where[i] = taken[i] ? BASIC : s->row_where[i];
	}
	for (size_t k = 0; k < n; k++) {
		size_t best = m;

		basis_column(s, wanted[k], s->enter);
		for (size_t i = 0; i < m; i++)
			if (!taken[i] &&
			    (best == m ||
				fabs(s->enter[i]) > fabs(s->enter[best])))
				best = i;
		if (best == m || fabs(s->enter[best]) < PIVOT_LEAST) {
			s->where[wanted[k]] = AT_LOW;
			continue;
		}
		basis_pivot(s, best, s->enter);
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

void basis_price(struct simplex *s)
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
		if (s->settled)
			continue; /* those that pay come in from below */
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

double basis_value(const struct simplex *s, size_t v)
{
	unsigned char at = v >= ROW ? s->row_where[v - ROW] : s->where[v];

	return at == AT_HIGH ? basis_high(s, v) : basis_low(s, v);
}

void basis_place(struct simplex *s)
{
	size_t m = s->m, w = s->cap_rows;
	double *rhs = s->enter;

	memset(rhs, 0, m * sizeof(*rhs));
	for (size_t j = 0; j < s->n_columns; j++) {
		double x = s->where[j] == BASIC ? 0 : basis_value(s, j);

		for (size_t k = 0; k < s->column[j].n && x != 0; k++)
			rhs[s->column[j].entries[k].at] -=
			    s->column[j].entries[k].value * x;
	}
	for (size_t r = 0; r < m; r++)
		if (s->row_where[r] != BASIC)
			rhs[r] += basis_value(s, ROW + r);
	for (size_t i = 0; i < m; i++) {
		double sum = 0;

		for (size_t k = 0; k < m; k++)
			sum += s->inverse[i * w + k] * rhs[k];
		s->xb[i] = sum;
	}
}

static void add_column(double *sum, const struct matrix_column *c, double times)
{
	for (size_t k = 0; k < c->n; k++)
		sum[c->entries[k].at] += c->entries[k].value * times;
}

double basis_error(struct simplex *s)
{
	double worst = 0, *sum = s->enter;

	memset(sum, 0, s->m * sizeof(*sum));
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->where[j] != BASIC && basis_value(s, j) != 0)
			add_column(sum, &s->column[j], basis_value(s, j));
	for (size_t i = 0; i < s->m; i++)
		if (s->head[i] >= ROW)
			sum[s->head[i] - ROW] -= s->xb[i];
		else
			add_column(sum, &s->column[s->head[i]], s->xb[i]);
	for (size_t r = 0; r < s->m; r++) {
		double e = sum[r];

		if (s->row_where[r] != BASIC)
			e -= basis_value(s, ROW + r);
		worst = fabs(e) > worst ? fabs(e) : worst;
	}
	return worst;
}

double basis_objective(const struct simplex *s)
{
	double sum = 0;

	for (size_t j = 0; j < s->n_columns; j++)
		if (s->where[j] != BASIC && basis_value(s, j) != 0)
			sum += s->d[j] * basis_value(s, j);
	for (size_t r = 0; r < s->m; r++)
		if (s->row_where[r] != BASIC)
			sum += s->row_d[r] * basis_value(s, ROW + r);
	return sum;
}

void basis_row(struct simplex *s, size_t r)
{
	const double *rho = &s->inverse[r * s->cap_rows];

	for (size_t j = 0; j < s->n_columns; j++) {
		const struct matrix_column *c = &s->column[j];
		double sum = 0;

		if (s->where[j] == BASIC ||
		    (s->low[j] == 0 && s->high[j] == 0)) {
			s->alpha[j] = 0; /* held at 0 its price is no matter */
			continue;
		}
		for (size_t k = 0; k < c->n; k++)
			sum += rho[c->entries[k].at] * c->entries[k].value;
		s->alpha[j] = sum;
	}
	for (size_t i = 0; i < s->m; i++)
		s->row_alpha[i] = s->row_where[i] == BASIC ? 0 : -rho[i];
}

void basis_move_duals(struct simplex *s, double step)
{
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->alpha[j] != 0)
			s->d[j] -= step * s->alpha[j];
	for (size_t r = 0; r < s->m; r++)
		s->row_d[r] -= step * s->row_alpha[r];
}

void basis_set(struct simplex *s, size_t v, unsigned char where, double d)
{
	if (v >= ROW) {
		s->row_where[v - ROW] = where;
		s->row_d[v - ROW] = d;
	} else {
		s->where[v] = where;
		s->d[v] = d;
	}
}
