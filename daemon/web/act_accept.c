/* SPDX-License-Identifier: MIT */
/*
 * act_accept.c - plans accepted and cancelled.
 *
 * Accepting is where paper and plan meet: the requests must still be those that were planned,
 * limited stock leaves the shelf, a plan accepted before gives its stock back first.  The
 * workshop's row is locked throughout.
 */
#include "act_plan.h"
#include "json_in.h"
#include "layout.h"
#include "rows.h"

struct take { /* limited stock that a plan uses */
	int64_t stock_id, count;
	const char *name;
};

struct accepting {
	struct call *call;
	struct plan_row plan;
	act_plan_fn *done;
	const struct layout *layouts;
	size_t n_layouts;
	struct take *takes;
	size_t n_takes, at;
};

static struct accepting *accepting_new(struct call *call, act_plan_fn *done)
{
	struct accepting *p = call_alloc(call, sizeof(*p));

	p->call = call;
	p->done = done;
	call->act = p;
	return p;
}

static void on_noted(struct call *call)
{
	struct accepting *p = call->act;

	act_plan_show(call, &p->plan, p->done);
}

static void note(struct accepting *p, const char *kind)
{
	call_event(p->call, kind, p->plan.workshop_id, 0,
	    json_pack("{s: I, s: I}", "plan_id", (json_int_t)p->plan.plan_id,
		"number", (json_int_t)p->plan.number),
	    on_noted);
}

static void on_workshop_planned(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;

	(void)rows;
	if (call_failed(p->call, err))
		return;
	if (n == 0)
		call_refuse(p->call, ERR_CONFLICT, NULL,
		    "the workshop has changed in the meantime");
	else
		note(p, "plan-accepted");
}

static void on_entered(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;
	struct call *call = p->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_CONFLICT, NULL,
		    "the plan has changed in the meantime");
		return;
	}
	p->plan = row_keep_plan(call->arena, rows);
	store_workshop_enter(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id,
	    (enum workshop_state)call->workshop.state, WORKSHOP_PLANNED,
	    p->plan.plan_id, on_workshop_planned, p);
}

static void take_stock(struct accepting *p);

static void on_taken(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;
	struct take *take = &p->takes[p->at];

	(void)rows;
	if (call_failed(p->call, err))
		return;
	if (n == 0) {
		call_refuse(p->call, ERR_CONFLICT,
		    "Plan again with what there is.",
		    "fewer than %lld of \"%s\" are left",
		    (long long)take->count, shown(p->call, take->name));
		return;
	}
	p->at++;
	take_stock(p);
}

static void take_stock(struct accepting *p)
{
	struct call *call = p->call;

	if (p->at < p->n_takes)
		store_stock_take(call->tx, call->caller.studio_id,
		    p->takes[p->at].stock_id, p->takes[p->at].count,
		    call->plan.plan_id, call->caller.member_id, on_taken, p);
	else
		store_plan_enter(call->tx, call->caller.studio_id,
		    call->plan.plan_id, PLAN_READY, PLAN_ACCEPTED,
		    call->caller.member_id, on_entered, p);
}

static void on_given_back(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(p->call, err))
		take_stock(p);
}

static void on_superseded(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;
	struct call *call = p->call;

	(void)rows;
	(void)n;
	if (!call_failed(call, err))
		store_stock_give_back(call->tx, call->caller.studio_id,
		    call->workshop.accepted_plan_id, call->caller.member_id,
		    on_given_back, p);
}

static void count_takes(struct accepting *p)
{
	size_t room = 0;

	for (size_t i = 0; i < p->n_layouts; i++)
		room += p->layouts[i].problem->n_stock;
	p->takes = arena_array(p->call->arena, room + 1, sizeof(*p->takes));
	for (size_t i = 0; i < p->n_layouts; i++) {
		const struct layout *l = &p->layouts[i];
		int64_t *used = arena_array(
		    p->call->arena, l->problem->n_stock + 1, sizeof(*used));

		for (size_t k = 0; k < l->plan->n_rolls; k++)
			used[l->plan->rolls[k].stock]++;
		for (size_t k = 0; k < l->problem->n_stock; k++)
			if (used[k] > 0 &&
			    l->problem->stock[k].available != UNLIMITED)
				p->takes[p->n_takes++] = (struct take){
				    .stock_id = l->stock[k],
				    .count = used[k],
				    .name = l->problem->stock[k].name,
				};
	}
}

static void accept_current(struct accepting *p)
{
	struct call *call = p->call;

	p->at = 0;
	count_takes(p);
	if (call->workshop.accepted_plan_id != 0)
		store_plan_enter(call->tx, call->caller.studio_id,
		    call->workshop.accepted_plan_id, PLAN_ACCEPTED,
		    PLAN_SUPERSEDED, call->caller.member_id, on_superseded, p);
	else
		take_stock(p);
}

static void on_requests_now(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;
	size_t covered = 0;
	bool current = true;

	if (call_failed(p->call, err))
		return;
	for (size_t i = 0; i < p->n_layouts; i++) {
		current = current && layout_is_current(&p->layouts[i], rows, n);
		covered += p->layouts[i].problem->n_pieces;
	}
	if (!current || covered != n)
		call_refuse(p->call, ERR_CONFLICT, "Plan again.",
		    "the requests have changed since plan %lld was made",
		    (long long)p->call->plan.plan_id);
	else
		accept_current(p);
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct accepting *p = ctx;
	struct call *call = p->call;
	int64_t unplaced = 0;

	p->layouts = layouts;
	p->n_layouts = n;
	for (size_t i = 0; i < n; i++)
		unplaced += layouts[i].plan->totals.unplaced;
	if (unplaced > 0)
		call_refuse(call, ERR_CONFLICT, "Add stock, then plan again.",
		    "plan %lld leaves %lld sheets without a place",
		    (long long)call->plan.plan_id, (long long)unplaced);
	else
		store_requests_all(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, on_requests_now, p);
}

void act_plan_accept(struct call *call, act_plan_fn *done)
{
	struct accepting *p = accepting_new(call, done);
	int64_t state = call->workshop.state;

	if (call->plan.state != PLAN_READY)
		call_refuse(call, ERR_CONFLICT,
		    call->plan.state == PLAN_WORKING ? "Wait until it is ready."
						     : NULL,
		    "plan %lld is %s and cannot be accepted",
		    (long long)call->plan.plan_id,
		    plan_state_name(call->plan.state));
	else if (state != WORKSHOP_CLOSED && state != WORKSHOP_PLANNED)
		call_refuse(call, ERR_CONFLICT,
		    state == WORKSHOP_OPEN ? "Close it first." : NULL,
		    "workshop %lld is %s and cannot take a plan",
		    (long long)call->workshop.workshop_id,
		    workshop_state_name(state));
	else
		layout_load(call, &call->plan, 0, on_layouts, p);
}

/* ---- cancelled ---- */

static void on_cancelled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct accepting *p = ctx;

	if (call_failed(p->call, err))
		return;
	if (n == 0) {
		call_refuse(p->call, ERR_CONFLICT, NULL,
		    "the plan has changed in the meantime");
		return;
	}
	p->plan = row_keep_plan(p->call->arena, rows);
	note(p, "plan-cancelled");
}

void act_plan_cancel(struct call *call, act_plan_fn *done)
{
	struct accepting *p = accepting_new(call, done);

	if (call->plan.state != PLAN_WORKING)
		call_refuse(call, ERR_CONFLICT, NULL,
		    "plan %lld is %s and cannot be cancelled",
		    (long long)call->plan.plan_id,
		    plan_state_name(call->plan.state));
	else
		store_plan_enter(call->tx, call->caller.studio_id,
		    call->plan.plan_id, PLAN_WORKING, PLAN_CANCELLED,
		    call->caller.member_id, on_cancelled, p);
}
