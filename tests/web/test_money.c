/* SPDX-License-Identifier: MIT */
/*
 * Shares from layouts: the example of docs/share.md's rule by hand, invoices that replace the
 * price of one paper, and what must always hold, on random classes.
 */
#include <criterion/criterion.h>

#include <string.h>

#include "money.h"

static uint64_t seed;

/* By area over the order, no ceiling: every part is within a unit of its proportion. */
static const struct shares *shares_of(struct arena *arena, int64_t workshop_id,
    const struct layout *layouts, size_t n_layouts,
    const struct invoice_line_row *lines, size_t n_lines,
    const struct balance_row *balances, size_t n_balances)
{
	struct money_facts facts = {
	    .workshop_id = workshop_id,
	    .rules = share_rules_usual(SHARE_ORDER),
	    .layouts = layouts,
	    .n_layouts = n_layouts,
	    .lines = lines,
	    .n_lines = n_lines,
	    .balances = balances,
	    .n_balances = n_balances,
	};
	struct shares *shares = NULL;
	struct err err;

	cr_assert(money_shares(&facts, arena, &shares, &err), "%s", err.text);
	return shares;
}

static int64_t pick(int64_t from, int64_t to)
{
	seed = seed * UINT64_C(6364136223846793005) +
	       UINT64_C(1442695040888963407);
	return from + (int64_t)((seed >> 33) % (uint64_t)(to - from + 1));
}

struct made { /* one paper */
	struct problem problem;
	struct plan plan;
	struct job_row job;
	struct piece pieces[64];
	int64_t members[64];
};

static struct layout make(struct made *m, int64_t paper_id, money price)
{
	m->problem.pieces = m->pieces;
	m->plan.totals.price = price;
	m->job = (struct job_row){.paper_id = paper_id, .paper_name = "paper"};
	return (struct layout){.job = &m->job,
	    .problem = &m->problem,
	    .plan = &m->plan,
	    .members = m->members};
}

static void add(
    struct made *m, int64_t member, length across, length along, int64_t count)
{
	m->members[m->problem.n_pieces] = member;
	m->pieces[m->problem.n_pieces++] =
	    (struct piece){.across = across, .along = along, .count = count};
}

Test(money, three_equal_members_pay_a_hundred_cents)
{
	struct arena *arena = arena_new(1 << 20);
	struct made m = {0};
	struct balance_row balances[] = {
	    {1, "A", 0, 0}, {2, "B", 0, 0}, {3, "C", 0, 0}};
	struct layout layout;
	const struct shares *s = NULL;
	int thirty_fours = 0;

	for (int64_t i = 1; i <= 3; i++)
		add(&m, i, 10, 20, 5);
	layout = make(&m, 7, 100);
	s = shares_of(arena, 1, &layout, 1, NULL, 0, balances, 3);
	for (size_t i = 0; i < 3; i++) {
		cr_assert(s->items[i].share_minor == 33 ||
			  s->items[i].share_minor == 34);
		cr_assert_eq(s->items[i].sheets, 5);
		thirty_fours += s->items[i].share_minor == 34;
	}
	cr_assert_eq(thirty_fours, 1);
	cr_assert_eq(s->sum_minor, 100);
	cr_assert_eq(s->papers[0].area_uu, 3000);
	arena_delete(arena);
}

Test(money, an_invoice_replaces_the_price_of_its_paper_only)
{
	struct arena *arena = arena_new(1 << 20);
	struct made a = {0}, b = {0};
	struct balance_row balances[] = {{1, "A", 30, 10}, {2, "B", 0, 0}};
	struct layout layouts[2];
	const struct shares *s = NULL;

	add(&a, 1, 1, 1, 1);
	add(&a, 2, 1, 1, 3);
	add(&b, 2, 2, 2, 1);
	layouts[0] = make(&a, 1, 400);
	layouts[1] = make(&b, 2, 999);
	s = shares_of(arena, 1, layouts, 2,
	    &(struct invoice_line_row){
		.kind = LINE_ROLLS, .paper_id = 1, .amount_minor = 800},
	    1, balances, 2);
	cr_assert_eq(s->items[0].share_minor, 200, "a quarter of 800");
	cr_assert_eq(s->items[1].share_minor, 600 + 999);
	cr_assert_eq(s->cost_minor, 1399, "what the plan costs");
	cr_assert(s->invoiced && s->invoice_minor == 1799);
	cr_assert(s->papers[0].invoiced && !s->papers[1].invoiced);
	cr_assert_eq(s->items[0].charged_minor, 30);
	cr_assert_eq(s->items[0].paid_minor, 10);
	cr_assert_eq(s->items[0].n_parts, 1);
	cr_assert_eq(s->items[1].n_parts, 2);
	arena_delete(arena);
}

Test(money, who_asked_for_nothing_pays_nothing)
{
	struct arena *arena = arena_new(1 << 20);
	struct made m = {0};
	struct balance_row balances[] = {{1, "A", 0, 0}, {2, "B", 55, 0}};
	struct layout layout;
	const struct shares *s = NULL;

	add(&m, 1, 3, 3, 3);
	layout = make(&m, 1, 1234);
	s = shares_of(arena, 1, &layout, 1, NULL, 0, balances, 2);
	cr_assert_eq(s->items[0].share_minor, 1234);
	cr_assert_eq(s->items[1].share_minor, 0);
	cr_assert_eq(s->items[1].n_parts, 0);
	cr_assert_eq(s->items[1].charged_minor, 55,
	    "what was charged before is still told");
	arena_delete(arena);
}

Test(money, shares_add_up_and_lie_within_a_cent_a_paper)
{
	for (seed = 1; seed < 400; seed++) {
		uint64_t first = seed;
		struct arena *arena = arena_new(1 << 22);
		struct made made[2] = {{{0}}, {{0}}};
		struct layout layouts[2];
		struct balance_row balances[20] = {{0}};
		size_t n = (size_t)pick(1, 20);
		money total = 0, due[20] = {0};
		const struct shares *s = NULL;

		for (size_t i = 0; i < n; i++)
			balances[i] = (struct balance_row){
			    .member_id = (int64_t)i + 1, .member_name = "m"};
		for (size_t p = 0; p < 2; p++) {
			for (int k = 0; k < 30; k++)
				add(&made[p], pick(1, (int64_t)n),
				    pick(1, 400000), pick(1, 400000),
				    pick(1, 100));
			layouts[p] =
			    make(&made[p], (int64_t)p + 1, pick(0, 100000));
			total += made[p].plan.totals.price;
		}
		s = shares_of(
		    arena, pick(1, 1000), layouts, 2, NULL, 0, balances, n);
		cr_assert_eq(s->sum_minor, total, "seed %llu",
		    (unsigned long long)first);
		for (size_t i = 0; i < n; i++) {
			for (size_t k = 0; k < s->items[i].n_parts; k++) {
				const struct share_part *part =
				    &s->items[i].parts[k];
				const struct share_paper *paper =
				    &s->papers[part->paper_id - 1];
				wide exact =
				    (wide)paper->cost_minor * part->area_uu;
				wide low = exact / paper->area_uu;

				cr_assert(part->share_minor == low ||
					      part->share_minor == low + 1,
				    "seed %llu", (unsigned long long)first);
				due[i] += part->share_minor;
			}
			cr_assert_eq(due[i], s->items[i].share_minor);
		}
		arena_delete(arena);
		seed = first;
	}
}
