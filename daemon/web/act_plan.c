/* SPDX-License-Identifier: MIT */
/*
 * act_plan.c - plans asked for, and shown.
 *
 * Two papers never share a roll, so each paper of a workshop is a problem and a job of its
 * own, made here from the requests and the stock as they are under the workshop's lock.
 */
#include "act_plan.h"

#include <assert.h>
#include <string.h>

#include "act_workshop.h"
#include "call_inner.h"
#include "fits.h"
#include "json_in.h"
#include "layout.h"
#include "rows.h"
#include "web_inner.h"

static const char *const plan_states[] = {
    "working",
    "ready",
    "failed",
    "cancelled",
    "accepted",
    "superseded",
};
static const char *const job_states[] = {
    "queued", "running", "done", "failed", "cancelled"};

const char *plan_state_name(int64_t state)
{
	return plan_states[state];
}

const char *job_state_name(int64_t state)
{
	return job_states[state];
}

/* ---- shown ---- */

struct showing {
	struct call *call;
	struct plan_view view;
	act_plan_fn *done;
};

/* Only the totals stay: a list shows many plans, and the whole of one may be megabytes. */
static bool add_totals(
    struct plan_view *v, const struct job_row *job, struct err *err)
{
	struct plan *plan = NULL;

	if (job->result == NULL ||
	    !plan_read(job->result, strlen(job->result), &plan, err))
		return err_set(err, ERR_INTERNAL,
		    "the plan of job %lld does not read",
		    (long long)job->job_id);
	v->totals.unplaced += plan->totals.unplaced;
	v->totals.fresh_rolls += plan->totals.fresh_rolls;
	v->totals.price += plan->totals.price;
	v->totals.strip_length += plan->totals.strip_length;
	v->totals.tears += plan->totals.tears;
	v->proven.unplaced &= plan->proven.unplaced;
	v->proven.fresh_rolls &= plan->proven.fresh_rolls;
	v->proven.price &= plan->proven.price;
	v->proven.strip_length &= plan->proven.strip_length;
	plan_delete(plan);
	return true;
}

static bool is_done(int64_t state)
{
	return state == PLAN_READY || state == PLAN_ACCEPTED ||
	       state == PLAN_SUPERSEDED;
}

static void on_jobs(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct showing *s = ctx;
	struct call *call = s->call;
	struct plan_view *v = &s->view;
	const struct job_row *jobs = rows;
	struct job_row *kept = NULL;
	struct err broken = {0};

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	v->has_totals = n > 0 && is_done(v->row.state);
	v->proven = (struct proven){true, true, true, true};
	for (size_t i = 0; i < n; i++) {
		struct job_row job = jobs[i];

		if (v->has_totals && !add_totals(v, &job, &broken)) {
			call_failed(call, &broken);
			return;
		}
		job.problem = job.behind = job.result = NULL;
		kept[i] = row_keep_job(call->arena, &job);
	}
	v->jobs = kept;
	v->n_jobs = n;
	s->done(call, v);
}

void act_plan_show(
    struct call *call, const struct plan_row *plan, act_plan_fn *done)
{
	struct showing *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->view.row = row_keep_plan(call->arena, plan);
	s->done = done;
	store_jobs(call->tx, call->caller.studio_id, plan->plan_id,
	    is_done(plan->state), on_jobs, s);
}

/* ---- asked for ---- */

struct paper_need { /* one paper of a plan to be made */
	int64_t paper_id;
	const char *paper_name;
	struct request_row *requests;
	size_t n;
	const char *problem, *behind;
};

struct planning {
	struct call *call;
	struct paper_need *papers;
	size_t n_papers, at;
	struct plan_row plan;
	act_plan_fn *done;
};

static struct planning *planning_new(struct call *call, act_plan_fn *done)
{
	struct planning *p = call_alloc(call, sizeof(*p));

	p->call = call;
	p->done = done;
	call->act = p;
	return p;
}

static void on_noted(struct call *call)
{
	struct planning *p = call->act;

	act_plan_show(call, &p->plan, p->done);
}

static void note(struct planning *p, const char *kind)
{
	call_event(p->call, kind, p->plan.workshop_id, 0,
	    json_pack("{s: I, s: I}", "plan_id", (json_int_t)p->plan.plan_id,
		"number", (json_int_t)p->plan.number),
	    on_noted);
}

static void add_job(struct planning *p);

static void on_job(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct planning *p = ctx;

	(void)rows;
	(void)n;
	if (call_failed(p->call, err))
		return;
	p->at++;
	add_job(p);
}

static void add_job(struct planning *p)
{
	struct job_row job = {
	    .studio_id = p->call->caller.studio_id,
	    .plan_id = p->plan.plan_id,
	};

	if (p->at == p->n_papers) {
		note(p, "plan-added");
		return;
	}
	job.paper_id = p->papers[p->at].paper_id;
	job.problem = p->papers[p->at].problem;
	job.behind = p->papers[p->at].behind;
	store_job_add(p->call->tx, &job, on_job, p);
}

static void on_plan_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct planning *p = ctx;

	(void)n;
	if (call_failed(p->call, err))
		return;
	p->plan = row_keep_plan(p->call->arena, rows);
	p->at = 0;
	add_job(p);
}

/* Stock may have changed since a request was taken: say so now and not after planning. */
static bool refuse_unfit(
    struct planning *p, const struct stock_row *stock, size_t n)
{
	struct call *call = p->call;
	const struct paper_need *paper = &p->papers[p->at];
	const struct stock_row *widest = fits_widest(stock, n);
	struct fit_rules rules = {
	    .sliver = call->caller.studio.sliver_u,
	    .oversize = call->caller.studio.oversize_u,
	};
	char width[LENGTH_TEXT_MAX];

	if (widest == NULL) {
		call_refuse(call, ERR_CONFLICT,
		    "Add stock of it, then plan again.",
		    "there is no stock of \"%s\"",
		    shown(call, paper->paper_name));
		return true;
	}
	for (size_t i = 0; i < paper->n; i++) {
		const struct request_row *r = &paper->requests[i];
		bool fits = false;

		for (size_t k = 0; k < n && !fits; k++)
			fits = fits_stock(&stock[k], r->torn_across_u,
			    r->torn_along_u, r->turn, &rules);
		if (fits)
			continue;
		call_refuse(call, ERR_CONFLICT,
		    "Add wider stock, or have the request changed, then plan "
		    "again.",
		    "no stock of \"%s\" gives request %lld any more: the "
		    "widest is %s",
		    shown(call, paper->paper_name), (long long)r->request_id,
		    length_print(width, widest->width_u,
			(enum measure_system)call->caller.studio.measure));
		return true;
	}
	return false;
}

static void ask_stock(struct planning *p);

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct planning *p = ctx;
	struct call *call = p->call;
	struct paper_need *paper = &p->papers[p->at];
	struct problem *problem = NULL;
	struct err wrong = {0};
	struct text text;

	if (call_failed(call, err) || refuse_unfit(p, rows, n))
		return;
	problem = layout_problem(
	    call, paper->requests, paper->n, rows, n, &paper->behind);
	if (!problem_check(problem, &wrong)) {
		wrong.kind = ERR_CONFLICT;
		call_failed(call, &wrong);
		return;
	}
	text_init(&text, PROBLEM_TEXT_MAX);
	problem_write(problem, &text);
	if (!text_fits(&text)) {
		text_free(&text);
		call_refuse(call, ERR_CONFLICT, "Let some be withdrawn.",
		    "the requests of \"%s\" are too many to be planned at once",
		    shown(call, paper->paper_name));
		return;
	}
	paper->problem = arena_strdup(call->arena, text.data);
	text_free(&text);
	p->at++;
	ask_stock(p);
}

static void ask_stock(struct planning *p)
{
	struct call *call = p->call;

	if (p->at < p->n_papers)
		store_stock_usable(call->tx, call->caller.studio_id,
		    p->papers[p->at].paper_id, on_stock, p);
	else
		store_plan_add(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, call->caller.member_id,
		    on_plan_added, p);
}

/* Requests come by id; each paper gets its own, in that order. */
static void sort_papers(
    struct planning *p, const struct request_row *requests, size_t n)
{
	struct call *call = p->call;

	p->papers =
	    arena_array(call->arena, WORKSHOP_PAPERS_MAX, sizeof(*p->papers));
	for (size_t i = 0; i < n; i++) {
		struct paper_need *paper = NULL;

		for (size_t k = 0; k < p->n_papers; k++)
			if (p->papers[k].paper_id == requests[i].paper_id)
				paper = &p->papers[k];
		if (paper == NULL) {
			assert(p->n_papers < WORKSHOP_PAPERS_MAX);
			paper = &p->papers[p->n_papers++];
			paper->paper_id = requests[i].paper_id;
			paper->paper_name =
			    arena_strdup(call->arena, requests[i].paper_name);
			paper->requests = arena_array(
			    call->arena, n, sizeof(*paper->requests));
		}
		paper->requests[paper->n++] =
		    row_keep_request(call->arena, &requests[i]);
	}
}

static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct planning *p = ctx;

	if (call_failed(p->call, err))
		return;
	if (n == 0) {
		call_refuse(p->call, ERR_CONFLICT,
		    "Reopen it, so that somebody can ask for sheets.",
		    "workshop %lld has no requests: there is nothing to plan",
		    (long long)p->call->workshop.workshop_id);
		return;
	}
	if (n > PROBLEM_SIZES_MAX) {
		call_refuse(p->call, ERR_CONFLICT, "Let some be withdrawn.",
		    "workshop %lld has more than %d requests",
		    (long long)p->call->workshop.workshop_id,
		    PROBLEM_SIZES_MAX);
		return;
	}
	sort_papers(p, rows, n);
	ask_stock(p);
}

static void on_waiting(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct planning *p = ctx;
	struct call *call = p->call;
	const struct web_config *config = &call->web->config;
	int64_t waiting = n > 0 ? *(const int64_t *)rows : 0;

	if (call_failed(call, err))
		return;
	if (waiting >= config->plans_running + config->plans_waiting) {
		call_field(call, "Retry-After", "30");
		call_refuse(call, ERR_LIMIT,
		    "Wait until one is done, or cancel one.",
		    "%lld papers of this studio are being planned or wait for "
		    "it",
		    (long long)waiting);
		return;
	}
	store_requests_all(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_requests, p);
}

void act_plan_add(struct call *call, act_plan_fn *done)
{
	struct planning *p = planning_new(call, done);
	int64_t state = call->workshop.state;

	if (state != WORKSHOP_CLOSED && state != WORKSHOP_PLANNED) {
		call_refuse(call, ERR_CONFLICT,
		    state == WORKSHOP_OPEN ? "Close it first." : NULL,
		    "workshop %lld is %s and cannot be planned",
		    (long long)call->workshop.workshop_id,
		    workshop_state_name(state));
		return;
	}
	store_jobs_waiting(call->tx, call->caller.studio_id, on_waiting, p);
}

/* ---- layouts for pages and prints ---- */

struct laying {
	struct call *call;
	act_layout_fn *done;
};

static void on_loaded(void *ctx, const struct layout *layouts, size_t n)
{
	struct laying *l = ctx;

	l->done(l->call, layouts, n);
}

void act_plan_layout(struct call *call, int64_t paper_id, act_layout_fn *done)
{
	struct laying *l = call_alloc(call, sizeof(*l));

	l->call = call;
	l->done = done;
	layout_load(call, &call->plan, paper_id, on_loaded, l);
}
