/* SPDX-License-Identifier: MIT */
/*
 * make.c - from a problem to a plan: the order of the methods.
 *
 * A whole plan and a valid bound come first; each later step may only better them.
 * Between steps the caller's budget and its progress callback are looked at, and when
 * either says stop, the best so far is what is returned.
 */
#include "make.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "bounds.h"
#include "budget.h"
#include "fill.h"
#include "master.h"
#include "plan.h"
#include "rolls.h"
#include "scale.h"
#include "tidy.h"

#define STRIPS_COUNTED 3000
#define PATIENCE 150000000 /* steps: some tenths of a second */
#define EFFORTS 3
/* Some hundredths of a second, even after somebody said stop. */
#define TIDY_STEPS 2000000

/* Tears and kinds too, where that is quick to say. */
static void count_tears(struct draft *draft)
{
	struct plan *plan;
	size_t strips = 0;

	for (size_t i = 0; i < draft->n_used; i++)
		strips += draft->used[i].n_laid;
	if (strips > STRIPS_COUNTED)
		return;
	draft_tidy(draft);
	plan = draft_finish(draft);
	draft->totals = plan->totals;
	plan_delete(plan);
}

/* Equal in rolls, price and length: fewer tears win, then fewer different strips. */
static bool is_better(const struct maker *mk, struct draft *draft)
{
	int d = mk->best == NULL ? -1
				 : totals_compare(mk->model->problem,
				       &draft->totals, &mk->best->totals);

	if (d != 0)
		return d < 0;
	count_tears(draft);
	if (draft->totals.tears != mk->best->totals.tears)
		return draft->totals.tears < mk->best->totals.tears;
	return draft->totals.strip_kinds < mk->best->totals.strip_kinds;
}

void maker_offer(struct maker *mk, struct draft *draft)
{
	if (draft == NULL)
		return;
	draft->model = mk->model; /* it may have been made for fewer stages */
	draft_lower(draft);
	if (!is_better(mk, draft)) {
		draft_delete(draft);
		return;
	}
	if (draft->totals.tears == 0)
		count_tears(draft);
	draft_delete(mk->best);
	mk->best = draft;
	mk->totals = draft->totals;
	mk->budget.best = &mk->totals;
}

/* These prices show the bound on rolls: keep a copy, for the certificate. */
static void keep_proof(struct maker *mk, const struct worth *w)
{
	const struct model *m = mk->model;

	mk->proof = worth_new(m, m->arena);
	memcpy(mk->proof->size, w->size, m->n_sizes * sizeof(*w->size));
	memcpy(mk->proof->stock, w->stock,
	    m->problem->n_stock * sizeof(*w->stock));
}

void maker_bound(struct maker *mk, const struct worth *w)
{
	int64_t before = mk->bounds.fresh_rolls;

	bounds_raise(mk->model, w, &mk->totals, &mk->bounds);
	if (mk->bounds.fresh_rolls > before)
		keep_proof(mk, w);
}

/* From sizes back to the pieces as they were asked for. */
static void write_proof(const struct maker *mk, struct plan *plan)
{
	const struct model *m = mk->model;
	struct proof *p = &plan->proof;

	p->fresh_rolls = mk->bounds.fresh_rolls;
	if (mk->proof == NULL)
		return;
	if (m->problem->prefer_price) /* a reader knows no limit of price */
		p->fresh_rolls =
		    bounds_rolls(m, mk->proof, mk->totals.unplaced);
	p->n_prices = m->problem->n_pieces;
	p->prices = arena_array(plan->arena, p->n_prices, sizeof(*p->prices));
	for (size_t i = 0; i < m->n_sizes; i++)
		for (size_t k = 0; k < m->sizes[i].n_pieces; k++)
			p->prices[m->sizes[i].pieces[k]] = mk->proof->size[i];
	p->n_worths = m->problem->n_stock;
	p->worths = arena_array(plan->arena, p->n_worths, sizeof(*p->worths));
	memcpy(p->worths, mk->proof->stock, p->n_worths * sizeof(*p->worths));
}

/* In all that comes before the length. */
static bool rolls_done(const struct maker *mk)
{
	const struct totals *t = &mk->totals;
	const struct bounds *b = &mk->bounds;

	return t->unplaced == b->unplaced && t->fresh_rolls == b->fresh_rolls &&
	       t->price == b->price;
}

bool maker_done(const struct maker *mk)
{
	return rolls_done(mk) &&
	       mk->totals.strip_length == mk->bounds.strip_length;
}

static void start(struct maker *mk)
{
	struct filler filler;
	struct worth *w = worth_new(mk->model, mk->model->arena);

	filler_init(&filler, mk->model, &mk->budget);
	maker_offer(mk, fill_plan(&filler));
	filler_free(&filler);
	worth_by_area(mk->model, w);
	maker_bound(mk, w);
}

/* One width of fresh rolls only: then strips alone settle the length. */
static bool is_plain(const struct model *m)
{
	for (size_t b = 0; b < m->n_bins; b++)
		if (m->bins[b].frame != m->bins[0].frame ||
		    !m->problem->stock[m->bins[b].stock].fresh)
			return false;
	return true;
}

/*
 * The method for strips shows what rolls there must be, often at once, and then works on
 * the length for long.  Where it leaves the rolls open it is told to stop and the method
 * for rolls has its turn.
 */
struct patience {
	const struct plan_job *job; /* the caller's */
	const struct maker *mk;
	int64_t end; /* in steps */
	bool over;
};

static bool on_strips(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct patience *p = ctx;

	p->over = steps > p->end && !rolls_done(p->mk);
	return !p->over &&
	       (p->job->progress == NULL ||
		   p->job->progress(p->job->ctx, best, bounds, steps));
}

/* False: it was told to stop for the sake of the rolls. */
static bool try_strips(struct maker *mk)
{
	const struct plan_job *job = mk->budget.job;
	struct patience patience = {
	    .job = job, .mk = mk, .end = mk->budget.steps};
	struct plan_job own = *job;

	patience.end += mk->model->stages == 2 ? PATIENCE : 5 * PATIENCE;
	own.progress = on_strips;
	own.ctx = &patience;
	mk->budget.job = &own;
	make_lengths(mk);
	mk->budget.job = job;
	if (patience.over)
		mk->budget.stopped = false;
	return !patience.over;
}

static bool goes_on(const struct maker *mk)
{
	return !maker_done(mk) && !mk->budget.stopped;
}

static void search(struct maker *mk)
{
	bool plain = is_plain(mk->model), whole = true;

	if (goes_on(mk))
		whole = try_strips(mk);
	if (goes_on(mk) && !(plain && rolls_done(mk)))
		make_sheets(mk, !plain, 0);
	if (goes_on(mk) && !whole)
		make_lengths(mk);
	for (int effort = 1;
	     effort < EFFORTS && goes_on(mk) && !(plain && rolls_done(mk));
	     effort++)
		make_sheets(mk, true, effort);
}

/* The better one of two finished plans that are equal up to the length. */
static struct plan *choose(
    const struct problem *problem, struct plan *a, struct plan *b)
{
	int d = totals_compare(problem, &b->totals, &a->totals);

	if (d == 0)
		d = (b->totals.tears > a->totals.tears) -
		    (b->totals.tears < a->totals.tears);
	if (d == 0)
		d = b->totals.strip_kinds > a->totals.strip_kinds;
	plan_delete(d <= 0 ? a : b);
	return d <= 0 ? b : a;
}

/* Fewer tears, fewer kinds of strips, one roll's end, as far as they can be found. */
static struct draft *tidied(struct maker *mk, int64_t steps)
{
	struct draft *rough, *neat;
	int64_t spent;

	rough = draft_exchange(mk->best, steps, &spent);
	mk->budget.steps += spent;
	draft_gather(rough, steps, &spent);
	mk->budget.steps += spent;
	draft_join(rough, steps, &spent);
	mk->budget.steps += spent;
	neat = draft_exchange(rough, steps, &spent);
	mk->budget.steps += spent;
	draft_delete(rough);
	draft_lower(neat);
	draft_tidy(neat);
	return neat;
}

/*
 * The best draft as a plan.  The work here is small and does not depend on whether the
 * search before it came to its end.  What may stay on a piece is only settled in the plan,
 * so with an oversize it is the plans that are compared.
 */
static struct plan *finish(struct maker *mk)
{
	int64_t most = mk->budget.job->steps;
	struct draft *neat;
	struct plan *plan;

	most =
	    most > 0 && most < TIDY_STEPS ? most + TIDY_STEPS / 20 : TIDY_STEPS;
	draft_tidy(mk->best);
	neat = tidied(mk, most);
	plan = draft_finish(neat);
	draft_delete(neat);
	if (mk->model->oversize > 0)
		plan = choose(mk->model->problem, draft_finish(mk->best), plan);
	return plan;
}

static bool make(const struct problem *problem, const struct plan_job *job,
    struct plan **out, struct err *err)
{
	struct maker mk = {.budget = {.job = job}};

	if (!model_new(problem, &mk.model, err))
		return false;
	mk.budget.bounds = &mk.bounds;
	mk.model->held = &mk.budget.held;
	arena_meter(mk.model->arena, mk.model->held);
	start(&mk);
	search(&mk);
	*out = finish(&mk);
	bounds_prove(*out, &mk.bounds);
	write_proof(&mk, *out);
	(*out)->steps = mk.budget.steps;
	draft_delete(mk.best);
	model_delete(mk.model);
	return true;
}

/* The caller is told of progress in the caller's unit. */
struct scaled_job {
	const struct plan_job *job;
	length unit;
};

static bool on_progress(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	const struct scaled_job *s = ctx;
	struct totals t = {0};
	struct bounds b = {0};

	if (best != NULL)
		t = *best;
	if (bounds != NULL)
		b = *bounds;
	t.strip_length *= s->unit;
	b.strip_length *= s->unit;
	return s->job->progress(s->job->ctx, best != NULL ? &t : NULL,
	    bounds != NULL ? &b : NULL, steps);
}

bool plan_make(const struct problem *problem, const struct plan_job *job,
    struct plan **out, struct err *err)
{
	struct scaled_job scaled = {.job = job};
	struct plan_job inner = {
	    .steps = job->steps, .memory = job->memory, .ctx = &scaled};
	struct problem *small;
	bool ok;

	*out = NULL;
	if (!problem_check(problem, err))
		return false;
	scaled.unit = scale_of(problem);
	inner.progress = job->progress != NULL ? on_progress : NULL;
	small = scale_down(problem, scaled.unit);
	ok = make(small, &inner, out, err);
	if (ok)
		scale_up(*out, scaled.unit);
	else
		ok = make(problem, job, out, err); /* named in its own unit */
	problem_delete(small);
	return ok;
}
