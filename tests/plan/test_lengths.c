/* SPDX-License-Identifier: MIT */
/*
 * The bound on the length and its proofs against dynamic programming over everything
 * that can be left: the checker knows no prices, no linear program and no cuts.
 */
#include <criterion/criterion.h>

#include "draw.h"
#include "inspect.h"
#include "lengths.h"
#include "proof.h"

/* Two to five sizes, some pieces of each. */
static struct problem *draw_rows(uint64_t seed)
{
	struct dice d = {seed};
	struct endless e = {.stages = 2, .least = 3, .most = 20};

	e.n = (size_t)dice_between(&d, 2, 5);
	e.width = dice_between(&d, 20, 60);
	e.many = e.n > 4 ? 5 : e.n > 3 ? 7 : 16;
	return draw_endless(&d, &e);
}

/* Three stages: fewer pieces, since every content has to be looked at. */
static struct problem *draw_stacked(uint64_t seed)
{
	struct dice d = {seed};
	struct endless e = {.stages = 3, .least = 2, .most = 12};

	e.n = (size_t)dice_between(&d, 1, 4);
	e.width = dice_between(&d, 12, 30);
	e.many = e.n > 3 ? 2 : e.n > 2 ? 3 : 6;
	return draw_endless(&d, &e);
}

Test(lengths, three_stages_are_bounded_by_what_looking_at_everything_says)
{
	int proven = 0, best = 0, made = 0;

	for (uint64_t seed = 1; seed <= 300; seed++) {
		struct problem *p = draw_stacked(seed);
		length truth = lengths_least(p);
		struct plan *plan;
		struct err err;

		cr_assert(truth > 0, "seed %lu is too large", seed);
		cr_assert(plan_make(p, &(struct plan_job){.steps = 3000000},
			      &plan, &err),
		    "seed %lu: %s", seed, err.text);
		cr_assert(plan_inspect(p, plan, &err), "seed %lu: %s", seed,
		    err.text);
		cr_assert(plan->bounds.strip_length <= truth,
		    "seed %lu: bound %ld above the true %ld", seed,
		    plan->bounds.strip_length, truth);
		cr_assert(plan->totals.strip_length >= truth,
		    "seed %lu: %ld is below the true %ld", seed,
		    plan->totals.strip_length, truth);
		made++;
		best += plan->totals.strip_length == truth;
		proven += plan->proven.strip_length;
		plan_delete(plan);
		problem_delete(p);
	}
	cr_assert(proven * 100 >= made * 99, "only %d of %d are proven", proven,
	    made);
	cr_assert(
	    best * 100 >= made * 99, "only %d of %d are shortest", best, made);
}

Test(lengths, small_orders_in_three_stages_are_settled)
{
	for (uint64_t seed = 301; seed <= 500; seed++) {
		struct problem *p = draw_stacked(seed);
		length truth = lengths_least(p);
		struct plan *plan;
		struct err err;

		cr_assert(plan_make(p, &(struct plan_job){0}, &plan, &err),
		    "seed %lu: %s", seed, err.text);
		cr_assert(plan_inspect(p, plan, &err), "seed %lu: %s", seed,
		    err.text);
		cr_assert(plan->proven.strip_length &&
			      plan->totals.strip_length == truth,
		    "seed %lu: %ld, bound %ld, least %ld", seed,
		    plan->totals.strip_length, plan->bounds.strip_length,
		    truth);
		plan_delete(plan);
		problem_delete(p);
	}
}

Test(lengths, proofs_are_what_looking_at_everything_says)
{
	int proven = 0, made = 0;

	for (uint64_t seed = 1; seed <= 250; seed++) {
		struct problem *p = draw_rows(seed);
		length truth = lengths_least(p);
		struct plan *plan;
		const char *why;
		struct err err;

		cr_assert(truth > 0, "seed %lu is too large", seed);
		cr_assert(plan_make(p, &(struct plan_job){0}, &plan, &err),
		    "seed %lu: %s", seed, err.text);
		cr_assert(plan_inspect(p, plan, &err), "seed %lu: %s", seed,
		    err.text);
		cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD,
		    "seed %lu: %s", seed, why);
		cr_assert(plan->bounds.strip_length <= truth,
		    "seed %lu: bound %ld above the true %ld", seed,
		    plan->bounds.strip_length, truth);
		cr_assert(plan->totals.strip_length >= truth,
		    "seed %lu: %ld is below the true %ld", seed,
		    plan->totals.strip_length, truth);
		made++;
		proven += plan->proven.strip_length;
		plan_delete(plan);
		problem_delete(p);
	}
	cr_log_info("%d of %d lengths are proven", proven, made);
	cr_assert(proven * 100 >= made * 95, "only %d of %d are proven", proven,
	    made);
}
