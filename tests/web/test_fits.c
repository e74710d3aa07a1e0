/* SPDX-License-Identifier: MIT */
/*
 * Can a sheet be had from a stock at all: against the planner, which answers the same
 * question by making a plan of one piece.
 */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include "fits.h"
#include "plan.h"
#include "problem.h"

static uint64_t seed;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

/* One piece of one stock, planned; true when it has a place. */
static bool planner_says(const struct stock_row *row, const struct run *spoiled,
    size_t n_spoiled, length across, length along, bool turn,
    const struct fit_rules *rules)
{
	struct problem *problem = problem_new(1, 1);
	struct plan_job job = {.steps = 1000};
	struct plan *plan = NULL;
	struct err err;
	bool fits = false;

	problem->sliver = rules->sliver;
	problem->oversize = rules->oversize;
	problem->stock[0] = (struct stock){.name = "s",
	    .width = row->width_u,
	    .length = row->length_u,
	    .available = 1,
	    .flat = row->kind == STOCK_FLAT || row->kind == STOCK_OFFCUT,
	    .fresh = row->kind == STOCK_FRESH,
	    .spoiled = spoiled,
	    .n_spoiled = n_spoiled};
	problem->pieces[0] = (struct piece){.name = "p",
	    .across = across,
	    .along = along,
	    .count = 1,
	    .turn = turn};
	if (plan_make(problem, &job, &plan, &err))
		fits = plan->totals.unplaced == 0;
	plan_delete(plan);
	problem_delete(problem);
	return fits;
}

Test(fits, agrees_with_the_planner_on_one_piece)
{
	int yes = 0, no = 0;

	for (seed = 1; yes + no < 4000;) {
		uint64_t before = seed;
		char text[64] = "[]";
		struct run spoiled = {0};
		size_t n_spoiled = 0;
		struct fit_rules rules = {.sliver = pick(0, 1) * pick(0, 6),
		    .oversize = pick(0, 1) * pick(0, 4)};
		struct stock_row row = {.kind = pick(0, 3),
		    .width_u = pick(1, 20),
		    .length_u = pick(1, 20)};
		length across = pick(1, 20), along = pick(1, 20);
		bool turn = pick(0, 1) == 1, ours, theirs;

		if (row.kind != STOCK_FLAT && row.kind != STOCK_OFFCUT &&
		    row.length_u > 3 && pick(0, 2) == 0) {
			spoiled.from = pick(0, row.length_u - 2);
			spoiled.to = pick(spoiled.from + 1, row.length_u);
			n_spoiled = 1;
			snprintf(text, sizeof(text), "[[%lld,%lld]]",
			    (long long)spoiled.from, (long long)spoiled.to);
		}
		row.spoiled = text;
		ours = fits_stock(&row, across, along, turn, &rules);
		theirs = planner_says(
		    &row, &spoiled, n_spoiled, across, along, turn, &rules);
		cr_assert_eq(ours, theirs,
		    "seed %llu: kind %lld, %lld x %lld, spoiled %s, piece %lld "
		    "x %lld turn %d, sliver %lld oversize %lld: %d",
		    (unsigned long long)before, (long long)row.kind,
		    (long long)row.width_u, (long long)row.length_u, text,
		    (long long)across, (long long)along, turn,
		    (long long)rules.sliver, (long long)rules.oversize, ours);
		yes += ours;
		no += !ours;
	}
	cr_assert(yes > 500 && no > 500, "%d fit, %d do not", yes, no);
}

Test(fits, names_the_widest)
{
	struct stock_row stock[] = {
	    {.stock_id = 1, .width_u = 40, .length_u = 900},
	    {.stock_id = 2, .width_u = 45, .length_u = 100},
	    {.stock_id = 3, .width_u = 45, .length_u = 300}};

	cr_assert_eq(fits_widest(stock, 3)->stock_id, 3);
	cr_assert_eq(fits_widest(stock, 1)->stock_id, 1);
	cr_assert_null(fits_widest(stock, 0));
}
