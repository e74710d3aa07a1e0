/* SPDX-License-Identifier: MIT */
/*
 * alone.c - every owner's pieces planned by themselves.
 *
 * In a class many ask for the same sheets, so owners are sorted by what they ask for and
 * equal ones share a plan.  Each different one gets the same part of the steps, whatever
 * the others need, so that it does not depend on them.
 */
#include "alone.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "bounds.h"
#include "draft.h"
#include "inspect.h"
#include "plan_new.h"

#define STEPS_LEAST 20000 /* of one owner */

/* ---- areas ---- */

void plan_areas(const struct problem *problem, const struct plan *plan,
    area *bought, area *kept)
{
	*bought = *kept = 0;
	for (size_t r = 0; r < plan->n_rolls; r++) {
		const struct roll *roll = &plan->rolls[r];
		length end = 0;

		for (size_t s = 0; s < roll->n_strips; s++)
			end = roll->strips[s].at + roll->strips[s].height;
		*bought += roll->width * roll->length;
		if (roll->length > end && roll->length - end >= problem->keep)
			*kept += roll->width * (roll->length - end);
	}
}

bool plan_same_owner(const char *a, const char *b)
{
	return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* ---- owners ---- */

struct owner {
	const char *name;
	size_t *pieces; /* indices into problem->pieces, by size */
	size_t n;
	struct plan *plan; /* shared by equal owners; NULL: none */
	bool first;        /* of equal ones: it made the plan */
};

struct owners {
	const struct problem *problem;
	struct owner *list;
	size_t n;
	size_t *pieces; /* all that have an owner */
	size_t n_pieces;
	size_t *stock; /* what can be bought: indices into problem->stock */
	size_t n_stock;
};

/* Owner, then size: so an owner's pieces are together, and equal owners look equal. */
static int by_owner(const void *left, const void *right, void *ctx)
{
	const struct problem *problem = ctx;
	size_t i = *(const size_t *)left, k = *(const size_t *)right;
	const struct piece *a = &problem->pieces[i], *b = &problem->pieces[k];
	int d = strcmp(a->owner, b->owner);

	if (d == 0)
		d = (a->across > b->across) - (a->across < b->across);
	if (d == 0)
		d = (a->along > b->along) - (a->along < b->along);
	if (d == 0)
		d = (int)a->turn - (int)b->turn;
	if (d == 0)
		d = (a->count > b->count) - (a->count < b->count);
	return d != 0 ? d : (i > k) - (i < k);
}

static int compare_pieces(const struct piece *a, const struct piece *b)
{
	if (a->across != b->across)
		return a->across < b->across ? -1 : 1;
	if (a->along != b->along)
		return a->along < b->along ? -1 : 1;
	if (a->turn != b->turn)
		return a->turn ? 1 : -1;
	return (a->count > b->count) - (a->count < b->count);
}

static int compare_needs(
    const struct problem *problem, const struct owner *a, const struct owner *b)
{
	if (a->n != b->n)
		return a->n < b->n ? -1 : 1;
	for (size_t i = 0; i < a->n; i++) {
		int d = compare_pieces(&problem->pieces[a->pieces[i]],
		    &problem->pieces[b->pieces[i]]);

		if (d != 0)
			return d;
	}
	return 0;
}

static int by_need(const void *left, const void *right, void *ctx)
{
	const struct owner *a = left, *b = right;
	int d = compare_needs(ctx, a, b);

	return d != 0 ? d : strcmp(a->name, b->name);
}

static int by_name(const void *left, const void *right)
{
	return strcmp(((const struct owner *)left)->name,
	    ((const struct owner *)right)->name);
}

static void owners_init(struct owners *o, const struct problem *problem)
{
	*o = (struct owners){.problem = problem};
	o->pieces = xcalloc(problem->n_pieces + 1, sizeof(*o->pieces));
	o->list = xcalloc(problem->n_pieces + 1, sizeof(*o->list));
	o->stock = xcalloc(problem->n_stock + 1, sizeof(*o->stock));
	for (size_t i = 0; i < problem->n_pieces; i++)
		if (problem->pieces[i].owner != NULL)
			o->pieces[o->n_pieces++] = i;
	for (size_t i = 0; i < problem->n_stock; i++)
		if (problem->stock[i].fresh ||
		    problem->stock[i].available == UNLIMITED)
			o->stock[o->n_stock++] = i;
	qsort_r(o->pieces, o->n_pieces, sizeof(*o->pieces), by_owner,
	    (void *)problem);
	for (size_t i = 0; i < o->n_pieces; i++) {
		const char *name = problem->pieces[o->pieces[i]].owner;

		if (o->n == 0 || strcmp(o->list[o->n - 1].name, name) != 0)
			o->list[o->n++] = (struct owner){
			    .name = name, .pieces = &o->pieces[i]};
		o->list[o->n - 1].n++;
	}
}

static void owners_free(struct owners *o)
{
	for (size_t i = 0; i < o->n; i++)
		if (o->list[i].first)
			plan_delete(o->list[i].plan);
	free(o->stock);
	free(o->list);
	free(o->pieces);
}

/* ---- planned by themselves ---- */

static struct problem *own_problem(
    const struct owners *o, const struct owner *owner)
{
	const struct problem *of = o->problem;
	struct problem *p = problem_new(o->n_stock, owner->n);

	p->stages = of->stages;
	p->prefer_price = of->prefer_price;
	p->sliver = of->sliver;
	p->oversize = of->oversize;
	p->keep = of->keep;
	for (size_t i = 0; i < o->n_stock; i++)
		p->stock[i] = of->stock[o->stock[i]];
	for (size_t i = 0; i < owner->n; i++)
		p->pieces[i] = of->pieces[owner->pieces[i]];
	return p;
}

static struct plan *plan_own(const struct owners *o, const struct owner *owner,
    const struct plan_job *job)
{
	struct problem *problem = NULL;
	struct plan *plan = NULL;
	struct err err;

	if (o->n_stock == 0)
		return NULL;
	problem = own_problem(o, owner);
	if (plan_make(problem, job, &plan, &err) && plan->totals.unplaced > 0) {
		plan_delete(plan);
		plan = NULL;
	}
	problem_delete(problem);
	return plan;
}

static void plan_owners(struct owners *o, const struct plan_job *job)
{
	struct plan_job part = *job;
	int64_t different = 0;

	qsort_r(o->list, o->n, sizeof(*o->list), by_need, (void *)o->problem);
	for (size_t i = 0; i < o->n; i++) {
		o->list[i].first =
		    i == 0 || compare_needs(o->problem, &o->list[i - 1],
				  &o->list[i]) != 0;
		different += o->list[i].first;
	}
	part.steps = job->steps / (different > 0 ? different : 1);
	if (part.steps < STEPS_LEAST)
		part.steps = STEPS_LEAST;
	for (size_t i = 0; i < o->n; i++) {
		if (o->list[i].first && job->progress != NULL &&
		    !job->progress(job->ctx, NULL, NULL, 0))
			return;
		o->list[i].plan = o->list[i].first
				      ? plan_own(o, &o->list[i], &part)
				      : o->list[i - 1].plan;
	}
}

/* ---- side by side ---- */

/* Is it a plan of all?  Everybody is in it, and there is stock enough. */
static bool is_whole(const struct owners *o)
{
	const struct problem *problem = o->problem;
	int64_t *used = xcalloc(problem->n_stock + 1, sizeof(*used));
	bool whole = o->n_pieces == problem->n_pieces;

	for (size_t i = 0; i < o->n && whole; i++) {
		const struct plan *plan = o->list[i].plan;

		whole = plan != NULL;
		for (size_t r = 0; whole && r < plan->n_rolls; r++)
			used[o->stock[plan->rolls[r].stock]]++;
	}
	for (size_t i = 0; i < problem->n_stock && whole; i++)
		whole = problem->stock[i].available == UNLIMITED ||
			used[i] <= problem->stock[i].available;
	free(used);
	return whole;
}

static struct totals add_totals(const struct owners *o)
{
	struct totals sum = {0};

	for (size_t i = 0; i < o->n; i++) {
		const struct totals *t = &o->list[i].plan->totals;

		sum.fresh_rolls += t->fresh_rolls;
		sum.price += t->price;
		sum.strip_length += t->strip_length;
	}
	return sum;
}

/* A roll of an owner's plan, in the terms of the problem of all. */
static struct roll copy_roll(struct arena *arena, const struct owners *o,
    const struct owner *owner, const struct roll *from)
{
	struct roll roll = *from;

	roll.stock = o->stock[from->stock];
	roll.strips = arena_array(arena, roll.n_strips, sizeof(*roll.strips));
	for (size_t s = 0; s < roll.n_strips; s++) {
		struct strip *strip = &roll.strips[s];

		*strip = from->strips[s];
		strip->segments = arena_array(
		    arena, strip->n_segments, sizeof(*strip->segments));
		for (size_t g = 0; g < strip->n_segments; g++) {
			struct segment *segment = &strip->segments[g];

			*segment = from->strips[s].segments[g];
			segment->pieces = arena_array(
			    arena, segment->n_pieces, sizeof(*segment->pieces));
			for (size_t p = 0; p < segment->n_pieces; p++) {
				segment->pieces[p] =
				    from->strips[s].segments[g].pieces[p];
				segment->pieces[p].piece =
				    owner->pieces[segment->pieces[p].piece];
			}
		}
	}
	return roll;
}

static struct plan *unite(const struct owners *o, const struct plan *pooled)
{
	struct plan *plan = NULL;
	size_t n_rolls = 0, at = 0;

	for (size_t i = 0; i < o->n; i++)
		n_rolls += o->list[i].plan->n_rolls;
	plan = plan_new(n_rolls, o->problem->n_pieces);
	for (size_t i = 0; i < o->n; i++)
		for (size_t r = 0; r < o->list[i].plan->n_rolls; r++)
			plan->rolls[at++] = copy_roll(plan->arena, o,
			    &o->list[i], &o->list[i].plan->rolls[r]);
	plan_count(o->problem, plan, &plan->totals);
	bounds_prove(plan, &pooled->bounds);
	plan->proof = pooled->proof;
	plan->proof.prices = arena_array(
	    plan->arena, plan->proof.n_prices, sizeof(*plan->proof.prices));
	plan->proof.worths = arena_array(
	    plan->arena, plan->proof.n_worths, sizeof(*plan->proof.worths));
	if (plan->proof.n_prices > 0)
		memcpy(plan->proof.prices, pooled->proof.prices,
		    plan->proof.n_prices * sizeof(*plan->proof.prices));
	if (plan->proof.n_worths > 0)
		memcpy(plan->proof.worths, pooled->proof.worths,
		    plan->proof.n_worths * sizeof(*plan->proof.worths));
	plan->steps = pooled->steps;
	return plan;
}

static void tell(const struct owners *o, struct plan *plan)
{
	plan->alone = arena_array(plan->arena, o->n, sizeof(*plan->alone));
	for (size_t i = 0; i < o->n; i++) {
		const struct owner *owner = &o->list[i];
		struct alone *a = &plan->alone[plan->n_alone];

		if (owner->plan == NULL)
			continue;
		a->owner = arena_strdup(plan->arena, owner->name);
		a->price = owner->plan->totals.price;
		a->fresh_rolls = owner->plan->totals.fresh_rolls;
		plan_areas(o->problem, owner->plan, &a->bought, &a->kept);
		plan->n_alone++;
	}
}

void plan_add_alone(const struct problem *problem, const struct plan_job *job,
    struct plan **plan)
{
	struct owners o;

	owners_init(&o, problem);
	plan_owners(&o, job);
	qsort(o.list, o.n, sizeof(*o.list), by_name);
	if (o.n > 0 && is_whole(&o)) {
		struct totals sum = add_totals(&o);

		if (totals_compare(problem, &sum, &(*plan)->totals) < 0) {
			struct plan *united = unite(&o, *plan);

			plan_delete(*plan);
			*plan = united;
		}
	}
	tell(&o, *plan);
	owners_free(&o);
}
