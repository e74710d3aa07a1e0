/* SPDX-License-Identifier: MIT */
/*
 * api_people.c - members and their keys.
 */
#include "api.h"

#include "act_people.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"

/* ---- members ---- */

void api_list_on_members(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct member *members = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, members[i].member_id,
		    json_member(call, &members[i]));
	api_list_end(call);
}

void api_members(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_members(call->tx, call->caller.studio_id, l->ask,
		    api_list_on_members, call);
}

static void on_member_added(struct call *call, const struct member *member)
{
	call_field(call, "Location",
	    call_printf(
		call, "/v1/members/%lld", (long long)member->member_id));
	call_etag(call, member->version);
	call_answer_json(call, 201, json_member(call, member));
}

void api_member_add(struct call *call)
{
	struct member m = {
	    .studio_id = call->caller.studio_id,
	    .contact = "",
	    .roles = ROLE_STUDENT,
	    .active = true,
	};
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){
		"name", "contact", "roles", "guardian", NULL});
	json_in_name(&in, "name", NEEDED, NAME_MAX_SIGNS, &m.name);
	json_in_line(&in, "contact", MAY_LACK, TEXT_MAX_SIGNS, &m.contact);
	json_in_roles(&in, "roles", MAY_LACK, &m.roles);
	json_in_bool(&in, "guardian", MAY_LACK, &m.guardian);
	if (!call_is_faulty(call))
		act_member_add(call, &m, on_member_added);
}

static void answer_member(struct call *call, const struct member *member)
{
	call_etag(call, member->version);
	call_answer_json(call, 200, json_member(call, member));
}

void api_member(struct call *call)
{
	answer_member(call, &call->member);
}

void api_member_change(struct call *call)
{
	struct member m = call->member;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"name", "contact", "roles", "guardian",
		"payer_id", "active", NULL});
	json_in_name(&in, "name", MAY_LACK, NAME_MAX_SIGNS, &m.name);
	json_in_line(&in, "contact", MAY_LACK, TEXT_MAX_SIGNS, &m.contact);
	json_in_roles(&in, "roles", MAY_LACK, &m.roles);
	json_in_bool(&in, "guardian", MAY_LACK, &m.guardian);
	if (json_is_null(json_object_get(call->body, "payer_id")))
		m.payer_id = 0;
	json_in_number(
	    &in, "payer_id", MAY_BE_NULL, 1, INT64_MAX / 16, &m.payer_id);
	json_in_bool(&in, "active", MAY_LACK, &m.active);
	if (!call_is_faulty(call))
		act_member_change(call, &m, answer_member);
}

/* ---- keys ---- */

static void on_keys(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct key *keys = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, keys[i].key_id, json_key(&keys[i]));
	api_list_end(call);
}

void api_keys(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_keys(call->tx, call->caller.studio_id,
		    call->member.member_id, l->ask, on_keys, call);
}

static void on_key_added(
    struct call *call, const struct key *key, const char *secret)
{
	json_t *json = json_key(key);

	json_object_set_new(json, "key", json_string(secret));
	call_answer_json(call, 201, json);
}

void api_key_add(struct call *call)
{
	const char *name = NULL, *expires_at = NULL;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"name", "expires_at", NULL});
	json_in_name(&in, "name", NEEDED, NAME_MAX_SIGNS, &name);
	json_in_instant(&in, "expires_at", MAY_BE_NULL, &expires_at);
	if (!call_is_faulty(call))
		act_key_add(call, name, expires_at, on_key_added);
}

void api_key_revoke(struct call *call)
{
	act_key_revoke(call, call_answer_empty);
}
