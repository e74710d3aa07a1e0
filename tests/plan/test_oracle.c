/* SPDX-License-Identifier: MIT */
/*
 * Thousands of tiny problems against trying everything: no plan better than the truth,
 * no bound above it, and what is called proven is the truth.
 */
#include <criterion/criterion.h>

#include "draw.h"
#include "inspect.h"
#include "oracle.h"
#include "proof.h"

/* Bounds may be claimed as long as the true optimum is as good as the plan before them. */
static void check_goal(uint64_t seed, const char *goal, int64_t plan,
    int64_t bound, int64_t truth, bool *comparable)
{
	if (!*comparable)
		return;
	cr_assert(bound <= truth, "seed %lu: %s bound %ld above the true %ld",
	    seed, goal, bound, truth);
	*comparable = truth <= plan;
}

static void check_against(uint64_t seed, const struct problem *p,
    const struct plan *plan, const struct totals *t)
{
	const struct totals *q = &plan->totals;
	const struct bounds *b = &plan->bounds;
	bool go = true;

	check_goal(
	    seed, "unplaced", q->unplaced, b->unplaced, t->unplaced, &go);
	if (p->prefer_price)
		check_goal(seed, "price", q->price, b->price, t->price, &go);
	check_goal(
	    seed, "rolls", q->fresh_rolls, b->fresh_rolls, t->fresh_rolls, &go);
	if (!p->prefer_price)
		check_goal(seed, "price", q->price, b->price, t->price, &go);
	check_goal(seed, "length", q->strip_length, b->strip_length,
	    t->strip_length, &go);
}

static int order(int64_t a, int64_t b)
{
	return (a > b) - (a < b);
}

static int compare(
    const struct problem *p, const struct totals *a, const struct totals *b)
{
	int rolls = order(a->fresh_rolls, b->fresh_rolls),
	    price = order(a->price, b->price);
	int d = order(a->unplaced, b->unplaced);

	d = d != 0 ? d : p->prefer_price ? price : rolls;
	d = d != 0 ? d : p->prefer_price ? rolls : price;
	return d != 0 ? d : order(a->strip_length, b->strip_length);
}

Test(oracle, no_plan_beats_it_and_no_bound_passes_it)
{
	int met = 0, made = 0;

	for (uint64_t seed = 1; seed <= 5000; seed++) {
		struct problem *p = draw_tiny(seed);
		struct plan *plan;
		struct totals truth;
		const char *why;
		struct err err;

		cr_assert(oracle_solve(p, &truth), "seed %lu", seed);
		if (!plan_make(p, &(struct plan_job){0}, &plan, &err)) {
			cr_assert(err.kind == ERR_MISSING, "seed %lu: %s", seed,
			    err.text);
			cr_assert(truth.unplaced > 0,
			    "seed %lu: refused, but can be placed: %s", seed,
			    err.text);
			problem_delete(p);
			continue;
		}
		cr_assert(plan_inspect(p, plan, &err), "seed %lu: %s", seed,
		    err.text);
		cr_assert(compare(p, &plan->totals, &truth) >= 0,
		    "seed %lu: better than the truth", seed);
		check_against(seed, p, plan, &truth);
		cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD,
		    "seed %lu: %s", seed, why);
		made++;
		met += compare(p, &plan->totals, &truth) == 0;
		plan_delete(plan);
		problem_delete(p);
	}
	cr_log_info("%d of %d plans are optimal in all four goals", met, made);
	cr_assert(met * 100 >= made * 85, "only %d of %d plans are optimal",
	    met, made);
}
