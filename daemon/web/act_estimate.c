/* SPDX-License-Identifier: MIT */
/*
 * act_estimate.c - estimates asked for, and shown.
 *
 * The problem is made from the requests and the stock as they are, in the form of a plan's job;
 * what it is about is read back from the job, so that a change of the requests is seen without
 * any mark on them, and asking for sheets costs nothing more than before.
 */
#include "act_estimate.h"

#include <string.h>

#include "act_plan.h"
#include "layout.h"
#include "rows.h"

#define ESTIMATE_MS 3000 /* for the plan of all; the others have steps */

struct estimating {
	struct call *call;
	act_estimate_fn *done;
	bool ask;
	struct request_row *requests;
	size_t n_requests;
	struct paper_row *papers;
	size_t n_papers, at;
	struct job_row *jobs;
	size_t n_jobs;
	struct estimate_view view;
};

const char *estimate_state_name(enum estimate_state state)
{
	static const char *const names[] = {
	    "none", "working", "ready", "failed"};

	return names[state];
}

void estimate_finished(const struct request_row *request,
    const struct reckon_hint *hint, length *across, length *along)
{
	*across = request->across_u - (request->torn_across_u - hint->across);
	*along = request->along_u - (request->torn_along_u - hint->along);
}

static struct job_row *job_of(struct estimating *e, int64_t paper_id)
{
	for (size_t i = 0; i < e->n_jobs; i++)
		if (e->jobs[i].paper_id == paper_id)
			return &e->jobs[i];
	return NULL;
}

/* ---- shown ---- */

static void show_layouts(struct estimating *e)
{
	struct call *call = e->call;
	const struct workshop_row *w = &call->workshop;
	struct layout *layouts =
	    arena_array(call->arena, e->n_papers + 1, sizeof(*layouts));
	struct reckoning *reckoning = NULL;
	struct share_rules rules = {
	    .policy = (enum share_policy)w->share_policy,
	    .ceiling = w->share_ceiling,
	    .shipping_each = w->shipping_each,
	};
	struct err err = {0};

	e->view.current = true;
	for (size_t i = 0; i < e->n_papers; i++) {
		if (!layout_read(call, job_of(e, e->papers[i].paper_id),
			&layouts[i], &err)) {
			call_failed(call, &err);
			return;
		}
		e->view.current =
		    e->view.current &&
		    layout_is_current(&layouts[i], e->requests, e->n_requests);
	}
	if (!reckon(w->workshop_id, rules, layouts, e->n_papers, call->arena,
		&reckoning, &err)) {
		call_failed(call, &err);
		return;
	}
	e->view.reckoning = reckoning;
	e->done(call, &e->view);
}

/* The least of what its papers are at. */
static enum estimate_state state_of(struct estimating *e)
{
	enum estimate_state state =
	    e->n_papers > 0 ? ESTIMATE_READY : ESTIMATE_NONE;

	for (size_t i = 0; i < e->n_papers; i++) {
		const struct job_row *job = job_of(e, e->papers[i].paper_id);

		if (job == NULL || job->state == JOB_CANCELLED)
			return ESTIMATE_NONE;
		if (job->state == JOB_QUEUED || job->state == JOB_RUNNING)
			state = ESTIMATE_WORKING;
		else if (job->state == JOB_FAILED && state == ESTIMATE_READY)
			state = ESTIMATE_FAILED;
	}
	return state;
}

static void show(struct estimating *e)
{
	e->view.state = state_of(e);
	e->view.requests = e->requests;
	e->view.n_requests = e->n_requests;
	e->view.papers = e->papers;
	e->view.n_papers = e->n_papers;
	if (e->view.state == ESTIMATE_READY)
		show_layouts(e);
	else
		e->done(e->call, &e->view);
}

/* ---- asked for ---- */

static void ask_next(struct estimating *e);

static void on_put(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct estimating *e = ctx;
	struct job_row *job = NULL;

	(void)n;
	if (call_failed(e->call, err))
		return;
	job = job_of(e, e->papers[e->at].paper_id);
	if (job == NULL)
		job = &e->jobs[e->n_jobs++];
	*job = row_keep_job(e->call->arena, rows);
	e->at++;
	ask_next(e);
}

static struct problem *make_problem(struct estimating *e,
    const struct request_row *requests, size_t n, const void *stock,
    size_t n_stock, const char **behind)
{
	struct problem *problem =
	    layout_problem(e->call, requests, n, stock, n_stock, behind);

	problem->estimate = true;
	problem->ruler = e->call->caller.studio.ruler_u;
	problem->milliseconds = ESTIMATE_MS;
	return problem;
}

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct estimating *e = ctx;
	struct call *call = e->call;
	int64_t paper_id = e->papers[e->at].paper_id;
	struct request_row *own =
	    arena_array(call->arena, e->n_requests + 1, sizeof(*own));
	struct job_row job = {
	    .studio_id = call->caller.studio_id, .paper_id = paper_id};
	struct problem *problem = NULL;
	struct text text;
	size_t n_own = 0;
	struct err wrong = {0};

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < e->n_requests; i++)
		if (e->requests[i].paper_id == paper_id)
			own[n_own++] = e->requests[i];
	problem = make_problem(e, own, n_own, rows, n, &job.behind);
	if (!problem_check(problem, &wrong)) {
		wrong.kind = ERR_CONFLICT;
		call_failed(call, &wrong);
		return;
	}
	text_init(&text, PROBLEM_TEXT_MAX);
	problem_write(problem, &text);
	job.problem = arena_strdup(call->arena, text.data);
	text_free(&text);
	store_estimate_put(
	    call->tx, call->workshop.workshop_id, &job, on_put, e);
}

/* Under way or done, and about the requests as they are: there is nothing to begin. */
static bool is_good(struct estimating *e, const struct job_row *job)
{
	struct layout layout = {0};
	struct err err = {0};

	return job != NULL && job->state != JOB_FAILED &&
	       job->state != JOB_CANCELLED &&
	       layout_read_problem(e->call, job, &layout, &err) &&
	       layout_is_current(&layout, e->requests, e->n_requests);
}

static void ask_next(struct estimating *e)
{
	struct call *call = e->call;

	while (e->at < e->n_papers &&
	       is_good(e, job_of(e, e->papers[e->at].paper_id)))
		e->at++;
	if (e->at < e->n_papers)
		store_stock_usable(call->tx, call->caller.studio_id,
		    e->papers[e->at].paper_id, on_stock, e);
	else
		show(e);
}

/* ---- what both begin with ---- */

static void on_jobs(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct estimating *e = ctx;
	const struct job_row *jobs = rows;

	if (call_failed(e->call, err))
		return;
	e->jobs =
	    arena_array(e->call->arena, n + e->n_papers + 1, sizeof(*e->jobs));
	for (size_t i = 0; i < n; i++)
		e->jobs[e->n_jobs++] = row_keep_job(e->call->arena, &jobs[i]);
	if (e->ask)
		ask_next(e);
	else
		show(e);
}

static void load_papers_next(struct estimating *e);

static void on_paper(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct estimating *e = ctx;

	if (call_failed(e->call, err))
		return;
	if (n > 0)
		e->papers[e->at] = row_keep_paper(e->call->arena, rows);
	e->at++;
	load_papers_next(e);
}

static void load_papers_next(struct estimating *e)
{
	struct call *call = e->call;

	if (e->at < e->n_papers) {
		store_paper(call->tx, call->caller.studio_id,
		    e->papers[e->at].paper_id, on_paper, e);
		return;
	}
	e->at = 0;
	store_estimates(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_jobs, e);
}

static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct estimating *e = ctx;
	const struct request_row *requests = rows;
	struct arena *arena = e->call->arena;

	if (call_failed(e->call, err))
		return;
	e->requests = arena_array(arena, n + 1, sizeof(*e->requests));
	e->papers = arena_array(arena, n + 1, sizeof(*e->papers));
	for (size_t i = 0; i < n; i++) {
		size_t p = 0;

		e->requests[e->n_requests++] =
		    row_keep_request(arena, &requests[i]);
		while (p < e->n_papers &&
		       e->papers[p].paper_id != requests[i].paper_id)
			p++;
		if (p == e->n_papers)
			e->papers[e->n_papers++].paper_id =
			    requests[i].paper_id;
	}
	load_papers_next(e);
}

static void begin(struct call *call, bool ask, act_estimate_fn *done)
{
	struct estimating *e = call_alloc(call, sizeof(*e));

	e->call = call;
	e->done = done;
	e->ask = ask;
	store_requests_all(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_requests, e);
}

void act_estimate(struct call *call, act_estimate_fn *done)
{
	begin(call, false, done);
}

void act_estimate_ask(struct call *call, act_estimate_fn *done)
{
	int64_t state = call->workshop.state;

	if (state != WORKSHOP_OPEN && state != WORKSHOP_CLOSED)
		call_refuse(call, ERR_CONFLICT, "Look at its shares.",
		    "workshop %lld is %s: it has a plan, and needs no estimate",
		    (long long)call->workshop.workshop_id,
		    workshop_state_name(state));
	else
		begin(call, true, done);
}
