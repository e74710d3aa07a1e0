/* SPDX-License-Identifier: MIT */
/*
 * api_plan.c - plans and layouts.
 */
#include "api.h"

#include <stdlib.h>
#include <string.h>

#include "act_plan.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"
#include "rows.h"
#include "text.h"

/* ---- plans ---- */

struct plan_list {
	struct api_list *list;
	struct plan_row *rows;
	size_t n, at;
};

static void next_plan(struct call *call);

static void on_shown(struct call *call, const struct plan_view *plan)
{
	struct plan_list *p = call->state;

	json_list_add(&p->list->list, plan->row.plan_id, json_plan(call, plan));
	p->at++;
	next_plan(call);
}

static void next_plan(struct call *call)
{
	struct plan_list *p = call->state;

	if (p->at < p->n)
		act_plan_show(call, &p->rows[p->at], on_shown);
	else
		call_answer_json(call, 200, json_list_end(&p->list->list));
}

static void on_plans(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct plan_list *p = call->state;
	const struct plan_row *plans = rows;

	if (call_failed(call, err))
		return;
	p->rows = arena_array(call->arena, n + 1, sizeof(*p->rows));
	for (size_t i = 0; i < n; i++)
		if (!call->own_only || plans[i].state == PLAN_ACCEPTED)
			p->rows[p->n++] = row_keep_plan(call->arena, &plans[i]);
	next_plan(call);
}

void api_plans(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);
	struct plan_list *p = NULL;

	if (l == NULL)
		return;
	p = call_alloc(call, sizeof(*p));
	p->list = l;
	call->state = p;
	store_plans(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, l->ask, on_plans, call);
}

static void answer_plan(
    struct call *call, int status, const struct plan_view *plan)
{
	call_etag(call, plan->row.version);
	call_answer_json(call, status, json_plan(call, plan));
}

static void answer_shown(struct call *call, const struct plan_view *plan)
{
	answer_plan(call, 200, plan);
}

static void on_added(struct call *call, const struct plan_view *plan)
{
	call_field(call, "Location",
	    call_printf(call, "/v1/plans/%lld", (long long)plan->row.plan_id));
	answer_plan(call, 202, plan);
}

static bool read_nothing(struct call *call)
{
	struct json_in in;

	json_in_begin(&in, call, call->body, "", (const char *const[]){NULL});
	return !call_is_faulty(call);
}

void api_plan_add(struct call *call)
{
	if (read_nothing(call))
		act_plan_add(call, on_added);
}

void api_plan(struct call *call)
{
	act_plan_show(call, &call->plan, answer_shown);
}

void api_plan_accept(struct call *call)
{
	if (read_nothing(call))
		act_plan_accept(call, answer_shown);
}

void api_plan_cancel(struct call *call)
{
	if (read_nothing(call))
		act_plan_cancel(call, answer_shown);
}

/* ---- a layout ---- */

/* What others asked for is only a size to a student; what paper cost, and what anybody's sheets
 * alone would have cost, is not told. */
static void hide_others(struct call *call, const struct layout *l,
    json_t *problem, json_t *plan, json_t *requests)
{
	json_t *pieces = json_object_get(problem, "pieces");
	json_t *stock = json_object_get(problem, "stock"), *entry = NULL;
	size_t i = 0;

	json_array_foreach(stock, i, entry)
	{
		json_object_del(entry, "price");
	}
	json_object_del(plan, "alone");
	for (i = 0; i < l->problem->n_pieces; i++) {
		json_object_del(json_array_get(pieces, i), "owner");
		if (l->members[i] == call->caller.member_id)
			continue;
		json_object_set_new(
		    json_array_get(pieces, i), "name", json_string(""));
		json_array_set_new(requests, i, json_null());
	}
}

static json_t *ids_json(const int64_t *ids, size_t n)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list, json_integer(ids[i]));
	return list;
}

static void on_layout(struct call *call, const struct layout *layouts, size_t n)
{
	const struct layout *l = &layouts[0];
	json_t *problem = NULL, *plan = NULL, *requests = NULL;

	if (n > 1) {
		call_fault(call, "?paper", "Name one paper: ?paper=ID.",
		    "this plan has %zu papers", n);
		(void)call_is_faulty(call);
		return;
	}
	problem = json_parsed(l->job->problem);
	plan = json_parsed(l->job->result);
	requests = ids_json(l->requests, l->problem->n_pieces);
	if (call->own_only)
		hide_others(call, l, problem, plan, requests);
	call_answer_json(call, 200,
	    json_pack("{s: o, s: o, s: o, s: o}", "problem", problem, "plan",
		plan, "requests", requests, "stock",
		ids_json(l->stock, l->problem->n_stock)));
}

void api_layout(struct call *call)
{
	int64_t paper_id =
	    call_query_number(call, "paper", 1, INT64_MAX / 16, 0);

	call_query_only(call, (const char *const[]){"paper", NULL});
	if (!call_is_faulty(call))
		act_plan_layout(call, paper_id, on_layout);
}
