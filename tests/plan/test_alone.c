/* SPDX-License-Identifier: MIT */
/*
 * Every owner's pieces by themselves: against the planner asked for just these, and the
 * promise that the plan of all is never worse than the owners' plans side by side.
 */
#include "alone.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "draft.h"
#include "inspect.h"
#include "proof.h"

static uint64_t seed;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

static const char *const names[] = {"1", "2", "3", "4", "5", "6"};

/* Small numbers, so that rolls are few and filled badly by a planner in a hurry. */
static struct problem *pick_problem(void)
{
	size_t n_stock = (size_t)pick(1, 3), n = (size_t)pick(1, 10);
	struct problem *p = problem_new(n_stock, n);

	p->stages = (int)pick(2, 3);
	p->prefer_price = pick(0, 1);
	p->keep = pick(0, 40);
	for (size_t i = 0; i < n_stock; i++)
		p->stock[i] = (struct stock){.name = names[i],
		    .width = pick(20, 40),
		    .length = pick(60, 120),
		    .price = pick(0, 5000),
		    .available = i == 0 ? UNLIMITED : pick(0, 2),
		    .fresh = i == 0 || pick(0, 2) == 0};
	for (size_t i = 0; i < n; i++)
		p->pieces[i] = (struct piece){.name = "p",
		    .across = pick(1, 20),
		    .along = pick(1, 20),
		    .count = pick(1, 6),
		    .turn = pick(0, 1),
		    .owner = names[pick(0, 5)]};
	return p;
}

/* What the plan claims is checked by tables that know nothing of the planner. */
static void check_proof(const struct problem *p, const struct plan *plan)
{
	const char *why = "";

	cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD, "%s", why);
}

static struct plan *make(const struct problem *p, int64_t steps)
{
	struct plan_job job = {.steps = steps};
	struct plan *plan = NULL;
	struct err err = {0};

	cr_assert(plan_make(p, &job, &plan, &err), "%s", err.text);
	check_proof(p, plan);
	return plan;
}

/* What the header calls alone, said once more in other words. */
static struct plan *make_own(
    const struct problem *of, const char *owner, struct problem **out)
{
	size_t n_stock = 0, n = 0;
	struct problem *p = problem_new(of->n_stock, of->n_pieces);

	for (size_t i = 0; i < of->n_stock; i++)
		if (of->stock[i].fresh || of->stock[i].available == UNLIMITED)
			p->stock[n_stock++] = of->stock[i];
	for (size_t i = 0; i < of->n_pieces; i++)
		if (strcmp(of->pieces[i].owner, owner) == 0)
			p->pieces[n++] = of->pieces[i];
	p->n_stock = n_stock;
	p->n_pieces = n;
	p->stages = of->stages;
	p->prefer_price = of->prefer_price;
	*out = p;
	return make(p, 2000000);
}

Test(alone, plans_each_owner_as_if_there_were_nobody_else)
{
	size_t owners = 0;

	for (seed = 1; seed < 50; seed++) {
		uint64_t start = seed;
		struct problem *p = pick_problem();
		struct plan *plan = make(p, 200000);
		struct plan_job job = {.steps = 12000000};

		plan_add_alone(p, &job, &plan);
		for (size_t i = 0; i < plan->n_alone; i++) {
			const struct alone *a = &plan->alone[i];
			struct problem *own = NULL;
			struct plan *same = make_own(p, a->owner, &own);

			cr_expect_eq(a->price, same->totals.price, "seed %llu",
			    (unsigned long long)start);
			cr_expect_eq(a->fresh_rolls, same->totals.fresh_rolls);
			cr_expect(a->kept >= 0 && a->kept <= a->bought);
			plan_delete(same);
			problem_delete(own);
			owners++;
		}
		plan_delete(plan);
		problem_delete(p);
		seed = start;
	}
	cr_expect_gt(owners, 100);
}

/* A pooled plan made in a hurry is worse than the owners' plans now and then. */
Test(alone, the_plan_of_all_is_never_worse_than_side_by_side)
{
	size_t united = 0, whole = 0;

	for (seed = 1000; seed < 1500; seed++) {
		uint64_t start = seed;
		struct problem *p = pick_problem();
		struct plan *plan = make(p, 1);
		struct totals before = plan->totals, sum = {0};
		struct plan_job job = {.steps = 600000};
		struct err err = {0};
		size_t n_owners = 0;

		for (size_t i = 0; i < 6; i++)
			for (size_t k = 0; k < p->n_pieces; k++)
				if (strcmp(p->pieces[k].owner, names[i]) == 0) {
					n_owners++;
					break;
				}
		plan_add_alone(p, &job, &plan);
		cr_assert(plan_inspect(p, plan, &err), "seed %llu: %s",
		    (unsigned long long)start, err.text);
		check_proof(p, plan); /* of the union too */
		for (size_t i = 0; i < plan->n_alone; i++)
			sum.price += plan->alone[i].price;
		cr_assert_leq(totals_compare(p, &plan->totals, &before), 0);
		united += totals_compare(p, &plan->totals, &before) < 0;
		/* without limits on what can be bought, side by side is a plan */
		bool limited = false;
		for (size_t i = 1; i < p->n_stock; i++)
			limited |= p->stock[i].fresh;
		if (p->prefer_price && !limited && plan->n_alone == n_owners) {
			cr_assert_leq(plan->totals.price, sum.price,
			    "seed %llu", (unsigned long long)start);
			whole++;
		}
		plan_delete(plan);
		problem_delete(p);
		seed = start;
	}
	cr_expect_gt(united, 0, "the union was taken %zu times", united);
	cr_expect_gt(whole, 80);
}

Test(alone, does_not_ask_in_which_order_pieces_come)
{
	for (seed = 5000; seed < 5040; seed++) {
		uint64_t start = seed;
		struct problem *p = pick_problem();
		struct plan *one = make(p, 200000), *two = NULL;
		struct plan_job job = {.steps = 600000};

		plan_add_alone(p, &job, &one);
		for (size_t i = 0; i < p->n_pieces / 2; i++) {
			struct piece piece = p->pieces[i];

			p->pieces[i] = p->pieces[p->n_pieces - 1 - i];
			p->pieces[p->n_pieces - 1 - i] = piece;
		}
		two = make(p, 200000);
		plan_add_alone(p, &job, &two);
		cr_assert_eq(one->n_alone, two->n_alone);
		for (size_t i = 0; i < one->n_alone; i++) {
			cr_assert_str_eq(
			    one->alone[i].owner, two->alone[i].owner);
			cr_assert_eq(one->alone[i].price, two->alone[i].price,
			    "seed %llu", (unsigned long long)start);
			cr_assert_eq(one->alone[i].kept, two->alone[i].kept);
		}
		plan_delete(one);
		plan_delete(two);
		problem_delete(p);
		seed = start;
	}
}

static bool no_more(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	(void)ctx;
	(void)best;
	(void)bounds;
	(void)steps;
	return false;
}

Test(alone, leaves_out_whoever_was_not_planned)
{
	struct problem *p = problem_new(2, 2);
	struct plan *plan = NULL;
	struct plan_job job = {.steps = 100000};

	p->stock[0] = (struct stock){.name = "roll",
	    .width = 10,
	    .length = 100,
	    .available = UNLIMITED,
	    .fresh = true,
	    .price = 7};
	p->stock[1] = (struct stock){.name = "offcut",
	    .width = 30,
	    .length = 30,
	    .available = 1,
	    .flat = true};
	p->pieces[0] = (struct piece){
	    .name = "a", .across = 5, .along = 5, .count = 1, .owner = "1"};
	p->pieces[1] = (struct piece){
	    .name = "b", .across = 20, .along = 20, .count = 1, .owner = "2"};
	plan = make(p, 100000);
	plan_add_alone(p, &job, &plan);
	cr_assert_eq(plan->n_alone, 1, "2 fits only what lies on the shelf");
	cr_expect_str_eq(plan->alone[0].owner, "1");
	cr_expect_eq(plan->alone[0].price, 7);
	cr_expect_eq(plan->alone[0].bought, 1000);
	cr_expect_eq(plan->alone[0].kept, 950);
	plan_delete(plan);
	plan = make(p, 100000);
	job.progress = no_more;
	plan_add_alone(p, &job, &plan);
	cr_expect_eq(plan->n_alone, 0);
	plan_delete(plan);
	problem_delete(p);
}

Test(alone, is_written_and_read_back)
{
	seed = 8;
	struct problem *p = pick_problem(), *same = NULL;
	struct plan *plan = make(p, 100000), *back = NULL;
	struct plan_job job = {.steps = 600000};
	struct text one, two;
	struct err err = {0};

	text_init(&one, 1 << 20);
	text_init(&two, 1 << 20);
	plan_add_alone(p, &job, &plan);
	cr_assert_gt(plan->n_alone, 1);
	plan_write(plan, -1, &one);
	cr_assert(plan_read(one.data, one.len, &back, &err), "%s", err.text);
	plan_write(back, -1, &two);
	cr_expect_str_eq(one.data, two.data);
	text_reset(&one);
	text_reset(&two);
	problem_write(p, &one);
	cr_assert(
	    problem_read(one.data, one.len, &same, NULL, &err), "%s", err.text);
	problem_write(same, &two);
	cr_expect_str_eq(one.data, two.data);
	cr_expect_eq(same->keep, p->keep);
	cr_expect_str_eq(same->pieces[0].owner, p->pieces[0].owner);
	text_free(&one);
	text_free(&two);
	plan_delete(plan);
	plan_delete(back);
	problem_delete(p);
	problem_delete(same);
}
