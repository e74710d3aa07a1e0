/* SPDX-License-Identifier: MIT */
/*
 * invite: the link by which a class joins.  It is shown this once.
 */
#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"

bool cmd_invite(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *body = json_object(), *made = NULL;
	bool ok = find_workshop_id(
		      call, call_word(call, 0), "open", &workshop, err) &&
		  body_add_number(call, body, "uses", "uses_max", err) &&
		  body_add_when(call, body, "expires", "expires_at", err) &&
		  call_post(call, json_incref(body), &made, err,
		      "/v1/workshops/%lld/invitations", (long long)workshop);
	if (ok) {
		if (call_for_people(call))
			call_say(call, "The link is shown this once; whoever "
				       "has it may join:");
		call_show(call, made);
	}
	json_decref(body);
	json_decref(made);
	return ok;
}

bool cmd_invite_list(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok = find_workshop_id(
		      call, call_word(call, 0), "open", &workshop, err) &&
		  call_list(call, &list, err, "/v1/workshops/%lld/invitations",
		      (long long)workshop);
	if (ok)
		call_show_list(call, list, "There is no invitation.");
	json_decref(list);
	return ok;
}

bool cmd_invite_revoke(struct call *call, struct err *err)
{
	int64_t id;
	if (!find_number(call_word(call, 0), "invitation", &id, err) ||
	    !call_delete(call, err, "/v1/invitations/%lld", (long long)id))
		return false;
	call_say(call, "Invitation %lld is void.", (long long)id);
	return true;
}
