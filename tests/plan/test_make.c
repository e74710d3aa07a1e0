/* SPDX-License-Identifier: MIT */
/* Properties of plans: inspected, repeatable, better together than apart. */
#include <criterion/criterion.h>
#include <string.h>

#include "draw.h"
#include "inspect.h"
#include "plan.h"
#include "proof.h"

/* A budget in steps, so that a slow machine tests the same thing. */
#define STEPS 10000000

static struct plan *make_in(
    const struct problem *p, int64_t steps, const char *what, uint64_t seed)
{
	struct plan_job job = {.steps = steps};
	struct plan *plan = NULL;
	const char *why;
	struct err err;

	cr_assert(plan_make(p, &job, &plan, &err), "%s, seed %lu: %s", what,
	    seed, err.text);
	cr_assert(plan_inspect(p, plan, &err), "%s, seed %lu: %s", what, seed,
	    err.text);
	cr_assert(proof_of_plan(p, plan, &why) != PROOF_BAD, "%s, seed %lu: %s",
	    what, seed, why);
	return plan;
}

static struct plan *make(
    const struct problem *p, const char *what, uint64_t seed)
{
	return make_in(p, STEPS, what, seed);
}

static char *as_text(const struct plan *plan)
{
	struct text t;

	text_init(&t, 1 << 28);
	plan_write(plan, -1, &t);
	cr_assert(text_fits(&t));
	return text_take(&t);
}

Test(make, classes_get_plans_that_pass_the_inspector)
{
	for (uint64_t seed = 1; seed <= 12; seed++) {
		struct problem *p =
		    draw_class(seed, seed % 2 ? 2 : 3, seed % 3 == 0);
		struct plan *plan = make(p, "class", seed);

		cr_expect(plan->totals.unplaced == 0);
		plan_delete(plan);
		problem_delete(p);
	}
}

Test(make, the_same_problem_gives_the_same_bytes)
{
	for (uint64_t seed = 1; seed <= 6; seed++) {
		struct problem *p = draw_class(seed, seed % 2 ? 3 : 2, false);
		struct plan *a = make(p, "class", seed),
			    *b = make(p, "class", seed);
		char *x = as_text(a), *y = as_text(b);

		cr_expect_str_eq(x, y, "seed %lu", seed);
		free(x);
		free(y);
		plan_delete(a);
		plan_delete(b);
		problem_delete(p);
	}
}

Test(make, a_plan_is_the_same_after_writing_and_reading)
{
	struct problem *p = draw_class(5, 3, true);
	struct plan *a = make(p, "class", 5), *b = NULL;
	char *x = as_text(a), *y;
	struct err err;

	cr_assert(plan_read(x, strlen(x), &b, &err), "%s", err.text);
	y = as_text(b);
	cr_expect_str_eq(x, y);
	free(x);
	free(y);
	plan_delete(a);
	plan_delete(b);
	problem_delete(p);
}

/* The pieces in the other order, and every second one split over two members. */
static struct problem *reordered(const struct problem *p)
{
	struct problem *q = problem_new(p->n_stock, 2 * p->n_pieces);
	size_t n = 0;

	q->stages = p->stages;
	memcpy(q->stock, p->stock, p->n_stock * sizeof(*p->stock));
	for (size_t i = p->n_pieces; i-- > 0;) {
		struct piece piece = p->pieces[i];

		if (i % 2 == 0 && piece.count > 1) {
			q->pieces[n] = piece;
			q->pieces[n++].count = 1;
			piece.count--;
		}
		q->pieces[n++] = piece;
	}
	q->n_pieces = n;
	return q;
}

static bool same_shape(const struct plan *a, const struct plan *b)
{
	if (a->n_rolls != b->n_rolls)
		return false;
	for (size_t i = 0; i < a->n_rolls; i++) {
		const struct roll *x = &a->rolls[i], *y = &b->rolls[i];

		if (x->n_strips != y->n_strips || x->stock != y->stock)
			return false;
		for (size_t k = 0; k < x->n_strips; k++)
			if (x->strips[k].at != y->strips[k].at ||
			    x->strips[k].height != y->strips[k].height ||
			    x->strips[k].n_segments != y->strips[k].n_segments)
				return false;
	}
	return memcmp(&a->totals, &b->totals, sizeof(a->totals)) == 0;
}

Test(make, order_and_splitting_of_requests_change_nothing)
{
	for (uint64_t seed = 11; seed <= 18; seed++) {
		struct problem *p = draw_class(seed, seed % 2 ? 2 : 3, false),
			       *q = reordered(p);
		struct plan *a = make(p, "class", seed),
			    *b = make(q, "reordered", seed);

		cr_expect(same_shape(a, b), "seed %lu", seed);
		plan_delete(a);
		plan_delete(b);
		problem_delete(p);
		problem_delete(q);
	}
}

/* Piece i belongs to member i % members; all of it when member is beyond. */
static struct problem *part_of(
    const struct problem *p, size_t member, size_t members)
{
	struct problem *q = problem_new(p->n_stock, p->n_pieces);
	size_t n = 0;

	q->stages = p->stages;
	memcpy(q->stock, p->stock, p->n_stock * sizeof(*p->stock));
	for (size_t i = 0; i < p->n_pieces; i++)
		if (i % members == member)
			q->pieces[n++] = p->pieces[i];
	q->n_pieces = n;
	return q;
}

/* In as much work for all together as for all one by one. */
Test(make, a_pooled_plan_is_never_worse_than_one_each)
{
	for (uint64_t seed = 21; seed <= 36; seed++) {
		struct problem *p =
		    draw_class(seed, seed % 2 ? 2 : 3, seed % 4 == 0);
		size_t members = seed % 5 + 2;
		struct plan *pooled =
		    make_in(p, (int64_t)members * STEPS, "pooled", seed);
		struct totals apart = {0};

		for (size_t m = 0; m < members && m < p->n_pieces; m++) {
			struct problem *q = part_of(p, m, members);
			struct plan *own = make(q, "own", seed);

			apart.fresh_rolls += own->totals.fresh_rolls;
			apart.strip_length += own->totals.strip_length;
			plan_delete(own);
			problem_delete(q);
		}
		cr_expect(pooled->totals.fresh_rolls <= apart.fresh_rolls,
		    "seed %lu: rolls", seed);
		cr_expect(pooled->totals.strip_length <= apart.strip_length,
		    "seed %lu: %ld of length together, %ld apart", seed,
		    pooled->totals.strip_length, apart.strip_length);
		plan_delete(pooled);
		problem_delete(p);
	}
}

Test(make, names_the_piece_that_fits_no_stock)
{
	struct problem *p = problem_new(1, 2);
	struct plan *plan;
	struct err err;

	p->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .available = UNLIMITED,
	    .fresh = true};
	p->pieces[0] = (struct piece){
	    .name = "small", .across = INCH, .along = INCH, .count = 1};
	p->pieces[1] = (struct piece){
	    .name = "huge", .across = 46 * INCH, .along = INCH, .count = 1};
	cr_expect(!plan_make(p, &(struct plan_job){0}, &plan, &err));
	cr_expect(err.kind == ERR_MISSING);
	cr_expect(strstr(err.text, "huge") != NULL &&
		      strstr(err.text, "46 in") != NULL,
	    "%s", err.text);
	cr_expect_str_eq(err.field, "/pieces/1");
	problem_delete(p);
}

struct watch {
	int64_t asked, stop_at, last, widest;
	bool bounds_fell;
	struct bounds bounds;
};

/* Says stop at the n-th time; watches that the questions come often and bounds never fall. */
static bool watch(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct watch *w = ctx;

	(void)best;
	if (bounds != NULL) {
		w->bounds_fell = w->bounds_fell ||
				 bounds->fresh_rolls < w->bounds.fresh_rolls ||
				 bounds->strip_length < w->bounds.strip_length;
		w->bounds = *bounds;
	}
	if (steps - w->last > w->widest)
		w->widest = steps - w->last;
	w->last = steps;
	return ++w->asked < w->stop_at;
}

Test(make, stops_when_told_and_gives_what_it_has)
{
	for (int64_t stop = 1; stop <= 64; stop *= 4) {
		struct problem *p = draw_large(3, 2, 120, 3000);
		struct watch w = {.stop_at = stop};
		struct plan_job job = {.progress = watch, .ctx = &w};
		struct plan *plan;
		struct err err;

		cr_assert(plan_make(p, &job, &plan, &err), "%s", err.text);
		cr_expect(plan_inspect(p, plan, &err), "%s", err.text);
		cr_expect(w.asked <= stop,
		    "asked %ld times after it was told to stop at %ld", w.asked,
		    stop);
		cr_expect(plan->totals.unplaced == 0);
		cr_expect(!w.bounds_fell);
		cr_expect(w.widest < 20000000, "%ld steps without a question",
		    w.widest);
		plan_delete(plan);
		problem_delete(p);
	}
}

/* What takes no steps cannot be stopped: so steps are told often, and after "stop" only
 * the plan is finished.  Ten million of them are some hundredths of a second. */
static void expect_soon(struct problem *p, int64_t stop_at, const char *what)
{
	struct watch w = {.stop_at = stop_at};
	struct plan_job job = {.progress = watch, .ctx = &w, .steps = 30000000};
	struct plan *plan = NULL;
	struct err err;

	cr_assert(plan_make(p, &job, &plan, &err), "%s: %s", what, err.text);
	cr_expect(plan_inspect(p, plan, &err), "%s: %s", what, err.text);
	cr_expect(plan->totals.unplaced == 0);
	cr_expect(w.widest < 15000000, "%s: %ld steps without a question", what,
	    w.widest);
	cr_expect(plan->steps - w.last < 30000000,
	    "%s: %ld steps after the last one", what, plan->steps - w.last);
	plan_delete(plan);
}

Test(make, asks_often_whatever_the_problem_is_like)
{
	static const struct {
		const char *name;
		int stages;
		bool mixed;
		size_t sizes;
		int64_t pieces;
	} rows[] = {
	    {"a class", 2, false, 0, 0},
	    {"a class, mixed", 2, true, 0, 0},
	    {"a class in three stages", 3, false, 0, 0},
	    {"a class, mixed, in three stages", 3, true, 0, 0},
	    {"300 sizes", 2, false, 300, 10000},
	    {"300 sizes in three stages", 3, false, 300, 10000},
	    {"1000 sizes", 2, false, 1000, 100000},
	    {"1000 sizes in three stages", 3, false, 1000, 100000},
	};

	for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++)
		for (uint64_t seed = 1; seed <= (rows[i].sizes ? 1 : 3);
		     seed++) {
			struct problem *p =
			    rows[i].sizes ? draw_large(seed, rows[i].stages,
						rows[i].sizes, rows[i].pieces)
					  : draw_class(seed, rows[i].stages,
						rows[i].mixed);

			expect_soon(p, 1, rows[i].name);
			expect_soon(p, INT64_MAX, rows[i].name);
			problem_delete(p);
		}
}

/* With no room for its tables it still has the first plan; with some it goes on until they
 * are full, and neither does harm. */
Test(make, ends_when_its_memory_is_spent_and_gives_what_it_has)
{
	static const size_t rooms[] = {1, 12 << 20};
	int64_t steps[2];

	for (size_t i = 0; i < 2; i++) {
		struct problem *p = draw_class(22, 3, false);
		struct plan_job job = {
		    .memory = rooms[i], .steps = INT64_C(1000000000)};
		struct plan *plan = NULL;
		struct err err;

		cr_assert(plan_make(p, &job, &plan, &err), "%s", err.text);
		cr_expect(plan_inspect(p, plan, &err), "%s", err.text);
		cr_expect(plan->totals.unplaced == 0);
		steps[i] = plan->steps;
		plan_delete(plan);
		problem_delete(p);
	}
	cr_expect(steps[0] < 20000000, "%ld", steps[0]);
	cr_expect(steps[1] > 20000000 && steps[1] < 900000000, "%ld", steps[1]);
}

/* One strip could hold a hundred million of them; there are a thousand. */
Test(make, low_pieces_on_a_roll_of_a_kilometre_are_stacked)
{
	struct problem *p = problem_new(1, 2);
	struct plan_job job = {.steps = 20000000};
	struct plan *plan = NULL;
	struct err err;

	p->stages = 3;
	p->stock[0] = (struct stock){.name = "roll",
	    .width = LENGTH_MAX,
	    .length = LENGTH_MAX,
	    .available = UNLIMITED,
	    .fresh = true};
	p->pieces[0] = (struct piece){
	    .name = "low", .across = LENGTH_MAX - 1, .along = 3, .count = 1000};
	p->pieces[1] = (struct piece){.name = "long",
	    .across = 7,
	    .along = LENGTH_MAX - 1,
	    .count = 1000,
	    .turn = true};
	cr_assert(plan_make(p, &job, &plan, &err), "%s", err.text);
	cr_expect(plan_inspect(p, plan, &err), "%s", err.text);
	cr_expect_eq(plan->totals.fresh_rolls, 1);
	cr_expect_eq(plan->totals.strip_length, 3 * 1000 + 7 * 1000,
	    "none lies beside another");
	plan_delete(plan);
	problem_delete(p);
}
