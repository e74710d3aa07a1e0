/* SPDX-License-Identifier: MIT */
/* The inspector: a good plan passes, and every way of spoiling it is noticed. */
#include <criterion/criterion.h>
#include <string.h>

#include "inspect.h"

/* Two strips of 40 x 30 and 20 x 30 pieces on a roll of 100 x 200, worked out by hand. */
static const char problem_text[] =
    "{\"stages\": 3, \"sliver\": 5, \"oversize\": 2,"
    " \"stock\": [{\"width\": 100, \"length\": 200, \"price\": 7},"
    "  {\"width\": 60, \"length\": 60, \"price\": 1, \"available\": 1, "
    "\"flat\": true,"
    "   \"spoiled\": [[50, 60]]}],"
    " \"pieces\": [{\"across\": 40, \"along\": 30, \"count\": 2, \"turn\": "
    "true},"
    "  {\"across\": 20, \"along\": 15, \"count\": 3}, {\"across\": 10, "
    "\"along\": 30, \"count\": 1}]}";
/* Strip 1, 30 high: 40, 40, then 20 with two stacked: exact.  Strip 2, 30 high: the 20 x 15
 * trimmed by 15 above, the 10 x 30, and 70 left beside. */
static const char plan_text[] =
    "{\"rolls\": [{\"stock\": 0, \"length\": 200, \"width\": 100, \"strips\": ["
    " {\"at\": 0, \"height\": 30, \"segments\": ["
    "  {\"at\": 0, \"width\": 40, \"pieces\": [{\"piece\": 0, \"at\": 0, "
    "\"across\": 40, \"along\": 30}]},"
    "  {\"at\": 40, \"width\": 40, \"pieces\": [{\"piece\": 0, \"at\": 0, "
    "\"across\": 40, \"along\": 30}]},"
    "  {\"at\": 80, \"width\": 20, \"pieces\": [{\"piece\": 1, \"at\": 0, "
    "\"across\": 20, \"along\": 15},"
    "   {\"piece\": 1, \"at\": 15, \"across\": 20, \"along\": 15}]}]},"
    " {\"at\": 30, \"height\": 30, \"segments\": ["
    "  {\"at\": 0, \"width\": 20, \"pieces\": [{\"piece\": 1, \"at\": 0, "
    "\"across\": 20, \"along\": 15}]},"
    "  {\"at\": 20, \"width\": 10, \"pieces\": [{\"piece\": 2, \"at\": 0, "
    "\"across\": 10, \"along\": 30}]}"
    " ]}]}],"
    " \"unplaced\": [0, 0, 0],"
    " \"totals\": {\"unplaced\": 0, \"fresh_rolls\": 1, \"price\": 7, "
    "\"strip_length\": 60,"
    "  \"tears\": 8, \"strip_kinds\": 2},"
    " \"bounds\": {\"unplaced\": 0, \"fresh_rolls\": 1, \"price\": 7, "
    "\"strip_length\": 50},"
    " \"proven\": {\"unplaced\": true, \"fresh_rolls\": true, \"price\": true, "
    "\"strip_length\": false}}";

static struct problem *problem;
static struct plan *plan;

static void make(void)
{
	struct err err;

	cr_assert(problem_read(
		      problem_text, strlen(problem_text), &problem, NULL, &err),
	    "%s", err.text);
	cr_assert(plan_read(plan_text, strlen(plan_text), &plan, &err), "%s",
	    err.text);
}

static void drop(void)
{
	plan_delete(plan);
	problem_delete(problem);
}

TestSuite(inspect, .init = make, .fini = drop);

Test(inspect, lets_a_good_plan_pass)
{
	struct err err = {0};

	cr_expect(plan_inspect(problem, plan, &err), "%s", err.text);
}

/*
 * Tears by hand: after each strip 1 (2); strip 1: two between segments, one inside the
 * stack (3); strip 2: after 20, after 10, above the 20 x 15 (3).
 */
Test(inspect, counts_tears_as_the_rules_say)
{
	struct totals t;

	plan_count(problem, plan, &t);
	cr_expect(t.tears == 8, "%ld", t.tears);
	cr_expect(t.strip_kinds == 2, "%ld", t.strip_kinds);
}

/* clang-format off */
enum damage {
	NOTHING, OVERLAP, LEAVE_ROLL, WRONG_STOCK, TOO_MANY, WRONG_SIZE, TURN_GRAIN, TURN_ONE, GAP_BESIDE,
	WIDE_ROW, SLIVER_BESIDE, SLIVER_ABOVE, OVERSIZE_TOO_MUCH, LOSE_PIECE, TWICE, TELL_LESS,
	BOUND_ABOVE, PROVEN_WRONGLY, SPOILED, QUARTER_ROLL, EMPTY_STRIP, TWO_STAGES, STACK_GAP, TEARS,
	N_DAMAGES
};

static void damage(enum damage what)
{
	static const struct run spoil[] = {{44, 46}};
	struct roll *roll = &plan->rolls[0];
	struct strip *one = &roll->strips[0], *two = &roll->strips[1];

	switch (what) {
	case NOTHING: break;
	case OVERLAP: two->at = 29; break;
	case LEAVE_ROLL: two->at = 171; break;
	case WRONG_STOCK: roll->stock = 1; break;
	case TOO_MANY: problem->stock[0].available = 0; break;
	case WRONG_SIZE: one->segments[0].pieces[0].along = 29; break;
	case TURN_GRAIN: two->segments[0].pieces[0].turned = true; break;
	case TURN_ONE: one->segments[0].pieces[0].turned = true; break;
	case GAP_BESIDE: one->segments[1].at = 41; break;
	case WIDE_ROW: problem->stock[0].width = roll->width = 99; break;
	case SLIVER_BESIDE: problem->stock[0].width = roll->width = 104; break;
	case SLIVER_ABOVE: two->height = 34; break;
	case OVERSIZE_TOO_MUCH: two->segments[0].pieces[0].along = 18; break;
	case LOSE_PIECE: two->n_segments = 1; break;
	case TWICE: two->segments[0].pieces[0].piece = 2; break;
	case TELL_LESS: plan->totals.strip_length = 59; break;
	case BOUND_ABOVE: plan->bounds.strip_length = 61; break;
	case PROVEN_WRONGLY: plan->proven.strip_length = true; break;
	case SPOILED: problem->stock[0].n_spoiled = 1;
		problem->stock[0].spoiled = spoil; break;
	case QUARTER_ROLL: roll->quarter = true; break;
	case EMPTY_STRIP: two->n_segments = 0; break;
	case TWO_STAGES: problem->stages = 2; break;
	case STACK_GAP: one->segments[2].pieces[1].at = 16; break;
	case TEARS: plan->totals.tears = 7; break;
	case N_DAMAGES: break;
	}
}
/* clang-format on */

Test(inspect, notices_every_damage)
{
	for (int what = OVERLAP; what < N_DAMAGES; what++) {
		struct err err = {0};

		drop();
		make();
		damage((enum damage)what);
		cr_expect(!plan_inspect(problem, plan, &err),
		    "damage %d went unnoticed", what);
	}
}

/* 44..46 lies in the trim above the 20 x 15 and in the 10 x 30; 45..60 only in trim when the
 * 10 x 30 is gone: no piece is touched there. */
Test(inspect, lets_a_spoiled_run_lie_in_a_trim)
{
	static const struct run run[] = {{45, 60}};
	struct err err = {0};

	problem->stock[0].spoiled = run;
	problem->stock[0].n_spoiled = 1;
	cr_expect(!plan_inspect(problem, plan, &err), "the 10 x 30 lies on it");
	plan->rolls[0].strips[1].n_segments = 1;
	plan->unplaced[2] = 1;
	plan_count(problem, plan, &plan->totals);
	plan->proven.unplaced = false;
	cr_expect(plan_inspect(problem, plan, &err), "%s", err.text);
}
