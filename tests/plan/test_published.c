/* SPDX-License-Identifier: MIT */
/*
 * A quick subset of the published values (tests/data/planner): no contradiction, and the
 * proven ones come out.  All of them: bench_published.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "inspect.h"
#include "proof.h"
#include "published.h"

#define STEPS 2000000

/* Under the sanitizers, and unoptimised, only every fifth row: the plans are the same. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) ||           \
    !defined(__OPTIMIZE__)
#define EVERY 5
#else
#define EVERY 1
#endif

/* Small sets; of the larger ones only the first instances. */
static bool chosen(const struct published *r)
{
	static const char *const sets[] = {
	    "ngcut", "cgcut", "rolls", "roll-ends"};
	static const char *const names[] = {
	    "beng1", "beng2", "gcut1", "gcut2", "gcut5", "2s", "hh", "a2"};

	for (size_t i = 0; i < sizeof(sets) / sizeof(sets[0]); i++)
		if (strcmp(r->set, sets[i]) == 0)
			return true;
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++)
		if (strcmp(r->name, names[i]) == 0)
			return true;
	return strcmp(r->set, "class") == 0 &&
	       strstr(r->name, "_020_01") != NULL;
}

struct tally {
	int rows, n, met;
};

static void on_row(void *ctx, const struct published *r)
{
	struct tally *tally = ctx;
	struct plan_job job = {.steps = STEPS};
	struct problem *p;
	struct plan *plan;
	enum verdict v;
	const char *why;
	struct err err;

	if (!chosen(r) || tally->rows++ % EVERY != 0)
		return;
	p = r->is_endless ? published_endless(
				DATA_DIR "/planner", r->set, r->name, r->turn)
			  : published_problem(DATA_DIR "/planner", r->set,
				r->name, r->stages, r->turn);
	cr_assert(p != NULL, "%s %s", r->set, r->name);
	cr_assert(plan_make(p, &job, &plan, &err), "%s %s: %s", r->set, r->name,
	    err.text);
	cr_assert(plan_inspect(p, plan, &err), "%s %s %s: %s", r->set, r->name,
	    r->variant, err.text);
	cr_expect(proof_of_plan(p, plan, &why) != PROOF_BAD, "%s %s %s: %s",
	    r->set, r->name, r->variant, why);
	v = published_judge(r, plan);
	cr_expect(v != VERDICT_WRONG,
	    "%s %s %s: published %ld, plan %ld rolls and %ld length", r->set,
	    r->name, r->variant, r->value, plan->totals.fresh_rolls,
	    plan->totals.strip_length);
	if (!r->is_length && r->kind == PUBLISHED_PROVEN && !r->is_upper) {
		tally->n++;
		tally->met += v == VERDICT_PROVEN || v == VERDICT_MATCHED;
	}
	plan_delete(plan);
	problem_delete(p);
}

Test(published, values_are_reproduced)
{
	struct tally tally = {0};

	published_each(DATA_DIR "/planner", on_row, &tally);
	cr_log_info(
	    "%d of %d proven numbers of sheets met", tally.met, tally.n);
	cr_expect(tally.n > 120 / EVERY, "only %d rows", tally.n);
	cr_expect(tally.met * 100 >= tally.n * 97, "only %d of %d met",
	    tally.met, tally.n);
}
