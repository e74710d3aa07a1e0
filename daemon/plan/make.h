/* SPDX-License-Identifier: MIT */
/*
 * The state of one plan_make(): the best plan and the best bounds so far.  Internal to
 * plan/.
 */
#ifndef PLAN_MAKE_H
#define PLAN_MAKE_H

#include "bounds.h"
#include "budget.h"
#include "draft.h"

struct maker {
	struct model *model;
	struct budget budget;
	struct draft *best;
	struct totals totals; /* of best */
	struct bounds bounds;
	struct worth *
	    proof; /* the prices behind bounds.fresh_rolls; NULL: none, or by search */
};

/* Keep the draft if it is better, else delete it; NULL is fine. */
void maker_offer(struct maker *mk, struct draft *draft);
/* Raise the bounds by these prices. */
void maker_bound(struct maker *mk, const struct worth *w);
/* Plan and bounds meet everywhere. */
bool maker_done(const struct maker *mk);

/* Methods, each a file. */
void make_lengths(struct maker *mk); /* lengths.c: all stock in one frame */
/*
 * make_sheets.c: any stock.  Every further effort (0, 1, ...) looks elsewhere and takes
 * several times the work.
 */
void make_sheets(struct maker *mk, bool length_too, int effort);

#endif
