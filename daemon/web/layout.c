/* SPDX-License-Identifier: MIT */
/*
 * layout.c - problems and plans, and the rows behind them.
 *
 * The planner knows no members and no shelf; a job keeps beside its problem which request,
 * member and stock stands behind each entry, by index.
 */
#include "layout.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "call_inner.h"
#include "rows.h"
#include "text.h"

static void free_problem(void *problem)
{
	problem_delete(problem);
}

static void free_plan(void *plan)
{
	plan_delete(plan);
}

/* ---- made from rows ---- */

static void fill_spoiled(
    struct problem *problem, struct stock *to, const char *spoiled)
{
	json_t *runs = json_loads(spoiled, 0, NULL), *run = NULL;
	struct run *list = arena_array(
	    problem->arena, json_array_size(runs) + 1, sizeof(*list));
	size_t i = 0;

	json_array_foreach(runs, i, run)
	{
		list[i].from = json_integer_value(json_array_get(run, 0));
		list[i].to = json_integer_value(json_array_get(run, 1));
	}
	to->spoiled = list;
	to->n_spoiled = json_array_size(runs);
	json_decref(runs);
}

static void fill_stock(struct problem *problem, const struct stock_row *rows)
{
	for (size_t i = 0; i < problem->n_stock; i++) {
		struct stock *to = &problem->stock[i];

		to->name = arena_strdup(problem->arena, rows[i].name);
		to->width = rows[i].width_u;
		to->length = rows[i].length_u;
		to->price = rows[i].price_minor;
		to->available = rows[i].available;
		to->flat =
		    rows[i].kind == STOCK_FLAT || rows[i].kind == STOCK_OFFCUT;
		to->fresh = rows[i].kind == STOCK_FRESH;
		fill_spoiled(problem, to, rows[i].spoiled);
	}
}

static void fill_pieces(
    struct problem *problem, const struct request_row *requests)
{
	for (size_t i = 0; i < problem->n_pieces; i++) {
		struct piece *to = &problem->pieces[i];

		to->name = arena_printf(
		    problem->arena, "%" PRId64, requests[i].request_id);
		to->across = requests[i].torn_across_u;
		to->along = requests[i].torn_along_u;
		to->count = requests[i].count;
		to->turn = requests[i].turn;
		to->owner = arena_printf(
		    problem->arena, "%" PRId64, requests[i].member_id);
	}
}

static const char *behind_text(struct call *call,
    const struct request_row *requests, size_t n, const struct stock_row *stock,
    size_t n_stock)
{
	json_t *r = json_array(), *m = json_array(), *s = json_array(),
	       *all = NULL;
	char *text = NULL;
	const char *copy = NULL;

	for (size_t i = 0; i < n; i++) {
		json_array_append_new(r, json_integer(requests[i].request_id));
		json_array_append_new(m, json_integer(requests[i].member_id));
	}
	for (size_t i = 0; i < n_stock; i++)
		json_array_append_new(s, json_integer(stock[i].stock_id));
	all = json_pack(
	    "{s: o, s: o, s: o}", "requests", r, "members", m, "stock", s);
	text = json_dumps(all, JSON_COMPACT);
	copy = arena_strdup(call->arena, text);
	free(text);
	json_decref(all);
	return copy;
}

/*
 * With several prices to choose from, fewer rolls may cost more: price goes first then, so that
 * the plan of all never costs more than the members' plans side by side (docs/share.md).  With
 * one price both orders are the same.
 */
static bool has_several_prices(const struct problem *problem)
{
	size_t n = 0;

	for (size_t i = 0; i < problem->n_stock; i++)
		n += problem->stock[i].price > 0;
	return n > 1;
}

struct problem *layout_problem(struct call *call,
    const struct request_row *requests, size_t n, const struct stock_row *stock,
    size_t n_stock, const char **behind)
{
	struct problem *problem = problem_new(n_stock, n);

	call_on_free(call, free_problem, problem);
	problem->stages = (int)call->workshop.stages;
	problem->sliver = call->caller.studio.sliver_u;
	problem->oversize = call->caller.studio.oversize_u;
	problem->keep = call->caller.studio.keep_u;
	fill_stock(problem, stock);
	problem->prefer_price = has_several_prices(problem);
	fill_pieces(problem, requests);
	*behind = behind_text(call, requests, n, stock, n_stock);
	return problem;
}

/* ---- read back ---- */

static const int64_t *read_ids(
    struct call *call, json_t *behind, const char *name, size_t n)
{
	json_t *list = json_object_get(behind, name);
	int64_t *ids = NULL;

	if (json_array_size(list) != n)
		return NULL;
	ids = arena_array(call->arena, n + 1, sizeof(*ids));
	for (size_t i = 0; i < n; i++)
		ids[i] = json_integer_value(json_array_get(list, i));
	return ids;
}

bool layout_read_problem(struct call *call, const struct job_row *job,
    struct layout *out, struct err *err)
{
	json_t *behind = NULL;

	*out = (struct layout){.job = job};
	if (!problem_read(
		job->problem, strlen(job->problem), &out->problem, NULL, err))
		return err_set(err, ERR_INTERNAL,
		    "the problem of job %lld does not read",
		    (long long)job->job_id);
	call_on_free(call, free_problem, out->problem);
	behind = json_loads(job->behind, 0, NULL);
	out->requests =
	    read_ids(call, behind, "requests", out->problem->n_pieces);
	out->members =
	    read_ids(call, behind, "members", out->problem->n_pieces);
	out->stock = read_ids(call, behind, "stock", out->problem->n_stock);
	json_decref(behind);
	if (out->requests == NULL || out->members == NULL || out->stock == NULL)
		return err_set(err, ERR_INTERNAL,
		    "what stands behind job %lld does not read",
		    (long long)job->job_id);
	return true;
}

bool layout_read(struct call *call, const struct job_row *job,
    struct layout *out, struct err *err)
{
	if (!layout_read_problem(call, job, out, err))
		return false;
	if (job->result == NULL)
		return err_set(err, ERR_INTERNAL, "job %lld has no result",
		    (long long)job->job_id);
	if (!plan_read(job->result, strlen(job->result), &out->plan, err))
		return err_set(err, ERR_INTERNAL,
		    "the plan of job %lld does not read",
		    (long long)job->job_id);
	call_on_free(call, free_plan, out->plan);
	return true;
}

bool layout_is_current(
    const struct layout *layout, const struct request_row *requests, size_t n)
{
	const struct problem *problem = layout->problem;
	size_t at = 0;

	for (size_t i = 0; i < n; i++) {
		const struct request_row *r = &requests[i];
		const struct piece *p = NULL;

		if (r->paper_id != layout->job->paper_id)
			continue;
		if (at == problem->n_pieces ||
		    layout->requests[at] != r->request_id)
			return false;
		p = &problem->pieces[at++];
		if (p->across != r->torn_across_u ||
		    p->along != r->torn_along_u || p->count != r->count ||
		    p->turn != r->turn)
			return false;
	}
	return at == problem->n_pieces;
}

struct loading {
	struct call *call;
	const struct plan_row *plan;
	int64_t paper_id;
	layout_fn *fn;
	void *ctx;
};

static bool read_jobs(struct loading *l, const struct job_row *jobs, size_t n,
    struct layout *layouts, size_t *n_layouts)
{
	struct err err = {0};

	for (size_t i = 0; i < n; i++) {
		struct job_row *job = NULL;

		if (l->paper_id != 0 && jobs[i].paper_id != l->paper_id)
			continue;
		job = call_alloc(l->call, sizeof(*job));
		*job = row_keep_job(l->call->arena, &jobs[i]);
		if (!layout_read(
			l->call, job, &layouts[(*n_layouts)++], &err)) {
			call_failed(l->call, &err);
			return false;
		}
	}
	return true;
}

static void on_jobs(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct loading *l = ctx;
	struct call *call = l->call;
	struct layout *layouts = NULL;
	size_t n_layouts = 0;

	if (call_failed(call, err))
		return;
	layouts = arena_array(call->arena, n + 1, sizeof(*layouts));
	if (!read_jobs(l, rows, n, layouts, &n_layouts))
		return;
	if (n_layouts == 0) {
		call_refuse(call, ERR_MISSING, NULL,
		    "plan %lld has no such paper", (long long)l->plan->plan_id);
		return;
	}
	l->fn(l->ctx, layouts, n_layouts);
}

void layout_load(struct call *call, const struct plan_row *plan,
    int64_t paper_id, layout_fn *fn, void *ctx)
{
	struct loading *l = call_alloc(call, sizeof(*l));

	*l = (struct loading){.call = call,
	    .plan = plan,
	    .paper_id = paper_id,
	    .fn = fn,
	    .ctx = ctx};
	if (plan->state != PLAN_READY && plan->state != PLAN_ACCEPTED &&
	    plan->state != PLAN_SUPERSEDED) {
		call_refuse(call, ERR_CONFLICT,
		    plan->state == PLAN_WORKING ? "Wait until it is ready."
						: "Plan again.",
		    "plan %lld is %s and has no layout",
		    (long long)plan->plan_id, plan_state_name(plan->state));
		return;
	}
	store_jobs(
	    call->tx, call->caller.studio_id, plan->plan_id, true, on_jobs, l);
}
