/* SPDX-License-Identifier: MIT */
/*
 * The planner: a problem goes in, a plan with its bounds comes out.
 *
 *     struct plan_job job = { .steps = 0 };
 *     struct plan *plan = NULL;
 *     if (!plan_make(problem, &job, &plan, err)) ...    a piece fits no stock: err names it
 *     plan_delete(plan);
 *
 * Pure: no clock, file, socket, log, thread, random source or global.  The same problem
 * and the same number of steps give the same plan on every machine.
 *
 * A plan is one arena: everything reachable from it dies with plan_delete().
 */
#ifndef PLAN_PLAN_H
#define PLAN_PLAN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "arena.h"
#include "err.h"
#include "measure.h"
#include "problem.h"
#include "text.h"

struct placed {               /* one piece as torn */
	size_t piece;         /* index into problem->pieces */
	length at;            /* along, from the strip's start */
	length across, along; /* as it lies: after turning, with any oversize */
	bool turned;
};

struct segment {
	length at; /* across, from the roll's edge */
	length width;
	struct placed *pieces;
	size_t n_pieces;
};

struct strip {
	length at; /* along, from the roll's start */
	length height;
	struct segment *segments;
	size_t n_segments;
};

struct roll { /* one roll, roll-end, offcut or flat sheet that is used */
	size_t stock; /* index into problem->stock */
	bool
	    quarter; /* flat stock begun the other way: across and along are exchanged */
	length width,
	    length; /* in the frame of the strips (exchanged when quarter) */
	struct strip *strips; /* in rising order of at */
	size_t n_strips;
};

struct totals {
	int64_t unplaced;
	int64_t fresh_rolls;
	money price;
	length strip_length; /* on fresh rolls */
	int64_t tears;
	int64_t strip_kinds; /* different strips */
};

struct bounds { /* no plan whatever has less, given equal values before it */
	int64_t unplaced, fresh_rolls;
	money price;
	length strip_length;
};

struct proven {
	bool unplaced, fresh_rolls, price, strip_length;
};

/*
 * Why no plan has fewer fresh rolls: a price for each entry of problem->pieces, and for
 * each stock what one roll of it can hold at most at these prices.  n_prices 0: the bound
 * comes from looking at everything, and there is no short proof.
 */
struct proof {
	int64_t fresh_rolls;
	int64_t *prices;
	size_t n_prices;
	int64_t *worths;
	size_t n_worths;
};

/*
 * What one owner's pieces by themselves would take, of stock that can be bought: a whole
 * plan of its own (alone.h).  bought: the area of its rolls and sheets; kept: of the ends
 * that go back to the shelf.
 */
struct alone {
	const char *owner;
	money price;
	int64_t fresh_rolls;
	area bought, kept;
};

/* The plan of all without one entry of problem->pieces (estimate.h).  proven: both plans
 * are proved to have the fewest rolls and the least price. */
struct without {
	size_t piece;
	money price;
	int64_t fresh_rolls;
	bool proven;
};

/* The plan of all with one entry of this size instead; fits: how many lay beside each other
 * before, one more does now; alone: the owner's pieces then. */
struct hint {
	size_t piece;
	length across, along;
	int64_t fits;
	struct totals totals;
	area bought, kept;
	struct alone alone;
};

struct plan {
	struct arena *arena;
	struct proof proof; /* of bounds.fresh_rolls */
	struct roll *rolls;
	size_t n_rolls;
	int64_t *
	    unplaced; /* for each problem->pieces entry, how many are left out */
	size_t n_unplaced;
	struct totals totals;
	struct bounds bounds;
	struct proven proven;
	int64_t steps;       /* work done */
	struct alone *alone; /* by owner's name; empty when not asked for */
	size_t n_alone;
	struct without *without; /* likewise */
	size_t n_without;
	struct hint *hints;
	size_t n_hints;
};

/* Called between steps.  best may be NULL before the first plan.  False: stop now and
 * return the best plan so far with its bounds. */
typedef bool plan_progress_fn(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps);

#define PLAN_MEMORY_MOST ((size_t)512 << 20)

struct plan_job {
	int64_t steps; /* budget of work; 0: until done or stopped */
	size_t
	    memory; /* bytes its tables may take, then it ends; 0: PLAN_MEMORY_MOST */
	plan_progress_fn *progress; /* may be NULL */
	void *ctx;
};

bool plan_make(const struct problem *problem, const struct plan_job *job,
    struct plan **out, struct err *err) MUST_USE;
void plan_delete(struct plan *plan); /* NULL is fine */

#define PLAN_TEXT_MAX                                                          \
	((size_t)1 << 30) /* bytes; a million pieces take up to 400 MB */

/* The JSON form of docs/plan.md.  milliseconds < 0 leaves "seconds" out. */
void plan_write(
    const struct plan *plan, int64_t milliseconds, struct text *out);
/* The certificate of the bound on fresh rolls (docs/plan.md, "Certificates"). */
void plan_proof_write(const struct plan *plan, struct text *out);
/* Read it back (totals are read, not recomputed: ask the inspector). */
bool plan_read(
    const char *json, size_t len, struct plan **out, struct err *err) MUST_USE;

#endif
