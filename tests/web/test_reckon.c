/* SPDX-License-Identifier: MIT */
/*
 * What sheets may cost: each number found again by another way, from plans made anew and
 * proportions in whole numbers.
 */
#include <criterion/criterion.h>

#include <string.h>

#include "alone.h"
#include "estimate.h"
#include "reckon.h"

static uint64_t seed;

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

#define MOST 6

struct class
{
	struct problem *problem;
	struct plan *plan;
	struct job_row job;
	int64_t members[MOST], requests[MOST];
	struct layout layout;
};

static void plan_class(struct class *c)
{
	struct plan_job job = {.steps = 2000000}, beside = {.steps = 4000000};
	struct err err = {0};

	cr_assert(plan_make(c->problem, &job, &c->plan, &err), "%s", err.text);
	plan_add_alone(c->problem, &beside, &c->plan);
	plan_add_estimate(c->problem, &beside, c->plan);
	c->job = (struct job_row){.paper_id = 3, .paper_name = "paper"};
	c->layout = (struct layout){.job = &c->job,
	    .problem = c->problem,
	    .plan = c->plan,
	    .members = c->members,
	    .requests = c->requests};
}

/* Members 1, 2, ... with one request each, of sizes a little too large. */
static void pick_class(struct class *c)
{
	static const char *const owners[] = {"1", "2", "3", "4", "5", "6"};
	size_t n = (size_t)pick(1, MOST);

	memset(c, 0, sizeof(*c));
	c->problem = problem_new(1, n);
	c->problem->ruler = INCH / 16;
	c->problem->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 16200,
	    .available = UNLIMITED,
	    .fresh = true};
	for (size_t i = 0; i < n; i++) {
		length across =
		    45 * INCH / pick(2, 6) + pick(-2, 6) * INCH / 16;

		c->members[i] = (int64_t)i + 1;
		c->requests[i] = 100 + (int64_t)i;
		c->problem->pieces[i] = (struct piece){.name = owners[i],
		    .across = across - across % c->problem->ruler,
		    .along = pick(48, 320) * INCH / 16,
		    .count = pick(1, 80),
		    .turn = pick(0, 3) == 0,
		    .owner = owners[i]};
	}
	plan_class(c);
}

static void drop_class(struct class *c)
{
	plan_delete(c->plan);
	problem_delete(c->problem);
}

static wide area_of(const struct piece *p)
{
	return (wide)p->across * p->along * p->count;
}

static wide all_areas(const struct problem *p)
{
	wide all = 0;

	for (size_t i = 0; i < p->n_pieces; i++)
		all += area_of(&p->pieces[i]);
	return all;
}

static const struct hint *hinted(
    const struct class *c, size_t piece, const struct reckon_hint *h)
{
	for (size_t i = 0; i < c->plan->n_hints; i++) {
		const struct hint *hint = &c->plan->hints[i];

		if (hint->piece == piece && hint->across == h->across &&
		    hint->along == h->along)
			return hint;
	}
	cr_assert_fail("no plan stands behind the hint");
	return NULL;
}

Test(reckon, every_number_is_found_again)
{
	size_t hints = 0, tips = 0;

	for (seed = 1; seed < 60; seed++) {
		uint64_t start = seed;
		struct arena *arena = arena_new(1 << 22);
		struct class c;
		struct reckoning *r = NULL;
		struct err err = {0};
		struct share_rules rules = {.policy = SHARE_ORDER};
		area bought, kept;
		wide all;

		pick_class(&c);
		all = all_areas(c.problem);
		plan_areas(c.problem, c.plan, &bought, &kept);
		cr_assert(reckon(5, rules, &c.layout, 1, arena, &r, &err), "%s",
		    err.text);
		cr_assert_eq(r->cost, c.plan->totals.price);
		cr_assert_eq(r->n_rows, c.problem->n_pieces);
		for (size_t i = 0; i < r->n_rows; i++) {
			const struct reckon_row *row = &r->rows[i];
			wide own = area_of(&c.problem->pieces[i]);
			wide paid =
			    (wide)r->cost - (wide)r->cost * kept / bought;
			wide off = row->share * all - r->cost * own;

			cr_assert(off < all && off > -all, "seed %llu",
			    (unsigned long long)start);
			off = row->filled * all - paid * own;
			cr_assert(off < all && off > -all, "seed %llu: filled",
			    (unsigned long long)start);
			cr_assert(row->has_alone && row->alone % 16200 == 0);
			cr_assert_eq(row->n_adds, 1);
			cr_assert_eq(row->adds[0].request_id, c.requests[i]);
			cr_assert_eq(row->adds[0].adds,
			    row->adds[0].rolls * 16200, "one price of rolls");
			tips += row->adds[0].rolls > 0;
			for (size_t k = 0; k < row->n_hints; k++) {
				const struct reckon_hint *h = &row->hints[k];
				struct piece was = c.problem->pieces[i];
				struct plan *again = NULL;
				struct plan_job job = {.steps = 20000000};
				wide now;

				c.problem->pieces[i].across = h->across;
				c.problem->pieces[i].along = h->along;
				cr_assert(
				    plan_make(c.problem, &job, &again, &err));
				now = all_areas(c.problem);
				/* planned longer it may cost less still, never more */
				cr_assert_leq(again->totals.price,
				    hinted(&c, i, h)->totals.price);
				cr_assert_leq(again->bounds.price,
				    hinted(&c, i, h)->totals.price);
				off = h->share * now -
				      hinted(&c, i, h)->totals.price *
					  area_of(&c.problem->pieces[i]);
				cr_assert(off < now && off > -now,
				    "seed %llu: the share with the smaller "
				    "size",
				    (unsigned long long)start);
				cr_assert(
				    h->each >= 1 &&
					h->each ==
					    (row->share - h->share) / was.count,
				    "seed %llu", (unsigned long long)start);
				plan_delete(again);
				c.problem->pieces[i] = was;
				hints++;
			}
		}
		drop_class(&c);
		arena_delete(arena);
		seed = start;
	}
	cr_expect(hints > 5 && tips > 5, "%zu hints, %zu tips", hints, tips);
}

/* A has 140 sheets of 9 x 12 1/2 in, a whole roll; B one more: 14 cents by area, and a roll. */
Test(reckon, tells_whose_request_tips_a_roll)
{
	struct arena *arena = arena_new(1 << 22);
	struct class c = {0};
	struct reckoning *r = NULL;
	struct err err = {0};

	c.problem = problem_new(1, 2);
	c.problem->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 16200,
	    .available = UNLIMITED,
	    .fresh = true};
	c.problem->pieces[0] = (struct piece){.name = "a",
	    .across = 9 * INCH,
	    .along = 12 * INCH + INCH / 2,
	    .count = 140,
	    .owner = "1"};
	c.problem->pieces[1] = c.problem->pieces[0];
	c.problem->pieces[1].count = 1;
	c.problem->pieces[1].owner = "2";
	c.members[0] = c.requests[0] = 1;
	c.members[1] = c.requests[1] = 2;
	plan_class(&c);
	cr_assert(reckon(
	    5, share_rules_usual(SHARE_ORDER), &c.layout, 1, arena, &r, &err));
	cr_expect_eq(r->ceiling, CEILING_KEPT);
	cr_expect_eq(r->rows[0].share, 16200, "A pays what A would pay alone");
	cr_expect_eq(r->rows[1].share, 16200, "and so does B");
	cr_expect_eq(r->rows[1].adds[0].adds, 16200);
	cr_expect_eq(r->rows[1].adds[0].rolls, 1);
	cr_expect(r->rows[1].adds[0].proven);
	drop_class(&c);
	arena_delete(arena);
}

Test(reckon, counts_packs_for_comparison)
{
	struct request_row requests[] = {
	    {.member_id = 1,
		.paper_id = 3,
		.count = 7,
		.torn_across_u = 9 * INCH,
		.torn_along_u = 12 * INCH},
	    {.member_id = 1,
		.paper_id = 3,
		.count = 5,
		.torn_across_u = 6 * INCH,
		.torn_along_u = 4 * INCH,
		.turn = true},
	    {.member_id = 2,
		.paper_id = 3,
		.count = 90,
		.torn_across_u = 9 * INCH,
		.torn_along_u = 12 * INCH},
	};
	json_t *pad = json_pack("{s: s, s: I, s: I, s: i, s: i}", "name",
	    "pad of 4", "width_u", (json_int_t)(9 * INCH), "length_u",
	    (json_int_t)(12 * INCH), "sheets", 4, "price_minor", 900);
	struct compared c;

	/* seven sheets, and five of which four lie on one (turned, two by two): 7 + 2 = 9 sheets */
	cr_assert(reckon_compare(pad, requests, 3, 1, 3, &c));
	cr_expect_eq(c.packs, 3);
	cr_expect_eq(c.cost, 2700);
	cr_expect_str_eq(c.name, "pad of 4");
	requests[0].torn_across_u++;
	cr_expect_not(reckon_compare(pad, requests, 3, 1, 3, &c));
	cr_expect_not(reckon_compare(pad, requests, 3, 7, 3, &c));
	json_decref(pad);
}
