/* SPDX-License-Identifier: MIT */
/*
 * cuts.c - mixed-integer rounding of a few rows.
 *
 * Add up rows of the program, u times each, and divide by q: sum (b / q) x >= D / q for
 * whole b and D.  Let r = D mod q, not 0.  A column's b / q has a whole part and a rest
 * s / q; round it up where s >= r and keep the fraction s / r of one where s < r:
 *
 *     sum (r * floor(b / q) + min(r, s)) x  >=  r * ceil(D / q)
 *
 * holds for every whole x >= 0 (Nemhauser and Wolsey 1990, from memory; docs/plan.md,
 * "Cuts").  All numbers are whole.  "Five pieces, two beside each other: three strips" is
 * the simplest of them.  One, two or three rows and small q find most of what there is
 * to find; the subset-row cuts of vehicle routing are among them (Jepsen and others 2008,
 * from memory).
 */
#include "cuts.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define BROKEN 0.01    /* less is not worth a row */
#define Q_MOST 12      /* one row */
#define Q_MOST_TWO 8   /* two rows */
#define Q_MOST_THREE 4 /* three */
#define KEEP 400       /* candidates kept in one call */
#define TABLED 256     /* sums up to here are rounded by a table */

/* The columns that x uses, row by row. */
struct view {
	const struct ip *ip;
	size_t n;      /* columns */
	size_t n_rows; /* rows that are tight enough to be of use */
	size_t *row;
	double *x;
	int32_t *count; /* [row * n + column] */
	struct {
		struct cut cut;
		double broken;
	} best[KEEP];
	size_t n_best;
	int64_t steps;
	/* what a sum counts after rounding, over rest: a division takes most of the time */
	double table[Q_MOST + 1][Q_MOST][TABLED];
	bool tabled[Q_MOST + 1][Q_MOST];
};

static int64_t rounded(int64_t b, int64_t q, int64_t rest)
{
	int64_t floor = b >= 0 ? b / q : -((-b + q - 1) / q);
	int64_t s = b - floor * q;

	return rest * floor + (s < rest ? s : rest);
}

int64_t cut_count(const struct cut *c, const struct ip_column *column)
{
	int64_t b = 0;

	for (size_t k = 0; k < column->n; k++)
		for (size_t i = 0; i < c->n; i++)
			if (column->entries[k].row == c->row[i])
				b += c->u[i] * column->entries[k].count;
	return rounded(b, c->q, c->rest);
}

/* Keep the KEEP most broken ones, in falling order. */
static void keep_cut(struct view *v, const struct cut *c, double broken)
{
	size_t i = v->n_best;

	if (i == KEEP && broken <= v->best[KEEP - 1].broken)
		return;
	if (i == KEEP)
		i--;
	else
		v->n_best++;
	for (; i > 0 && v->best[i - 1].broken < broken; i--)
		v->best[i] = v->best[i - 1];
	v->best[i].cut = *c;
	v->best[i].broken = broken;
}

static const double *table_of(struct view *v, int64_t q, int64_t rest)
{
	double *t = v->table[q][rest];

	for (int64_t s = 0; s < TABLED && !v->tabled[q][rest]; s++)
		t[s] = (double)rounded(s, q, rest) / (double)rest;
	v->tabled[q][rest] = true;
	return t;
}

/* By how much x breaks the cut of these rows and multipliers; 1 is a whole strip. */
static void try_cut(struct view *v, struct cut *c, const size_t place[])
{
	const int32_t *a = &v->count[place[0] * v->n],
		      *b = c->n > 1 ? &v->count[place[1] * v->n] : NULL,
		      *d = c->n > 2 ? &v->count[place[2] * v->n] : NULL;
	int64_t sum = 0;
	double left = 0;
	const double *table;

	for (size_t i = 0; i < c->n; i++)
		sum += c->u[i] * v->ip->need[c->row[i]];
	c->rest = sum % c->q;
	if (c->rest == 0)
		return;
	c->need = c->rest * (sum / c->q + 1);
	table = table_of(v, c->q, c->rest);
	for (size_t k = 0; k < v->n; k++) {
		int64_t s = c->u[0] * a[k];

		if (b != NULL)
			s += c->u[1] * b[k];
		if (d != NULL)
			s += c->u[2] * d[k];
		left +=
		    v->x[k] * (s < TABLED ? table[s]
					  : (double)rounded(s, c->q, c->rest) /
						(double)c->rest);
	}
	v->steps += (int64_t)v->n / 2;
	left = (double)c->need / (double)c->rest - left;
	if (left > BROKEN)
		keep_cut(v, c, left);
}

/* All multipliers for the rows of the cut. */
static void try_multipliers(
    struct view *v, struct cut *c, const size_t place[], int64_t q_most)
{
	for (c->q = 2; c->q <= q_most; c->q++)
		for (c->u[0] = 1; c->u[0] < c->q; c->u[0]++)
			for (c->u[1] = 1; c->u[1] < (c->n > 1 ? c->q : 2);
			     c->u[1]++)
				for (c->u[2] = 1;
				     c->u[2] < (c->n > 2 ? c->q : 2); c->u[2]++)
					try_cut(v, c, place);
}

static void try_rows(struct view *v)
{
	size_t place[CUT_ROWS];
	struct cut c;

	for (place[0] = 0; place[0] < v->n_rows; place[0]++) {
		c = (struct cut){.n = 1, .row = {v->row[place[0]]}};
		try_multipliers(v, &c, place, Q_MOST);
		for (place[1] = place[0] + 1; place[1] < v->n_rows;
		     place[1]++) {
			c.n = 2;
			c.row[1] = v->row[place[1]];
			try_multipliers(v, &c, place, Q_MOST_TWO);
			c.n = 3;
			for (place[2] = place[1] + 1; place[2] < v->n_rows;
			     place[2]++) {
				c.row[2] = v->row[place[2]];
				try_multipliers(v, &c, place, Q_MOST_THREE);
			}
		}
	}
}

/* Rows whose surplus is small: only they can be broken after rounding. */
static void choose_rows(struct view *v, const double x[])
{
	const struct ip *ip = v->ip;
	double *sum = xcalloc(ip->n_rows, sizeof(*sum));

	for (size_t j = 0; j < ip->n_columns; j++)
		for (size_t k = 0; k < ip->columns[j].n && x[j] > 0; k++)
			sum[ip->columns[j].entries[k].row] +=
			    x[j] * (double)ip->columns[j].entries[k].count;
	for (size_t r = 0; r < ip->n_rows; r++)
		if (sum[r] < (double)ip->need[r] + 0.99 && ip->need[r] > 0)
			v->row[v->n_rows++] = r;
	free(sum);
}

static void load(struct view *v, const double x[])
{
	const struct ip *ip = v->ip;
	size_t *place = xcalloc(ip->n_rows, sizeof(*place)), n = 0;

	v->row = xcalloc(ip->n_rows + 1, sizeof(*v->row));
	choose_rows(v, x);
	for (size_t i = 0; i < v->n_rows; i++)
		place[v->row[i]] = i + 1;
	for (size_t j = 0; j < ip->n_columns; j++)
		v->n += x[j] > 1e-9;
	v->x = xcalloc(v->n + 1, sizeof(*v->x));
	v->count = xcalloc(v->n_rows * v->n + 1, sizeof(*v->count));
	for (size_t j = 0; j < ip->n_columns; j++) {
		const struct ip_column *c = &ip->columns[j];

		if (x[j] <= 1e-9)
			continue;
		for (size_t k = 0; k < c->n; k++)
			if (place[c->entries[k].row] > 0)
				v->count[(place[c->entries[k].row] - 1) * v->n +
					 n] = (int32_t)c->entries[k].count;
		v->x[n++] = x[j];
	}
	free(place);
}

static bool same_rows(const struct cut *a, const struct cut *b)
{
	return a->n == b->n &&
	       memcmp(a->row, b->row, a->n * sizeof(a->row[0])) == 0;
}

size_t cuts_find(const struct ip *ip, const double x[], struct cut out[],
    size_t max, int64_t *steps)
{
	struct view *v = xcalloc(1, sizeof(*v));
	size_t n = 0;

	v->ip = ip;
	load(v, x);
	try_rows(v);
	for (size_t i = 0; i < v->n_best && n < max; i++) {
		bool met = false;

		for (size_t k = 0; k < n && !met; k++)
			met = same_rows(&out[k], &v->best[i].cut);
		if (!met)
			out[n++] = v->best[i].cut;
	}
	*steps += v->steps;
	free(v->count);
	free(v->row);
	free(v->x);
	free(v);
	return n;
}
