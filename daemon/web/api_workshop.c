/* SPDX-License-Identifier: MIT */
/*
 * api_workshop.c - workshops and who takes part.
 */
#include "api.h"

#include "act_people.h"
#include "act_workshop.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"

static void on_workshops(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct workshop_row *workshops = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, workshops[i].workshop_id,
		    json_workshop(&workshops[i]));
	api_list_end(call);
}

void api_workshops(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_workshops(call->tx, call->caller.studio_id,
		    call_only_member(call), l->ask, on_workshops, call);
}

static void answer_workshop(
    struct call *call, const struct workshop_row *workshop)
{
	call_etag(call, workshop->version);
	call_answer_json(call, 200, json_workshop(workshop));
}

void api_workshop(struct call *call)
{
	answer_workshop(call, &call->workshop);
}

static void on_added(struct call *call, const struct workshop_row *workshop)
{
	call_field(call, "Location",
	    call_printf(
		call, "/v1/workshops/%lld", (long long)workshop->workshop_id));
	call_etag(call, workshop->version);
	call_answer_json(call, 201, json_workshop(workshop));
}

static void read_workshop(
    struct call *call, struct workshop_in *w, enum need need)
{
	static const char *const known[] = {"name", "closes_at", "starts_on",
	    "days", "flat_on", "papers", "stages", "share_policy",
	    "share_ceiling", "shipping_each", NULL};
	struct json_in in;

	json_in_begin(&in, call, call->body, "", known);
	json_in_name(&in, "name", need, NAME_MAX_SIGNS, &w->name);
	json_in_instant(&in, "closes_at", need, &w->closes_at);
	json_in_day(&in, "starts_on", need, &w->starts_on);
	json_in_number(&in, "days", MAY_LACK, 1, 60, &w->days);
	json_in_day(&in, "flat_on", MAY_BE_NULL, &w->flat_on);
	json_in_ids(
	    &in, "papers", need, WORKSHOP_PAPERS_MAX, w->papers, &w->n_papers);
	json_in_number(&in, "stages", MAY_LACK, 2, 3, &w->stages);
	json_in_word(
	    &in, "share_policy", MAY_LACK, share_policies, &w->share_policy);
	json_in_bool(&in, "share_ceiling", MAY_LACK, &w->share_ceiling);
	json_in_bool(&in, "shipping_each", MAY_LACK, &w->shipping_each);
}

void api_workshop_add(struct call *call)
{
	struct workshop_in w = workshop_in_new(call);

	read_workshop(call, &w, NEEDED);
	if (!call_is_faulty(call))
		act_workshop_add(call, &w, on_added);
}

void api_workshop_change(struct call *call)
{
	struct workshop_in w;

	workshop_in_of(call, &call->workshop, &w);
	read_workshop(call, &w, MAY_LACK);
	if (!call_is_faulty(call))
		act_workshop_change(call, &w, answer_workshop);
}

/* A body that holds nothing: {}. */
static bool read_nothing(struct call *call)
{
	struct json_in in;

	json_in_begin(&in, call, call->body, "", (const char *const[]){NULL});
	return !call_is_faulty(call);
}

void api_close(struct call *call)
{
	if (read_nothing(call))
		act_workshop_close(call, answer_workshop);
}

void api_reopen(struct call *call)
{
	const char *closes_at = NULL;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"closes_at", NULL});
	json_in_instant(&in, "closes_at", MAY_LACK, &closes_at);
	if (!call_is_faulty(call))
		act_workshop_reopen(call, closes_at, answer_workshop);
}

void api_torn(struct call *call)
{
	if (read_nothing(call))
		act_workshop_torn(call, answer_workshop);
}

/* ---- who takes part ---- */

void api_enrolled(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_enrolled(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, l->ask, api_list_on_members,
		    call);
}

static void on_enrol(
    struct call *call, const struct member *member, bool is_new)
{
	call_answer_json(call, is_new ? 201 : 200, json_member(call, member));
}

void api_enrol(struct call *call)
{
	int64_t member_id = 0;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"member_id", NULL});
	json_in_number(&in, "member_id", NEEDED, 1, INT64_MAX / 16, &member_id);
	if (!call_is_faulty(call))
		act_workshop_enrol(call, member_id, on_enrol);
}

/* ---- spoken for ---- */

static void on_spoken(struct call *call, const struct spoken *spoken, size_t n)
{
	json_t *items = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(items, json_spoken(call, &spoken[i]));
	call_answer_json(call, 200, json_pack("{s: o}", "items", items));
}

void api_spoken(struct call *call)
{
	act_workshop_spoken(call, on_spoken);
}
