/* SPDX-License-Identifier: MIT */
/*
 * The inside of the simplex: the matrix (simplex.c), the basis (simplex_basis.c) and the
 * pivots (simplex_pivot.c) share it.
 */
#ifndef PLAN_SIMPLEX_OWN_H
#define PLAN_SIMPLEX_OWN_H

#include "simplex.h"

#define REFACTOR 100
#define DUAL_TOLERANCE 1e-9
#define PIVOT_LEAST 1e-7

enum where { AT_LOW, AT_HIGH, BASIC };

struct matrix_column {
	struct simplex_entry *entries;
	size_t n, cap;
};

struct simplex {
	/* variables: the columns, then one for each row */
	struct matrix_column *column;
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
	double *norm;              /* of each row of the inverse, squared */
	double *alpha, *row_alpha; /* the pivot row */
	double *enter;             /* the pivot column */
	int since;                 /* pivots since the inverse was made */
	bool
	    moved; /* a variable outside the basis: the basis has to be placed */
	bool unpriced; /* reduced costs have to be worked out */
	bool settled;  /* at the optimum, but for columns that came since */
};

/* Heads name rows by ROW + row, so that columns may still be added. */
#define ROW ((size_t)1 << 62)

/* simplex_basis.c; variables are columns, or ROW + row. */
double basis_norm(const double row[], size_t m);
double basis_low(const struct simplex *s, size_t v);
double basis_high(const struct simplex *s, size_t v);
double basis_value(const struct simplex *s, size_t v);
/* out = inverse * the column of variable v */
void basis_column(const struct simplex *s, size_t v, double *out);
/* alpha = row r of the inverse times every column that is not basic */
void basis_row(struct simplex *s, size_t r);
/* Make row r of the inverse belong to a variable whose column solves to `enter`. */
void basis_pivot(struct simplex *s, size_t r, const double *enter);
/* The inverse made anew from the basis; a column that cannot go in leaves it. */
void basis_refactor(struct simplex *s);
/* Reduced costs from the basis, each variable at the bound its sign asks for. */
void basis_price(struct simplex *s);
/* The basic variables from the others. */
void basis_place(struct simplex *s);
/* By how much a row is not what its columns add up to, at most. */
double basis_error(struct simplex *s);
double basis_objective(const struct simplex *s);
void basis_set(struct simplex *s, size_t v, unsigned char where, double d);
void basis_move_duals(struct simplex *s, double step);

#endif
