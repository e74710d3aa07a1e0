/* SPDX-License-Identifier: MIT */
/*
 * member: who is known to the studio.
 */
#include <string.h>

#include "body.h"
#include "command.h"
#include "find.h"

bool cmd_member_list(struct call *call, struct err *err)
{
	json_t *list = NULL;
	bool ok = call_list(call, &list, err, "/v1/members");
	if (ok)
		call_show_list(call, list, "There is no member yet.");
	json_decref(list);
	return ok;
}

/* "none": the member's own account. */
static bool add_payer(struct call *call, json_t *body, struct err *err)
{
	const char *payer = call_option(call, "payer");
	int64_t id;
	if (!payer)
		return true;
	if (strcmp(payer, "none") == 0)
		json_object_set_new(body, "payer_id", json_null());
	else if (find_member(call, payer, &id, err))
		json_object_set_new(body, "payer_id", json_integer(id));
	else
		return false;
	return true;
}

static bool add_particulars(struct call *call, json_t *body, struct err *err)
{
	return body_add_text(call, body, "name", "name", err) &&
	       body_add_text(call, body, "contact", "contact", err) &&
	       body_add_roles(call, body, err) &&
	       body_add_yes(call, body, "guardian", "guardian", err) &&
	       add_payer(call, body, err) &&
	       body_add_yes(call, body, "active", "active", err);
}

bool cmd_member_add(struct call *call, struct err *err)
{
	json_t *member = NULL;
	json_t *body = json_pack("{s:s}", "name", call_word(call, 0));
	if (!body)
		return err_set(err, ERR_INPUT, "the name is not UTF-8");
	bool ok =
	    add_particulars(call, body, err) &&
	    call_post(call, json_incref(body), &member, err, "/v1/members");
	if (ok)
		call_show(call, member);
	json_decref(body);
	json_decref(member);
	return ok;
}

bool cmd_member_change(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *member = NULL;
	bool ok = find_member(call, call_word(call, 0), &id, err) &&
		  add_particulars(call, body, err) &&
		  body_is_filled(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &member, err,
		      "/v1/members/%lld", (long long)id);
	if (ok)
		call_show(call, member);
	json_decref(body);
	json_decref(member);
	return ok;
}
