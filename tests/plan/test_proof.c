/* SPDX-License-Identifier: MIT */
/* Every certificate of a roll bound is checked by tables that know nothing of the planner. */
#include <criterion/criterion.h>

#include "draw.h"
#include "plan.h"
#include "proof.h"

#define STEPS 500000

static enum proof_verdict judge(
    const struct problem *p, int64_t more, const char **why)
{
	struct plan_job job = {.steps = STEPS};
	struct plan *plan;
	struct err err;
	enum proof_verdict v;

	if (!plan_make(p, &job, &plan, &err))
		return PROOF_NONE;
	plan->proof.fresh_rolls += more;
	v = proof_of_plan(p, plan, why);
	plan_delete(plan);
	return v;
}

Test(proof, certificates_of_classes_hold)
{
	int good = 0;

	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct problem *p = draw_class(seed, seed % 2 ? 2 : 3, false);
		const char *why;
		enum proof_verdict v = judge(p, 0, &why);

		cr_expect(v != PROOF_BAD, "seed %lu: %s", seed, why);
		good += v == PROOF_GOOD;
		problem_delete(p);
	}
	cr_expect(good >= 18, "only %d checked", good);
}

Test(proof, certificates_of_tiny_problems_hold)
{
	int good = 0;

	for (uint64_t seed = 1; seed <= 400; seed++) {
		struct problem *p = draw_tiny(seed);
		const char *why;
		enum proof_verdict v;

		v = judge(p, 0, &why);
		cr_expect(v != PROOF_BAD, "seed %lu: %s", seed, why);
		good += v == PROOF_GOOD;
		problem_delete(p);
	}
	cr_expect(good >= 120, "only %d checked", good);
}

Test(proof, one_roll_more_than_proved_is_refused)
{
	int refused = 0, seen = 0;

	for (uint64_t seed = 1; seed <= 10; seed++) {
		struct problem *p = draw_class(seed, 2, false);
		const char *why;

		refused += judge(p, 1, &why) == PROOF_BAD;
		seen++;
		problem_delete(p);
	}
	cr_expect(refused == seen, "%d of %d", refused, seen);
}
