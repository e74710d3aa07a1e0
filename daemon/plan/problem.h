/* SPDX-License-Identifier: MIT */
/*
 * What is asked of the planner: one paper's stock and the pieces wanted of it.
 *
 * Lengths are in 1/320 mm, prices in minor units.  A problem is one arena: whatever is
 * reachable from it dies with problem_delete().  Build it by problem_read() (the JSON of
 * docs/plan.md), or by problem_new() and filling the arrays, then problem_check().
 */
#ifndef PLAN_PROBLEM_H
#define PLAN_PROBLEM_H

#include <stdbool.h>
#include <stddef.h>

#include "arena.h"
#include "err.h"
#include "measure.h"
#include "text.h"

#define UNLIMITED (-1)
#define PROBLEM_STOCK_MAX 1000      /* entries in stock[] */
#define PROBLEM_SIZES_MAX 20000     /* entries in pieces[] */
#define PROBLEM_PIECES_MAX 1000000  /* pieces in all */
#define PROBLEM_TEXT_MAX (16 << 20) /* bytes of JSON */

struct run { /* [from, to) along a roll that no piece may touch */
	length from, to;
};

struct stock {
	const char *name;
	length width;  /* across */
	length length; /* along */
	money price;
	int64_t available; /* or UNLIMITED */
	bool flat;         /* the first tears may run in either direction */
	bool fresh;        /* counted as a fresh roll */
	const struct run *spoiled; /* in rising order, apart */
	size_t n_spoiled;
};

struct piece {
	const char *name;
	length across, along;
	int64_t count;
	bool turn;         /* may lie either way */
	const char *owner; /* whose it is; NULL: not told */
};

struct problem {
	struct arena *arena;
	int stages;        /* 2 or 3 */
	bool prefer_price; /* price comes before the number of rolls */
	struct stock *stock;
	size_t n_stock;
	struct piece *pieces;
	size_t n_pieces;
	length sliver, oversize;
	length keep;   /* the shortest roll-end that goes back to the shelf */
	length ruler;  /* hints offer sizes that lie on it; 0: any */
	bool estimate; /* tell what estimate.h says too */
	int64_t
	    milliseconds; /* wall clock for whoever runs the planner; the planner has no clock */
};

/* An empty problem with room for so many entries (zeroed); stages 3. */
struct problem *problem_new(size_t n_stock, size_t n_pieces);
void problem_delete(struct problem *problem); /* NULL is fine */

/* Every rule of the format that single numbers can break, named with its JSON pointer. */
bool problem_check(const struct problem *problem, struct err *err) MUST_USE;

/*
 * Read the JSON form.  On failure err tells the first error and `more`, when not NULL,
 * collects the first ten as lines "pointer: message".  *out is the caller's.
 */
bool problem_read(const char *json, size_t len, struct problem **out,
    struct text *more, struct err *err) MUST_USE;

/* Write the JSON form (lengths as integers); reading it back gives the same problem. */
void problem_write(const struct problem *problem, struct text *out);

#endif
