/* SPDX-License-Identifier: MIT */
/*
 * A planner's answer is a claim: what is said beside the plan, bent one number at a time.
 */
#include "judge.h"

#include <criterion/criterion.h>
#include <string.h>

#include "alone.h"
#include "estimate.h"

static struct problem *problem;
static struct plan *plan;
static struct text asked;

static void begin(void)
{
	struct plan_job job = {.steps = 1000000};
	struct err err = {0};

	problem = problem_new(1, 2);
	problem->ruler = INCH / 16;
	problem->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 16200,
	    .available = UNLIMITED,
	    .fresh = true};
	for (size_t i = 0; i < 2; i++)
		problem->pieces[i] = (struct piece){.name = "p",
		    .across = 9 * INCH + INCH / 8,
		    .along = 12 * INCH + INCH / 2,
		    .count = 130,
		    .owner = i ? "2" : "1"};
	text_init(&asked, 1 << 20);
	problem_write(problem, &asked);
	cr_assert(plan_make(problem, &job, &plan, &err), "%s", err.text);
	plan_add_alone(problem, &job, &plan);
	plan_add_estimate(problem, &job, plan);
	cr_assert_eq(plan->n_alone, 2);
	cr_assert_eq(plan->n_without, 2);
	cr_assert_gt(plan->n_hints, 0);
}

static void end(void)
{
	plan_delete(plan);
	problem_delete(problem);
	text_free(&asked);
}

/* Written and judged as the planner's process would have said it. */
static bool believed(struct err *err)
{
	struct text said;
	char code[CHECK_CODE_SIZE];
	bool ok;

	text_init(&said, 1 << 20);
	plan_write(plan, -1, &said);
	ok = judge_result(asked.data, said.data, said.len, code, err);
	text_free(&said);
	return ok;
}

Test(judge, believes_what_makes_sense_and_nothing_else, .init = begin,
    .fini = end)
{
	struct err err = {0};

	cr_assert(believed(&err), "%s", err.text);
#define BENT(field, value)                                                     \
	do {                                                                   \
		__typeof__(field) was = field;                                 \
		field = value;                                                 \
		cr_expect_not(believed(&err), #field);                         \
		field = was;                                                   \
	} while (0)
	BENT(plan->without[0].piece, 2);
	BENT(plan->without[1].price, -1);
	BENT(plan->without[1].price, plan->totals.price + 1);
	BENT(plan->hints[0].piece, 2);
	BENT(plan->hints[0].across, 0);
	BENT(plan->hints[0].along, problem->pieces[0].along + 1);
	BENT(plan->hints[0].kept, plan->hints[0].bought + 1);
	BENT(plan->hints[0].alone.price, -5);
	BENT(plan->alone[0].owner, "2");
	BENT(plan->alone[1].owner, "3");
	BENT(plan->alone[0].price, -1);
	BENT(plan->alone[0].kept, plan->alone[0].bought + 1);
	BENT(plan->totals.price, plan->totals.price - 1);
	cr_assert(believed(&err), "%s", err.text);
}
