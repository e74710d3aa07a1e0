/* SPDX-License-Identifier: MIT */
/*
 * What must hold between two problems: one piece more, wider stock, other units, another
 * scale, another order.  Nothing here needs to know an optimum.
 */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "draw.h"
#include "inspect.h"
#include "plan.h"
#include "proof.h"

#define STEPS 400000

static struct plan *make(const struct problem *p, uint64_t seed)
{
	struct plan_job job = {.steps = STEPS};
	struct plan *plan = NULL;
	const char *why;
	struct err err;

	cr_assert(
	    plan_make(p, &job, &plan, &err), "seed %lu: %s", seed, err.text);
	cr_assert(plan_inspect(p, plan, &err), "seed %lu: %s", seed, err.text);
	cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD, "seed %lu: %s",
	    seed, why);
	return plan;
}

static struct problem *copy_of(const struct problem *p, size_t more)
{
	struct problem *q = problem_new(p->n_stock, p->n_pieces + more);

	q->stages = p->stages;
	q->prefer_price = p->prefer_price;
	q->sliver = p->sliver;
	q->oversize = p->oversize;
	memcpy(q->stock, p->stock, p->n_stock * sizeof(*p->stock));
	memcpy(q->pieces, p->pieces, p->n_pieces * sizeof(*p->pieces));
	return q;
}

/* Every plan of `hard` makes one of `easy` that is no worse, so its bounds must allow it. */
static void expect_no_harder(const struct plan *easy, const struct plan *hard,
    const char *what, uint64_t seed)
{
	const struct bounds *b = &easy->bounds;
	const struct totals *t = &hard->totals;

	cr_expect(b->fresh_rolls <= t->fresh_rolls,
	    "%s, seed %lu: at least %ld rolls, where %ld are enough for more",
	    what, seed, b->fresh_rolls, t->fresh_rolls);
	/* the bound on the length is given the rolls of its own plan */
	if (easy->totals.fresh_rolls == t->fresh_rolls)
		cr_expect(b->strip_length <= t->strip_length,
		    "%s, seed %lu: length at least %ld, where %ld is enough",
		    what, seed, b->strip_length, t->strip_length);
}

Test(properties, a_piece_more_never_lowers_a_proven_optimum)
{
	for (uint64_t seed = 101; seed <= 148; seed++) {
		struct dice dice = {seed};
		struct problem *p =
		    draw_class(seed, seed % 2 ? 2 : 3, seed % 3 == 0);
		struct problem *q = copy_of(p, 1);
		struct plan *less, *more;

		q->pieces[p->n_pieces] =
		    p->pieces[dice_between(&dice, 0, (int64_t)p->n_pieces - 1)];
		q->pieces[p->n_pieces].count = 1;
		less = make(p, seed);
		more = make(q, seed);
		expect_no_harder(less, more, "one piece more", seed);
		if (less->proven.fresh_rolls)
			cr_expect(more->totals.fresh_rolls >=
				  less->totals.fresh_rolls);
		plan_delete(less);
		plan_delete(more);
		problem_delete(p);
		problem_delete(q);
	}
}

Test(properties, wider_stock_never_raises_a_proven_optimum)
{
	for (uint64_t seed = 201; seed <= 248; seed++) {
		struct dice dice = {seed};
		struct problem *p =
		    draw_class(seed, seed % 2 ? 2 : 3, seed % 3 == 0);
		struct problem *q = copy_of(p, 0);
		struct plan *narrow, *wide;

		q->stock[0].width += dice_between(&dice, 1, 8) * (INCH / 2);
		narrow = make(p, seed);
		wide = make(q, seed);
		expect_no_harder(wide, narrow, "wider", seed);
		plan_delete(narrow);
		plan_delete(wide);
		problem_delete(p);
		problem_delete(q);
	}
}

Test(properties, turning_and_a_third_stage_never_raise_it)
{
	for (uint64_t seed = 301; seed <= 324; seed++) {
		struct problem *p = draw_class(seed, 2, seed % 3 == 0);
		struct problem *q = copy_of(p, 0);
		struct plan *strict, *free;

		if (seed % 2)
			q->stages = 3;
		for (size_t i = 0; i < q->n_pieces; i++)
			q->pieces[i].turn = true;
		strict = make(p, seed);
		free = make(q, seed);
		expect_no_harder(free, strict, "freer", seed);
		plan_delete(strict);
		plan_delete(free);
		problem_delete(p);
		problem_delete(q);
	}
}

/* --- the same plan, piece by piece ---------------------------------------------------- */

static bool same_pieces(const struct problem *p, const struct segment *a,
    const struct problem *q, const struct segment *b, length scale)
{
	if (a->n_pieces != b->n_pieces || a->at * scale != b->at ||
	    a->width * scale != b->width)
		return false;
	for (size_t i = 0; i < a->n_pieces; i++) {
		const struct placed *x = &a->pieces[i], *y = &b->pieces[i];
		const struct piece *s = &p->pieces[x->piece],
				   *t = &q->pieces[y->piece];

		if (x->at * scale != y->at || x->across * scale != y->across ||
		    x->along * scale != y->along || x->turned != y->turned ||
		    s->across * scale != t->across ||
		    s->along * scale != t->along || s->turn != t->turn)
			return false;
	}
	return true;
}

static bool same_strips(const struct problem *p, const struct roll *a,
    const struct problem *q, const struct roll *b, length scale)
{
	if (a->stock != b->stock || a->n_strips != b->n_strips)
		return false;
	for (size_t i = 0; i < a->n_strips; i++) {
		const struct strip *x = &a->strips[i], *y = &b->strips[i];

		if (x->at * scale != y->at || x->height * scale != y->height ||
		    x->n_segments != y->n_segments)
			return false;
		for (size_t k = 0; k < x->n_segments; k++)
			if (!same_pieces(
				p, &x->segments[k], q, &y->segments[k], scale))
				return false;
	}
	return true;
}

/* b is a, every length `scale` times as long; it does not matter whose pieces they are. */
static bool same_plan(const struct problem *p, const struct plan *a,
    const struct problem *q, const struct plan *b, length scale)
{
	if (a->n_rolls != b->n_rolls)
		return false;
	for (size_t i = 0; i < a->n_rolls; i++)
		if (!same_strips(p, &a->rolls[i], q, &b->rolls[i], scale))
			return false;
	return a->bounds.fresh_rolls == b->bounds.fresh_rolls &&
	       a->bounds.strip_length * scale == b->bounds.strip_length &&
	       a->totals.tears == b->totals.tears &&
	       a->totals.strip_kinds == b->totals.strip_kinds;
}

static struct problem *scaled(const struct problem *p, length k)
{
	struct problem *q = copy_of(p, 0);

	q->sliver *= k;
	q->oversize *= k;
	for (size_t i = 0; i < q->n_stock; i++) {
		struct run *runs = arena_array(
		    q->arena, q->stock[i].n_spoiled + 1, sizeof(*runs));

		q->stock[i].width *= k;
		q->stock[i].length *= k;
		for (size_t n = 0; n < q->stock[i].n_spoiled; n++)
			runs[n] = (struct run){q->stock[i].spoiled[n].from * k,
			    q->stock[i].spoiled[n].to * k};
		q->stock[i].spoiled = runs;
	}
	for (size_t i = 0; i < q->n_pieces; i++) {
		q->pieces[i].across *= k;
		q->pieces[i].along *= k;
	}
	return q;
}

/* The search has no end of its own here: the same steps lead to the same plan only when
 * the problem is done before them, so these are small. */
static void expect_same_scaled(struct problem *p, length k, uint64_t seed)
{
	struct problem *q = scaled(p, k);
	struct plan_job job = {0};
	struct plan *a = NULL, *b = NULL;
	struct err err;
	bool fits = plan_make(p, &job, &a, &err);

	cr_expect(plan_make(q, &job, &b, &err) == fits, "seed %lu", seed);
	cr_expect(!fits || same_plan(p, a, q, b, k),
	    "seed %lu: another plan at scale %ld", seed, k);
	plan_delete(a);
	plan_delete(b);
	problem_delete(q);
}

Test(properties, scaling_all_lengths_changes_nothing)
{
	for (uint64_t seed = 1; seed <= 150; seed++) {
		struct problem *p = draw_tiny(seed);

		expect_same_scaled(p, seed % 2 ? 2 : 3, seed);
		problem_delete(p);
	}
}

/* Backwards, and every entry of more than one split between two members. */
static struct problem *split_and_turned_round(const struct problem *p)
{
	struct problem *q = copy_of(p, p->n_pieces);
	size_t n = 0;

	for (size_t i = p->n_pieces; i-- > 0;) {
		q->pieces[n] = p->pieces[i];
		if (p->pieces[i].count > 1) {
			q->pieces[n++].count = 1;
			q->pieces[n] = p->pieces[i];
			q->pieces[n].count--;
		}
		n++;
	}
	q->n_pieces = n;
	return q;
}

Test(properties, order_and_splitting_change_no_tear)
{
	for (uint64_t seed = 401; seed <= 424; seed++) {
		struct problem *p =
		    draw_class(seed, seed % 2 ? 2 : 3, seed % 4 == 0);
		struct problem *q = split_and_turned_round(p);
		struct plan *a = make(p, seed), *b = make(q, seed);

		cr_expect(same_plan(p, a, q, b, 1), "seed %lu", seed);
		plan_delete(a);
		plan_delete(b);
		problem_delete(p);
		problem_delete(q);
	}
}

static char *plan_of_text(const char *json)
{
	struct problem *p = NULL;
	struct plan *plan;
	struct text out;
	struct err err;

	cr_assert(
	    problem_read(json, strlen(json), &p, NULL, &err), "%s", err.text);
	plan = make(p, 0);
	text_init(&out, 1 << 24);
	plan_write(plan, -1, &out);
	plan_delete(plan);
	problem_delete(p);
	return text_take(&out);
}

/* 45 in is 365,760 units, 114.3 cm, 1143 mm and 1 1/4 yd; 1 in is 8128 units. */
Test(properties, unit_spelling_changes_no_byte)
{
	static const char *const texts[] = {
	    "{\"stages\": 3, \"stock\": [{\"width\": \"45 in\", \"length\": "
	    "\"10 yd\", \"price\": 5}], \"pieces\": [{\"across\": \"9 in\", "
	    "\"along\": \"12 1/2 in\", \"count\": 10, \"turn\": true},"
	    "{\"across\": \"11 in\", \"along\": \"15 in\", \"count\": 7}]}",
	    "{\"stages\": 3, \"stock\": [{\"width\": 365760, \"length\": "
	    "2926080, \"price\": 5}], \"pieces\": [{\"across\": 73152, "
	    "\"along\": 101600, \"count\": 10, \"turn\": true},"
	    "{\"across\": 89408, \"along\": 121920, \"count\": 7}]}",
	    "{\"stages\": 3, \"stock\": [{\"width\": \"114.3 cm\", \"length\": "
	    "\"360in\", \"price\": 5}], \"pieces\": [{\"across\": \"22.86 "
	    "cm\", \"along\": \"317.5 mm\", \"count\": 10, \"turn\": true},"
	    "{\"across\": \"279.4 mm\", \"along\": \"381 mm\", \"count\": "
	    "7}]}",
	};
	char *first = plan_of_text(texts[0]);

	for (size_t i = 1; i < sizeof(texts) / sizeof(texts[0]); i++) {
		char *other = plan_of_text(texts[i]);

		cr_expect_str_eq(first, other, "spelling %zu", i);
		free(other);
	}
	free(first);
}
