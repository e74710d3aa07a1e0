/* SPDX-License-Identifier: MIT */
/*
 * api_estimate.c - what requests may cost.  A student sees what is their own.
 */
#include "api.h"

#include "act_estimate.h"
#include "act_people.h"
#include "json_in.h"
#include "json_out.h"

static const struct request_row *request_of(
    const struct estimate_view *v, int64_t request_id)
{
	for (size_t i = 0; i < v->n_requests; i++)
		if (v->requests[i].request_id == request_id)
			return &v->requests[i];
	return NULL;
}

static const char *name_of(const struct estimate_view *v, int64_t member_id)
{
	for (size_t i = 0; i < v->n_requests; i++)
		if (v->requests[i].member_id == member_id)
			return v->requests[i].member_name;
	return "";
}

static json_t *json_adds(const struct reckon_row *row)
{
	json_t *list = json_array();

	for (size_t i = 0; i < row->n_adds; i++)
		json_array_append_new(
		    list, json_pack("{s: I, s: I, s: I, s: b}", "request_id",
			      (json_int_t)row->adds[i].request_id, "adds_minor",
			      (json_int_t)row->adds[i].adds, "rolls",
			      (json_int_t)row->adds[i].rolls, "proven",
			      row->adds[i].proven));
	return list;
}

static json_t *json_hints(const struct call *call,
    const struct estimate_view *v, const struct reckon_row *row)
{
	json_t *list = json_array();

	for (size_t i = 0; i < row->n_hints; i++) {
		const struct reckon_hint *hint = &row->hints[i];
		const struct request_row *r = request_of(v, hint->request_id);
		length across = 0, along = 0;

		if (r == NULL) /* withdrawn since */
			continue;
		estimate_finished(r, hint, &across, &along);
		json_array_append_new(list,
		    json_pack(
			"{s: I, s: o, s: o, s: o, s: o, s: I, s: I, s: I}",
			"request_id", (json_int_t)hint->request_id, "across",
			json_length(call, across), "along",
			json_length(call, along), "torn_across",
			json_length(call, hint->across), "torn_along",
			json_length(call, hint->along), "fits",
			(json_int_t)hint->fits, "each_minor",
			(json_int_t)hint->each, "share_minor",
			(json_int_t)hint->share));
	}
	return list;
}

static json_t *json_compared(
    const struct estimate_view *v, const struct reckon_row *row)
{
	json_t *list = json_array();

	for (size_t p = 0; p < v->n_papers; p++) {
		const struct paper_row *paper = &v->papers[p];
		json_t *entries =
		    json_loads(paper->compare ? paper->compare : "[]", 0, NULL);
		json_t *entry = NULL;
		size_t i = 0;

		json_array_foreach(entries, i, entry)
		{
			struct compared c;

			if (!reckon_compare(entry, v->requests, v->n_requests,
				row->member_id, paper->paper_id, &c))
				continue;
			json_array_append_new(list,
			    json_pack("{s: I, s: s, s: I, s: I}", "paper_id",
				(json_int_t)paper->paper_id, "name", c.name,
				"packs", (json_int_t)c.packs, "cost_minor",
				(json_int_t)c.cost));
		}
		json_decref(entries);
	}
	return list;
}

static json_t *json_row(const struct call *call, const struct estimate_view *v,
    const struct reckon_row *row)
{
	return json_pack("{s: I, s: s, s: I, s: I, s: o, s: o, s: o, s: o}",
	    "member_id", (json_int_t)row->member_id, "member",
	    name_of(v, row->member_id), "share_minor", (json_int_t)row->share,
	    "filled_minor", (json_int_t)row->filled, "alone_minor",
	    row->has_alone ? json_integer(row->alone) : json_null(), "requests",
	    json_adds(row), "hints", json_hints(call, v, row), "compared",
	    json_compared(v, row));
}

static json_t *json_items(
    struct call *call, const struct estimate_view *v, int64_t only)
{
	json_t *items = json_array();

	for (size_t i = 0; v->reckoning && i < v->reckoning->n_rows; i++) {
		const struct reckon_row *row = &v->reckoning->rows[i];

		if (only == 0 || row->member_id == only)
			json_array_append_new(items, json_row(call, v, row));
	}
	return items;
}

static void answer(struct call *call, const struct estimate_view *v, int status)
{
	const struct reckoning *r = v->reckoning;
	int64_t only = call_only_member(call);

	call_answer_json(call, status,
	    json_pack("{s: s, s: b, s: s, s: o, s: o, s: o, s: o}", "state",
		estimate_state_name(v->state), "current", v->current,
		"currency", call->caller.studio.currency, "cost_minor",
		r ? json_integer(r->cost) : json_null(), "fresh_rolls",
		r ? json_integer(r->fresh_rolls) : json_null(), "ceiling",
		r ? json_string(ceiling_state_name(r->ceiling)) : json_null(),
		"items", json_items(call, v, only)));
}

static void on_shown(struct call *call, const struct estimate_view *v)
{
	answer(call, v, 200);
}

static void on_asked(struct call *call, const struct estimate_view *v)
{
	answer(call, v, 201);
}

void api_estimate(struct call *call)
{
	act_estimate(call, on_shown);
}

void api_estimate_ask(struct call *call)
{
	struct json_in in;

	json_in_begin(&in, call, call->body, "", (const char *const[]){NULL});
	if (!call_is_faulty(call))
		act_estimate_ask(call, on_asked);
}
