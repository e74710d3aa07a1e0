/* SPDX-License-Identifier: MIT */
/*
 * api_join.c - invitations.
 */
#include "api.h"

#include "act_people.h"
#include "act_workshop.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"

static void on_invitations(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct invitation *invitations = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, invitations[i].invitation_id,
		    json_invitation(&invitations[i]));
	api_list_end(call);
}

void api_invitations(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_invitations(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, l->ask, on_invitations, call);
}

static void on_added(struct call *call, const struct invitation *invitation,
    const char *code, const char *token)
{
	json_t *json = json_invitation(invitation);

	json_object_set_new(json, "code", json_string(code));
	json_object_set_new(
	    json, "link", json_sprintf("%s/join/%s", call_origin(call), token));
	call_answer_json(call, 201, json);
}

void api_invitation_add(struct call *call)
{
	const char *expires_at = NULL;
	int64_t uses_max = 100;
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    (const char *const[]){"expires_at", "uses_max", NULL});
	json_in_instant(&in, "expires_at", MAY_BE_NULL, &expires_at);
	json_in_number(
	    &in, "uses_max", MAY_LACK, 1, INVITATION_USES_MAX, &uses_max);
	if (!call_is_faulty(call))
		act_invitation_add(call, expires_at, uses_max, on_added);
}

void api_invitation_revoke(struct call *call)
{
	act_invitation_revoke(call, call_answer_empty);
}

static void on_joined(struct call *call, const struct joined *joined)
{
	call_answer_json(call, joined->key == NULL ? 200 : 201,
	    json_pack("{s: o, s: o, s: o}", "member",
		json_member(call, &joined->member), "workshop",
		json_workshop(&joined->workshop), "key",
		json_text(joined->key)));
}

void api_join(struct call *call)
{
	bool nobody = call->caller.member_id == 0;
	struct join_in join = {.want_key = true};
	struct json_in in;

	json_in_begin(&in, call, call->body, "",
	    nobody ? (const char *const[]){"code", "name", "contact",
			 "guardian", NULL}
		   : (const char *const[]){"code", NULL});
	json_in_line(&in, "code", NEEDED, 60, &join.code);
	if (nobody) {
		json_in_name(&in, "name", NEEDED, NAME_MAX_SIGNS, &join.name);
		json_in_line(
		    &in, "contact", MAY_LACK, TEXT_MAX_SIGNS, &join.contact);
		json_in_bool(&in, "guardian", MAY_LACK, &join.guardian);
	}
	if (!call_is_faulty(call))
		act_join(call, &join, on_joined);
}
