/* SPDX-License-Identifier: MIT */
/*
 * estimate.c - the plan of all, once without an entry, once with an entry made smaller.
 *
 * Without: the rest of the plan, less the rolls that become empty, is a plan for the others;
 * so what an entry adds is never negative, however early the new plan is cut off.  Equal
 * entries have equal answers.
 *
 * Hints: where k pieces lie across a roll of width W, W / (k + 1) on the ruler is the size at
 * which k + 1 do; the same along the roll.  Only a little smaller is offered.  Which entries are
 * tried first is told by the prices behind the bound (the dual values): count x price is how
 * much of the rolls an entry carries.  A hint is given only when the new plan is below
 * the bound of the old problem, so that no plan of the sizes as they are does as well: the
 * smaller size it is that saves, and not better luck.
 */
#include "estimate.h"

#include <stdlib.h>

#include "alloc.h"
#include "alone.h"

#define STEPS_LEAST 50000 /* of one plan */
#define WITHOUT_MOST 100  /* different entries */
#define HINTS_TRIED 16
#define SHRINK 12 /* a size may lose one in so many */

struct asking {
	const struct problem *problem;
	const struct plan_job *job;
	struct plan *plan;
	int64_t steps; /* of one plan */
};

static bool may_go_on(const struct asking *a)
{
	return a->job->progress == NULL ||
	       a->job->progress(a->job->ctx, NULL, NULL, 0);
}

static struct problem *copy(const struct problem *of)
{
	struct problem *p = problem_new(of->n_stock, of->n_pieces);

	p->stages = of->stages;
	p->prefer_price = of->prefer_price;
	p->sliver = of->sliver;
	p->oversize = of->oversize;
	p->keep = of->keep;
	for (size_t i = 0; i < of->n_stock; i++)
		p->stock[i] = of->stock[i];
	for (size_t i = 0; i < of->n_pieces; i++)
		p->pieces[i] = of->pieces[i];
	return p;
}

static struct plan *plan_again(
    const struct asking *a, const struct problem *problem)
{
	struct plan_job job = *a->job;
	struct plan *plan = NULL;
	struct err err;

	job.steps = a->steps;
	if (!plan_make(problem, &job, &plan, &err))
		return NULL;
	return plan;
}

/* ---- without ---- */

static bool are_equal(const struct piece *a, const struct piece *b)
{
	return a->across == b->across && a->along == b->along &&
	       a->count == b->count && a->turn == b->turn;
}

static bool holds_others(const struct roll *roll, size_t piece)
{
	for (size_t s = 0; s < roll->n_strips; s++)
		for (size_t g = 0; g < roll->strips[s].n_segments; g++) {
			const struct segment *segment =
			    &roll->strips[s].segments[g];

			for (size_t p = 0; p < segment->n_pieces; p++)
				if (segment->pieces[p].piece != piece)
					return true;
		}
	return false;
}

/* The plan as it is, without the rolls that hold nothing but this entry. */
static struct without take_out(const struct asking *a, size_t piece)
{
	struct without w = {.piece = piece};

	for (size_t r = 0; r < a->plan->n_rolls; r++) {
		const struct roll *roll = &a->plan->rolls[r];
		const struct stock *stock = &a->problem->stock[roll->stock];

		if (!holds_others(roll, piece))
			continue;
		w.price += stock->price;
		w.fresh_rolls += stock->fresh;
	}
	return w;
}

/* Which of two comes first is a matter of the problem, as in totals_compare(). */
static bool is_less(const struct asking *a, int64_t rolls, money price,
    int64_t rolls2, money price2)
{
	if (a->problem->prefer_price)
		return price != price2 ? price < price2 : rolls < rolls2;
	return rolls != rolls2 ? rolls < rolls2 : price < price2;
}

static struct without plan_without(const struct asking *a, size_t piece)
{
	struct without w = take_out(a, piece);
	struct problem *problem = NULL;
	struct plan *plan = NULL;

	if (a->problem->n_pieces == 1) {
		w.proven = a->plan->proven.price;
		return w;
	}
	problem = copy(a->problem);
	problem->pieces[piece] = problem->pieces[--problem->n_pieces];
	plan = plan_again(a, problem);
	if (plan != NULL && plan->totals.unplaced == 0) {
		const struct totals *t = &plan->totals;

		if (is_less(
			a, t->fresh_rolls, t->price, w.fresh_rolls, w.price)) {
			w.price = t->price;
			w.fresh_rolls = t->fresh_rolls;
		}
		w.proven = a->plan->proven.price &&
			   a->plan->proven.fresh_rolls &&
			   w.price == plan->bounds.price &&
			   w.fresh_rolls == plan->bounds.fresh_rolls;
	}
	plan_delete(plan);
	problem_delete(problem);
	return w;
}

static const struct without *find_equal(const struct asking *a, size_t piece)
{
	for (size_t i = 0; i < a->plan->n_without; i++)
		if (are_equal(&a->problem->pieces[a->plan->without[i].piece],
			&a->problem->pieces[piece]))
			return &a->plan->without[i];
	return NULL;
}

static void add_without(struct asking *a)
{
	struct plan *plan = a->plan;
	size_t different = 0;

	plan->without = arena_array(
	    plan->arena, a->problem->n_pieces, sizeof(*plan->without));
	for (size_t i = 0; i < a->problem->n_pieces; i++) {
		const struct without *equal = find_equal(a, i);
		struct without w = {0};

		if (equal != NULL)
			w = *equal;
		else if (different++ == WITHOUT_MOST || !may_go_on(a))
			return;
		else
			w = plan_without(a, i);
		w.piece = i;
		plan->without[plan->n_without++] = w;
	}
}

/* ---- hints ---- */

struct idea {
	struct hint hint;
	wide weight; /* what the entry carries of the rolls */
};

/* The next smaller size at which one more fits into `room`; 0: too much smaller. */
static length smaller(length room, length size, length ruler, int64_t *fits)
{
	length to = 0;

	*fits = room / size;
	if (*fits == 0)
		return 0;
	to = room / (*fits + 1);
	to -= to % (ruler > 0 ? ruler : 1);
	return to > 0 && (size - to) * SHRINK <= size ? to : 0;
}

static void add_idea(const struct asking *a, struct idea *ideas, size_t *n,
    size_t piece, length room, bool across)
{
	const struct piece *p = &a->problem->pieces[piece];
	const struct proof *proof = &a->plan->proof;
	struct idea *idea = &ideas[*n];
	int64_t fits = 0;
	length to = smaller(
	    room, across ? p->across : p->along, a->problem->ruler, &fits);

	if (to == 0)
		return;
	*idea = (struct idea){
	    .hint = {.piece = piece,
		.across = across ? to : p->across,
		.along = across ? p->along : to,
		.fits = fits},
	    .weight = (wide)p->count * (proof->n_prices > piece
					       ? proof->prices[piece]
					       : p->across * p->along),
	};
	for (size_t i = 0; i < *n; i++)
		if (ideas[i].hint.piece == piece &&
		    ideas[i].hint.across == idea->hint.across &&
		    ideas[i].hint.along == idea->hint.along)
			return;
	++*n;
}

static int by_weight(const void *left, const void *right)
{
	const struct idea *a = left, *b = right;

	if (a->weight != b->weight)
		return a->weight > b->weight ? -1 : 1;
	if (a->hint.piece != b->hint.piece)
		return a->hint.piece < b->hint.piece ? -1 : 1;
	if (a->hint.across != b->hint.across)
		return a->hint.across > b->hint.across ? -1 : 1;
	return (a->hint.along < b->hint.along) -
	       (a->hint.along > b->hint.along);
}

/* Both directions of fresh rolls, for a piece as it lies or may lie. */
static size_t find_ideas(const struct asking *a, struct idea *ideas)
{
	size_t n = 0;

	for (size_t i = 0; i < a->problem->n_pieces; i++)
		for (size_t s = 0; s < a->problem->n_stock && s < 4; s++) {
			const struct stock *stock = &a->problem->stock[s];

			if (!stock->fresh)
				continue;
			add_idea(a, ideas, &n, i, stock->width, true);
			add_idea(a, ideas, &n, i, stock->length, false);
			if (!a->problem->pieces[i].turn)
				continue;
			add_idea(a, ideas, &n, i, stock->width, false);
			add_idea(a, ideas, &n, i, stock->length, true);
		}
	qsort(ideas, n, sizeof(*ideas), by_weight);
	return n;
}

/* Is it below whatever the sizes as they are allow? */
static bool proves_less(const struct asking *a, const struct totals *t)
{
	const struct bounds *b = &a->plan->bounds;
	const struct totals *was = &a->plan->totals;

	if (t->unplaced > 0 || t->price > was->price ||
	    t->fresh_rolls > was->fresh_rolls)
		return false;
	if (t->price < b->price || t->fresh_rolls < b->fresh_rolls)
		return true;
	return t->price == b->price && t->fresh_rolls == b->fresh_rolls &&
	       t->strip_length < b->strip_length;
}

/* The owner by themselves with the smaller size, for the ceiling. */
static bool plan_owner(
    const struct asking *a, const struct problem *problem, struct hint *hint)
{
	const char *owner = problem->pieces[hint->piece].owner;
	struct plan_job job = *a->job;
	struct problem *own = copy(problem);
	struct plan *plan = NULL;
	struct err err;
	bool ok = false;

	own->n_pieces = 0;
	for (size_t i = 0; i < problem->n_pieces; i++)
		if (plan_same_owner(problem->pieces[i].owner, owner))
			own->pieces[own->n_pieces++] = problem->pieces[i];
	job.steps = a->steps;
	if (plan_make(own, &job, &plan, &err)) {
		plan_add_alone(own, &job, &plan);
		ok = plan->n_alone == 1;
		if (ok) {
			hint->alone = plan->alone[0];
			hint->alone.owner =
			    arena_strdup(a->plan->arena, plan->alone[0].owner);
		}
	}
	plan_delete(plan);
	problem_delete(own);
	return ok;
}

static bool try_hint(const struct asking *a, struct hint *hint)
{
	struct problem *problem = copy(a->problem);
	struct plan *plan = NULL;
	bool good = false;

	problem->pieces[hint->piece].across = hint->across;
	problem->pieces[hint->piece].along = hint->along;
	plan = plan_again(a, problem);
	if (plan != NULL && proves_less(a, &plan->totals)) {
		hint->totals = plan->totals;
		plan_areas(problem, plan, &hint->bought, &hint->kept);
		good = problem->pieces[hint->piece].owner == NULL ||
		       plan_owner(a, problem, hint);
	}
	plan_delete(plan);
	problem_delete(problem);
	return good;
}

static void add_hints(struct asking *a)
{
	struct plan *plan = a->plan;
	size_t room = a->problem->n_pieces * 16 + 1;
	struct idea *ideas = xcalloc(room, sizeof(*ideas));
	size_t n = find_ideas(a, ideas);

	plan->hints =
	    arena_array(plan->arena, HINTS_TRIED, sizeof(*plan->hints));
	for (size_t i = 0; i < n && i < HINTS_TRIED && may_go_on(a); i++)
		if (try_hint(a, &ideas[i].hint))
			plan->hints[plan->n_hints++] = ideas[i].hint;
	free(ideas);
}

void plan_add_estimate(const struct problem *problem,
    const struct plan_job *job, struct plan *plan)
{
	struct asking a = {.problem = problem, .job = job, .plan = plan};
	int64_t plans = (int64_t)problem->n_pieces + 2 * HINTS_TRIED;

	a.steps = job->steps / plans;
	if (a.steps < STEPS_LEAST)
		a.steps = STEPS_LEAST;
	if (plan->totals.unplaced > 0)
		return;
	add_without(&a);
	add_hints(&a);
}
