/* SPDX-License-Identifier: MIT */
/*
 * The first plan: rolls filled one after the other, strips from the tallest piece down.
 * Quick, always complete, never proven.  Internal to plan/.
 */
#ifndef PLAN_FILL_H
#define PLAN_FILL_H

#include "budget.h"
#include "draft.h"
#include "knap.h"

enum fill_row {     /* how a strip is filled beside the piece that opens it */
	FILL_FIRST, /* first fit by falling height: FFDH */
	FILL_BEST,  /* the largest area that goes in */
};

enum fill_opening { /* which way opens the next strip */
	OPEN_TALLEST,
	OPEN_LOWEST_SIDE, /* turnable pieces lie flat where they can */
	OPEN_WIDEST,
	OPEN_LARGEST,
};

struct filler {
	const struct model *model;
	struct knap *knap;
	enum fill_row row;
	enum fill_opening opening;
	struct budget *budget;
	bool first;    /* the first plan is made whatever the budget says */
	int64_t steps; /* since the budget was told */
	size_t **
	    openings; /* for each frame, its ways in the order of the opening; built on demand */
};

void filler_init(
    struct filler *f, const struct model *model, struct budget *budget);
void filler_free(struct filler *f);
void filler_set(struct filler *f, enum fill_row row, enum fill_opening opening);

/*
 * One strip for the frame out of what is left, at most `room` high, made in `arena`.
 * NULL: nothing that is left goes in there.
 */
struct pattern *fill_strip(struct filler *f, struct arena *arena, size_t frame,
    length room, const int64_t left[]);

/* Fill one new roll of the bin; false (and no roll taken) when nothing goes in. */
bool fill_bin(struct filler *f, struct draft *draft, size_t bin);

/* Tell the budget; false: stop. */
bool filler_goes_on(struct filler *f);

/* The best of several whole plans: ways to fill times orders of the stock. */
struct draft *fill_plan(struct filler *f);

#endif
