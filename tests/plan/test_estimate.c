/* SPDX-License-Identifier: MIT */
/*
 * What a request adds and what a smaller size saves, each computed again: by planning the
 * changed problem from its JSON, and, where it is small enough, by trying everything.
 */
#include "estimate.h"

#include <criterion/criterion.h>
#include <string.h>

#include "alone.h"
#include "inspect.h"
#include "oracle.h"
#include "proof.h"

static uint64_t seed;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
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

static void estimate(const struct problem *p, struct plan **plan)
{
	struct plan_job job = {.steps = 4000000};

	plan_add_alone(p, &job, plan);
	plan_add_estimate(p, &job, *plan);
	check_proof(p, *plan);
}

/* A copy by way of the JSON form, which no code here shares with the estimate. */
static struct problem *again(const struct problem *p)
{
	struct problem *same = NULL;
	struct text text;
	struct err err = {0};

	text_init(&text, 1 << 20);
	problem_write(p, &text);
	cr_assert(problem_read(text.data, text.len, &same, NULL, &err), "%s",
	    err.text);
	text_free(&text);
	return same;
}

/* Sheets in the usual sizes on rolls of 45 in x 10 yd, a little too large for one more. */
static struct problem *pick_class(void)
{
	static const char *const names[] = {"1", "2", "3", "4"};
	size_t n = (size_t)pick(1, 4);
	struct problem *p = problem_new(1, n);

	p->stages = (int)pick(2, 3);
	p->ruler = INCH / 16;
	p->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 16200,
	    .available = UNLIMITED,
	    .fresh = true};
	for (size_t i = 0; i < n; i++)
		p->pieces[i] = (struct piece){.name = names[i],
		    .across = 45 * INCH / pick(2, 6) + pick(-2, 6) * INCH / 16,
		    .along = pick(48, 320) * INCH / 16,
		    .count = pick(1, 80),
		    .turn = pick(0, 3) == 0,
		    .owner = names[i]};
	for (size_t i = 0; i < n; i++)
		p->pieces[i].across -= p->pieces[i].across % p->ruler;
	return p;
}

static void check_without(const struct problem *p, const struct plan *plan,
    const struct without *w, uint64_t start)
{
	struct problem *rest = again(p);
	struct plan *other = NULL;

	cr_assert_leq(w->price, plan->totals.price);
	cr_assert_leq(w->fresh_rolls, plan->totals.fresh_rolls);
	if (p->n_pieces == 1) {
		cr_assert_eq(w->price, 0);
		problem_delete(rest);
		return;
	}
	for (size_t i = w->piece; i + 1 < rest->n_pieces; i++)
		rest->pieces[i] = rest->pieces[i + 1];
	rest->n_pieces--;
	other = make(rest, 20000000);
	cr_assert_geq(w->price, other->bounds.price, "seed %llu",
	    (unsigned long long)start);
	if (w->proven)
		cr_assert(w->price == other->totals.price &&
			      w->fresh_rolls == other->totals.fresh_rolls,
		    "seed %llu: proven to be %lld, planned again %lld",
		    (unsigned long long)start, (long long)w->price,
		    (long long)other->totals.price);
	plan_delete(other);
	problem_delete(rest);
}

static void check_hint(const struct problem *p, const struct plan *plan,
    const struct hint *h, uint64_t start)
{
	const struct piece *was = &p->pieces[h->piece];
	struct problem *changed = again(p);
	struct plan *other = NULL, *before = NULL;
	struct err err = {0};
	area bought, kept;

	cr_assert((h->across < was->across) != (h->along < was->along));
	cr_assert(h->across <= was->across && h->along <= was->along);
	cr_assert(h->across % p->ruler == 0 || h->across == was->across);
	cr_assert(h->along % p->ruler == 0 || h->along == was->along);
	changed->pieces[h->piece].across = h->across;
	changed->pieces[h->piece].along = h->along;
	other = make(changed, 20000000);
	before = make(p, 20000000);
	cr_assert(plan_inspect(changed, other, &err), "%s", err.text);
	/* what is said can be had, or is as good as nobody can say better */
	cr_assert(h->totals.price >= other->bounds.price &&
		      h->totals.fresh_rolls >= other->bounds.fresh_rolls,
	    "seed %llu", (unsigned long long)start);
	/* and it is less than any plan of the sizes as they were */
	cr_assert(h->totals.price < before->totals.price ||
		      h->totals.fresh_rolls < before->totals.fresh_rolls ||
		      h->totals.strip_length < before->totals.strip_length,
	    "seed %llu: no less", (unsigned long long)start);
	cr_assert(h->totals.price < plan->bounds.price ||
		  h->totals.fresh_rolls < plan->bounds.fresh_rolls ||
		  h->totals.strip_length < plan->bounds.strip_length);
	if (other->proven.price && other->proven.strip_length)
		cr_assert(
		    h->totals.price == other->totals.price &&
			h->totals.strip_length >= other->totals.strip_length,
		    "seed %llu", (unsigned long long)start);
	cr_assert_str_eq(h->alone.owner, was->owner);
	plan_areas(changed, other, &bought, &kept);
	cr_assert_geq(bought, h->kept);
	plan_delete(before);
	plan_delete(other);
	problem_delete(changed);
}

Test(estimate, every_answer_is_found_again_by_planning)
{
	size_t hints = 0, tips = 0, withouts = 0;

	for (seed = 1; seed < 40; seed++) {
		uint64_t start = seed;
		struct problem *p = pick_class();
		struct plan *plan = make(p, 2000000);

		estimate(p, &plan);
		cr_assert_eq(plan->n_without, p->n_pieces);
		for (size_t i = 0; i < plan->n_without; i++) {
			check_without(p, plan, &plan->without[i], start);
			tips += plan->without[i].fresh_rolls <
				plan->totals.fresh_rolls;
			withouts++;
		}
		for (size_t i = 0; i < plan->n_hints; i++)
			check_hint(p, plan, &plan->hints[i], start);
		hints += plan->n_hints;
		plan_delete(plan);
		problem_delete(p);
		seed = start;
	}
	cr_expect(hints > 10 && tips > 5 && withouts > tips,
	    "%zu hints, %zu of %zu tip a roll", hints, tips, withouts);
}

/* 9 1/8 in lies four times across 45 in, 9 in five times: a hundred need one roll and not two. */
Test(estimate, knows_that_nine_inches_lie_five_times_across_forty_five)
{
	struct problem *p = problem_new(1, 1);
	struct plan *plan = NULL;
	const struct hint *best = NULL;

	p->ruler = INCH / 16;
	p->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 16200,
	    .available = UNLIMITED,
	    .fresh = true};
	p->pieces[0] = (struct piece){.name = "a",
	    .across = 9 * INCH + INCH / 8,
	    .along = 12 * INCH + INCH / 2,
	    .count = 130,
	    .owner = "1"};
	plan = make(p, 2000000);
	estimate(p, &plan);
	cr_assert_eq(
	    plan->totals.fresh_rolls, 2, "28 strips of four on a roll");
	for (size_t i = 0; i < plan->n_hints; i++)
		if (plan->hints[i].across == 9 * INCH)
			best = &plan->hints[i];
	cr_assert(best);
	cr_expect_eq(best->fits, 4);
	cr_expect_eq(best->totals.fresh_rolls, 1, "26 strips of five");
	cr_expect_eq(best->totals.price, 16200);
	cr_expect_eq(best->alone.price, 16200);
	plan_delete(plan);
	p->pieces[0].count = 4;
	plan = make(p, 2000000);
	estimate(p, &plan);
	for (size_t i = 0; i < plan->n_hints; i++)
		cr_expect_neq(plan->hints[i].across, 9 * INCH,
		    "four fit into one strip: nothing is saved");
	plan_delete(plan);
	problem_delete(p);
}

/* Tiny problems against trying everything: what an entry adds is the difference of two optima. */
Test(estimate, adds_what_the_two_optima_differ_by)
{
	size_t checked = 0;

	for (seed = 1; seed < 120; seed++) {
		uint64_t start = seed;
		size_t n = (size_t)pick(2, 3);
		struct problem *p = problem_new(1, n);
		struct plan *plan = NULL;
		struct totals all;

		p->stages = (int)pick(2, 3);
		p->stock[0] = (struct stock){.name = "roll",
		    .width = pick(5, 9),
		    .length = pick(6, 12),
		    .price = 100,
		    .available = UNLIMITED,
		    .fresh = true};
		for (size_t i = 0; i < n; i++)
			p->pieces[i] = (struct piece){.name = "p",
			    .across = pick(2, 5),
			    .along = pick(2, 6),
			    .count = pick(1, 2),
			    .owner = "1"};
		plan = make(p, 5000000);
		estimate(p, &plan);
		for (size_t i = 0; i < plan->n_without && oracle_solve(p, &all);
		     i++) {
			const struct without *w = &plan->without[i];
			struct problem *rest = again(p);
			struct totals others;

			rest->pieces[w->piece] = rest->pieces[--rest->n_pieces];
			cr_assert(oracle_solve(rest, &others));
			if (w->proven)
				cr_assert_eq(plan->totals.price - w->price,
				    all.price - others.price, "seed %llu",
				    (unsigned long long)start);
			checked += w->proven;
			problem_delete(rest);
		}
		plan_delete(plan);
		problem_delete(p);
		seed = start;
	}
	cr_expect_gt(checked, 100, "%zu", checked);
}

Test(estimate, is_written_and_read_back)
{
	seed = 3;
	struct problem *p = pick_class();
	struct plan *plan = make(p, 1000000), *back = NULL;
	struct text one, two;
	struct err err = {0};

	text_init(&one, 1 << 20);
	text_init(&two, 1 << 20);
	p->estimate = true;
	estimate(p, &plan);
	plan_write(plan, -1, &one);
	cr_assert(plan_read(one.data, one.len, &back, &err), "%s", err.text);
	cr_assert_eq(back->n_without, plan->n_without);
	cr_assert_eq(back->n_hints, plan->n_hints);
	plan_write(back, -1, &two);
	cr_expect_str_eq(one.data, two.data);
	text_free(&one);
	text_free(&two);
	plan_delete(plan);
	plan_delete(back);
	problem_delete(p);
}
