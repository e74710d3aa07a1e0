/* SPDX-License-Identifier: MIT */
/*
 * key: make one (shown this once), list them without their secrets, make one void.
 */
#include <stdlib.h>
#include <string.h>

#include "body.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "status.h"

/* --for, or the one signed in. */
static bool whose(struct call *call, int64_t *id, struct err *err)
{
	return find_member_or_me(call, call_option(call, "for"), id, err);
}

bool cmd_key_list(struct call *call, struct err *err)
{
	int64_t member;
	json_t *list = NULL;
	bool ok = whose(call, &member, err) &&
		  call_list(call, &list, err, "/v1/members/%lld/keys",
		      (long long)member);
	if (ok)
		call_show_list(call, list, "There is no key.");
	json_decref(list);
	return ok;
}

/* With --to the key goes to a file and is left out of what is shown. */
static bool show_key(struct call *call, json_t *made, struct err *err)
{
	const char *file = call_option(call, "to");
	const char *key = reach_text(made, "key");
	if (!key_is_good(key))
		return cli_fail(
		    err, CLI_PROTOCOL, "the server handed out no key");
	if (file && !key_save(&call->settings, file, key, err))
		return false;
	if (file) {
		call_say(call,
		    "The key is in %s; give it to nobody but its member.",
		    file);
		json_object_del(made, "key");
	} else if (call_for_people(call)) {
		call_say(call,
		    "The key is shown this once; give it to nobody but its "
		    "member.");
	}
	call_show(call, made);
	return true;
}

bool cmd_key_add(struct call *call, struct err *err)
{
	int64_t member;
	const char *name = call_word(call, 0), *file = call_option(call, "to");
	json_t *made = NULL;
	json_t *body = json_pack("{s:s}", "name", name ? name : "command line");
	if (!body)
		return err_set(err, ERR_INPUT, "the name is not UTF-8");
	bool ok = (!file || key_can_save(&call->settings, file, err)) &&
		  whose(call, &member, err) &&
		  body_add_when(call, body, "expires", "expires_at", err) &&
		  call_post(call, json_incref(body), &made, err,
		      "/v1/members/%lld/keys", (long long)member) &&
		  show_key(call, made, err);
	json_decref(body);
	json_decref(made);
	return ok;
}

bool cmd_key_revoke(struct call *call, struct err *err)
{
	int64_t id;
	if (!find_number(call_word(call, 0), "key", &id, err) ||
	    !call_delete(call, err, "/v1/keys/%lld", (long long)id))
		return false;
	call_say(call, "Key %lld is void.", (long long)id);
	return true;
}
