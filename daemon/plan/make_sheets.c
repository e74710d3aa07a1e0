/* SPDX-License-Identifier: MIT */
/*
 * make_sheets.c - the method for sheets, several widths, roll-ends of different stock.
 *
 * Goal after goal: the program with rolls is solved for it, its prices bound it and the
 * goals after it, and whole plans are looked for while plan and bound differ.
 */
#include "make.h"

#include <stdlib.h>

#include "sheets.h"

#define ROUNDS 300
#define ENRICH 6
#define NODES 200
#define DIVES 6
#define NODES_ALL 2000
#define STRIPS_LISTED 600
#define FILLINGS_LISTED 2000

static bool goal_met(const struct maker *mk, enum goal goal)
{
	const struct totals *t = &mk->totals;
	const struct bounds *b = &mk->bounds;

	switch (goal) {
	case GOAL_UNPLACED:
		return t->unplaced == b->unplaced;
	case GOAL_ROLLS:
		return t->fresh_rolls == b->fresh_rolls;
	case GOAL_PRICE:
		return t->price == b->price;
	default:
		return t->strip_length == b->strip_length;
	}
}

static void bound_by_prices(struct sheets *s)
{
	struct worth *w = worth_new(s->m, s->m->arena);

	for (size_t i = 0; i < s->m->n_sizes; i++)
		w->size[i] = s->price[i];
	if (worth_by_prices(s->m, &s->mk->budget, w))
		maker_bound(s->mk, w);
}

/* Every column was there: what was not found does not exist. */
static void settle(struct maker *mk, enum goal goal)
{
	const struct totals *t = &mk->totals;
	struct bounds *b = &mk->bounds;

	switch (goal) {
	case GOAL_UNPLACED:
		b->unplaced = t->unplaced;
		break;
	case GOAL_ROLLS:
		if (b->fresh_rolls < t->fresh_rolls)
			mk->proof = NULL; /* no prices show it */
		b->fresh_rolls = t->fresh_rolls;
		break;
	case GOAL_PRICE:
		b->price = t->price;
		break;
	case GOAL_LENGTH:
		b->strip_length = t->strip_length;
		break;
	}
}

static void reach_goal(struct sheets *s, enum goal goal, bool all, int effort)
{
	struct maker *mk = s->mk;

	for (int turn = 0;
	     turn < 3 && !mk->budget.stopped && !goal_met(mk, goal); turn++) {
		struct totals before = mk->totals;

		sheets_aim(s, goal);
		sheets_solve(s, ROUNDS);
		bound_by_prices(s);
		if (mk->budget.stopped || goal_met(mk, goal))
			return;
		for (int bias = effort * DIVES;
		     bias < (effort + 1) * DIVES && !all && !goal_met(mk, goal);
		     bias++)
			sheets_dive(s, bias);
		if (mk->budget.stopped || goal_met(mk, goal))
			return;
		sheets_aim(s, goal);
		sheets_solve(s, ROUNDS);
		if (!all)
			sheets_enrich(s, ENRICH << effort);
		if (sheets_round(s, all ? NODES_ALL : NODES << 2 * effort) &&
		    all) {
			settle(mk, goal);
			return;
		}
		if (totals_compare(s->m->problem, &mk->totals, &before) == 0)
			return;
	}
}

void make_sheets(struct maker *mk, bool length_too, int effort)
{
	bool price_first = mk->model->problem->prefer_price;
	struct sheets s;
	bool all;

	if (mk->model->n_sizes > 300)
		return;
	sheets_init(&s, mk);
	sheets_offer(&s, mk->best);
	all = sheets_list_all(&s, STRIPS_LISTED, FILLINGS_LISTED);
	reach_goal(&s, GOAL_UNPLACED, all, effort);
	reach_goal(&s, price_first ? GOAL_PRICE : GOAL_ROLLS, all, effort);
	reach_goal(&s, price_first ? GOAL_ROLLS : GOAL_PRICE, all, effort);
	if (length_too)
		reach_goal(&s, GOAL_LENGTH, all, effort);
	sheets_free(&s);
}
