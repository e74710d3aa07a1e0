/* SPDX-License-Identifier: MIT */
/*
 * Most pieces of one size from one roll, against the table tests/data/trade/yields.csv
 * (arithmetic, or exhaustive dynamic programming): all of them go on one roll, and one
 * piece more does not.
 */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "csv.h"
#include "inspect.h"
#include "proof.h"

#define STEPS 60000000

/* Under the sanitizers, and unoptimised, only every sixth row: the plans are the same. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) ||           \
    !defined(__OPTIMIZE__)
#define EVERY 6
#else
#define EVERY 1
#endif

struct yield {
	length width, length_, across, along;
	bool turn;
	int stages;
	int64_t most;
};

static struct plan *plan_yield(
    const struct yield *y, int64_t count, const char *id)
{
	struct problem *p = problem_new(1, 1);
	struct plan_job job = {.steps = STEPS};
	struct plan *plan = NULL;
	const char *why;
	struct err err;

	p->stages = y->stages;
	p->stock[0] = (struct stock){.name = "roll",
	    .width = y->width,
	    .length = y->length_,
	    .price = 1,
	    .available = 1,
	    .fresh = true};
	p->pieces[0] = (struct piece){.name = "piece",
	    .across = y->across,
	    .along = y->along,
	    .count = count,
	    .turn = y->turn};
	cr_assert(plan_make(p, &job, &plan, &err), "%s: %s", id, err.text);
	cr_assert(plan_inspect(p, plan, &err), "%s: %s", id, err.text);
	cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD, "%s: %s", id, why);
	problem_delete(p);
	return plan;
}

/* The search for one piece more never succeeds and takes long: not for every row. */
static void check(const char *id, const struct yield *y, bool one_more)
{
	struct plan *plan = plan_yield(y, y->most, id);

	cr_expect(plan->totals.unplaced == 0, "%s: %ld of %ld left out", id,
	    plan->totals.unplaced, y->most);
	plan_delete(plan);
	if (!one_more)
		return;
	plan = plan_yield(y, y->most + 1, id);
	cr_expect(plan->totals.unplaced >= 1, "%s: more than %ld placed", id,
	    y->most);
	plan_delete(plan);
}

Test(yields, of_the_trade_table_are_met)
{
	struct csv *csv = csv_open(DATA_DIR "/trade/yields.csv");
	int n = 0;

	csv_next(csv);
	while (csv_next(csv)) {
		struct yield y = {.width = atoll(csv_field(csv, 1)),
		    .length_ = atoll(csv_field(csv, 2)),
		    .across = atoll(csv_field(csv, 4)),
		    .along = atoll(csv_field(csv, 5)),
		    .turn = atoi(csv_field(csv, 7)) != 0,
		    .stages = atoi(csv_field(csv, 8)),
		    .most = atoll(csv_field(csv, 9))};

		if (n % EVERY == 0)
			check(csv_field(csv, 0), &y, n % 18 == 0);
		n++;
	}
	csv_close(csv);
	cr_expect(n > 50, "only %d rows", n);
}

/* 45 in x 10 yd, worked out by dynamic programming: mixed directions yield more. */
Test(yields, mixed_directions_yield_more)
{
	static const struct {
		const char *name;
		struct yield y;
	} rows[] = {
	    {"11 x 15, two stages: 98",
		{45 * INCH, 10 * YARD, 11 * INCH, 15 * INCH, true, 2, 98}},
	    {"12 x 16, two stages: 67",
		{45 * INCH, 10 * YARD, 12 * INCH, 16 * INCH, true, 2, 67}},
	    {"12 x 16, three stages: 82",
		{45 * INCH, 10 * YARD, 12 * INCH, 16 * INCH, true, 3, 82}},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		check(rows[i].name, &rows[i].y, true);
}
