/* SPDX-License-Identifier: MIT */
/*
 * simplex.c - bounded simplex with an explicit inverse: the program and its rows.
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

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "simplex_own.h"

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
	free(s->norm);
	free(s->alpha);
	free(s->row_alpha);
	free(s->enter);
	free(s);
}

static void add_entry(struct matrix_column *c, size_t row, double value)
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
	s->norm = xrealloc(s->norm, cap, sizeof(*s->norm));
	s->enter = xrealloc(s->enter, cap, sizeof(*s->enter));
	s->cap_rows = cap;
}

void simplex_add_column(struct simplex *s, double cost, double low, double high,
    const struct simplex_entry entries[], size_t n)
{
	size_t j = s->n_columns;

	if (j == s->cap_columns)
		grow_columns(s);
	s->column[j] = (struct matrix_column){0};
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
	s->unpriced = true;
	s->moved = s->moved || low != 0;
	s->settled = s->settled && low == 0;
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
	s->norm[m] = basis_norm(last, m + 1);
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
	s->moved = true; /* its own value is not known yet */
	s->settled = false;
}

/* The matrix without the rows that have no place any more. */
static void drop_entries(struct simplex *s, const size_t place[])
{
	s->n_entries = 0;
	for (size_t j = 0; j < s->n_columns; j++) {
		struct matrix_column *c = &s->column[j];
		size_t n = 0;

		for (size_t k = 0; k < c->n; k++)
			if (place[c->entries[k].at] != SIZE_MAX)
				c->entries[n++] = (struct simplex_entry){
				    place[c->entries[k].at],
				    c->entries[k].value};
		c->n = n;
		s->n_entries += n;
	}
}

/*
 * The basis is [B 0; b -1] where the last row is one that goes and its own variable is
 * basic: the inverse of B is what is left of the whole one without that row and column.
 */
void simplex_drop_rows(struct simplex *s, bool drop[])
{
	size_t m = s->m, w = s->cap_rows, n = 0, rows = 0;
	size_t *place = xcalloc(m + 1, sizeof(*place));

	for (size_t r = 0; r < m; r++) {
		drop[r] = drop[r] && s->row_where[r] == BASIC;
		place[r] = drop[r] ? SIZE_MAX : rows++;
	}
	for (size_t i = 0; i < m; i++) {
		size_t v = s->head[i], to = 0;

		if (v >= ROW && place[v - ROW] == SIZE_MAX)
			continue;
		for (size_t k = 0; k < m; k++)
			if (place[k] != SIZE_MAX)
				s->inverse[n * w + to++] =
				    s->inverse[i * w + k];
		s->head[n] = v >= ROW ? ROW + place[v - ROW] : v;
		s->xb[n] = s->xb[i];
		s->norm[n++] = s->norm[i];
	}
	for (size_t r = 0; r < m; r++) {
		if (drop[r])
			continue;
		s->row_low[place[r]] = s->row_low[r];
		s->row_high[place[r]] = s->row_high[r];
		s->row_where[place[r]] = s->row_where[r];
		s->row_d[place[r]] = s->row_d[r];
	}
	drop_entries(s, place);
	s->m = rows;
	free(place);
}

void simplex_bound_column(
    struct simplex *s, size_t column, double low, double high)
{
	if (s->low[column] == s->high[column] &&
	    (low != s->low[column] || high != s->high[column]))
		s->unpriced = true; /* it was left out, and its cost is old */
	if (s->where[column] != BASIC && s->low[column] == low &&
	    (s->where[column] == AT_LOW || s->low[column] == s->high[column])) {
		s->where[column] = AT_LOW; /* it stays where it is */
	} else {
		s->moved = s->moved || s->where[column] != BASIC;
		s->settled = false;
	}
	s->low[column] = low;
	s->high[column] = high;
}

void simplex_bound_row(struct simplex *s, size_t row, double low, double high)
{
	if (s->row_low[row] == s->row_high[row] && low < high)
		s->unpriced = true; /* held, any price suited it */
	s->moved = s->moved || s->row_where[row] != BASIC;
	s->settled = false;
	s->row_low[row] = low;
	s->row_high[row] = high;
}

double simplex_value(const struct simplex *s)
{
	return basis_objective(s) * s->top;
}

const double *simplex_columns(struct simplex *s)
{
	for (size_t j = 0; j < s->n_columns; j++)
		if (s->where[j] != BASIC)
			s->x[j] = basis_value(s, j);
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
