/* SPDX-License-Identifier: MIT */
/*
 * member: who is known to the studio, and what is known of them.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "save.h"
#include "settings_file.h"
#include "status.h"

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

/* ---- what is kept of a member ---- */

/* --to: the JSON, for nobody but its owner to read. */
static bool keep_rows(struct call *call, const json_t *rows, struct err *err)
{
	const char *file = call_option(call, "to");
	char *text = json_dumps(rows, JSON_INDENT(2));
	bool ok = file_write_all(file, text, err);
	free(text);
	if (ok)
		call_say(call, "Written to %s", file);
	return ok;
}

static void show_rows(struct call *call, const json_t *answer)
{
	const json_t *rows = json_object_get(answer, "rows");
	if (call->pen.style == STYLE_PLAIN)
		table_write(&call->pen, call->command->columns, rows);
	else
		json_write(call->pen.out, answer);
}

bool cmd_member_export(struct call *call, struct err *err)
{
	int64_t id;
	char path[64];
	json_t *answer = NULL;
	if (!find_member_or_me(call, call_word(call, 0), &id, err))
		return false;
	snprintf(path, sizeof(path), "/v1/members/%lld/export", (long long)id);
	if (save_is_asked(call) && !save_form(call, path, err))
		return false;
	if (save_is_asked(call) && !call_option(call, "to"))
		return true;
	bool ok = call_get(call, &answer, err, "%s", path);
	if (ok && call_option(call, "to"))
		ok = keep_rows(call, answer, err);
	else if (ok)
		show_rows(call, answer);
	json_decref(answer);
	return ok;
}

/* ---- erasing ---- */

static json_t *as_list(const json_t *items)
{
	return json_pack("{s:O}", "items", items);
}

static void show_kept(struct call *call, const json_t *answer)
{
	json_t *kept = as_list(json_object_get(answer, "kept"));
	json_t *mentions = as_list(json_object_get(answer, "mentions"));
	if (call->pen.style == STYLE_JSON) {
		call_show(call, answer);
	} else if (!call_for_people(call)) {
		call_show_list(call, kept, "");
	} else {
		fprintf(call->pen.out,
		    "Member %lld is a number now. Gone: name and contact; "
		    "keys: %lld; sign-ins: %lld; notes: %lld. Kept:\n\n",
		    (long long)reach_int(answer, "member/id"),
		    (long long)reach_int(answer, "erased/keys"),
		    (long long)reach_int(answer, "erased/sessions"),
		    (long long)reach_int(answer, "erased/notes"));
		call_show_list(call, kept, "Nothing.");
		if (json_array_size(json_object_get(answer, "mentions"))) {
			fputs("\nSomebody wrote the name or contact into "
			      "these; look whether it must go:\n\n",
			    call->pen.out);
			call_show_as(call, columns_mention, mentions);
		}
	}
	json_decref(kept);
	json_decref(mentions);
}

bool cmd_member_erase(struct call *call, struct err *err)
{
	int64_t id;
	json_t *answer = NULL;
	if (!find_member(call, call_word(call, 0), &id, err))
		return false;
	if (!call_option(call, "yes")) {
		cli_fail(err, CLI_USAGE,
		    "name, contact, keys and notes of member %lld would go "
		    "for good",
		    (long long)id);
		return err_hint(err,
		    "Keep what is theirs first (tearshare member export %lld), "
		    "then add --yes.",
		    (long long)id);
	}
	bool ok = call_change(call, "DELETE", NULL, &answer, err,
	    "/v1/members/%lld", (long long)id);
	if (ok)
		show_kept(call, answer);
	json_decref(answer);
	return ok;
}
