/* SPDX-License-Identifier: MIT */
/*
 * The model with rolls: strips of every frame, and ways to fill a roll with strip
 * heights.  Internal to plan/.
 */
#ifndef PLAN_SHEETS_H
#define PLAN_SHEETS_H

#include "columns.h"
#include "knap.h"
#include "lp.h"
#include "make.h"
#include "strips.h"

enum goal { GOAL_UNPLACED, GOAL_ROLLS, GOAL_PRICE, GOAL_LENGTH };

struct slot { /* room for strips of one height on a run of a roll */
	size_t run;
	length height;
	int64_t count;
};

struct filling { /* one way to fill a roll of a bin with strip heights */
	size_t bin;
	struct slot *slots;
	size_t n_slots;
};

struct link { /* the row that ties strips of a height to slots of that height */
	length height;
	size_t row;
};

struct links { /* of one frame, by rising height */
	struct link *list;
	size_t n, cap;
};

struct sheets {
	struct maker *mk;
	const struct model *m;
	enum goal goal;
	struct columns *pools; /* one for each frame */
	struct strips **strips;
	struct links *links;
	struct filling *fillings;
	size_t n_fillings, cap_fillings;
	struct arena *arena; /* of the fillings */
	struct knap *knap;
	struct lp *lp;
	struct what *known; /* what each LP column is */
	size_t n_known, cap_known;
	size_t *fed; /* for each frame, how many of its pool the LP knows */
	size_t fed_fillings;
	size_t row_stock, row_left, row_rolls, row_price; /* after the sizes */
	size_t n_rows;
	int64_t *price, *most;
	double top; /* the largest price of a roll */
};

struct what {
	enum { WHAT_LEFT, WHAT_STRIP, WHAT_FILLING, WHAT_LOWER } kind;
	size_t frame, i;
};

bool sheets_init(struct sheets *s, struct maker *mk);
void sheets_free(struct sheets *s);

/* Give what a draft holds to the program. */
void sheets_offer(struct sheets *s, const struct draft *d);
/* Fix the goals before this one at the best plan's values and make it the objective. */
void sheets_aim(struct sheets *s, enum goal goal);
/* New columns until none helps; true when it came to the end. */
bool sheets_solve(struct sheets *s, int rounds);
/* More strips: the dearest under prices stirred a little. */
void sheets_enrich(struct sheets *s, int rounds);

/*
 * Every strip and every filling of a small problem, so that what sheets_round() says is
 * the last word.  False: there are too many, or stages and rules that are not listed.
 */
bool sheets_list_all(
    struct sheets *s, size_t most_strips, size_t most_fillings);

/* What one roll of the filling adds to the goal, in whole units. */
int64_t filling_cost(const struct sheets *s, const struct filling *f);

/* A whole plan, roll after roll out of the LP; bias stirs the choices in a fixed way. */
void sheets_dive(struct sheets *s, int bias);

/*
 * Whole numbers from the program: a better plan by this goal is offered to the maker.
 * True when there is nothing better over the columns at hand.
 */
bool sheets_round(struct sheets *s, int nodes);

#endif
