/* SPDX-License-Identifier: MIT */
/*
 * workshop: set up, show, close, reopen, say that the paper is torn.
 */
#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"

/* --paper, each one, as "papers". */
static bool add_papers(struct call *call, json_t *body, struct err *err)
{
	json_t *papers = json_array();
	const char *name;
	int64_t id;
	bool ok = true;
	for (size_t at = 0; ok && (name = call_each(call, "paper", &at));) {
		ok = find_paper(call, name, NULL, &id, err);
		if (ok)
			json_array_append_new(papers, json_integer(id));
	}
	if (ok && json_array_size(papers))
		json_object_set(body, "papers", papers);
	json_decref(papers);
	return ok;
}

static bool add_terms(struct call *call, json_t *body, struct err *err)
{
	return body_add_when(call, body, "closes", "closes_at", err) &&
	       body_add_day(call, body, "starts", "starts_on", err) &&
	       body_add_number(call, body, "days", "days", err) &&
	       body_add_day(call, body, "flat", "flat_on", err) &&
	       body_add_number(call, body, "stages", "stages", err) &&
	       body_add_sharing(call, body, err) && add_papers(call, body, err);
}

bool cmd_workshop_list(struct call *call, struct err *err)
{
	json_t *list = NULL;
	bool ok = call_list(call, &list, err, "/v1/workshops");
	if (ok)
		call_show_list(call, list, "There is no workshop yet.");
	json_decref(list);
	return ok;
}

static bool show_and_free(struct call *call, json_t *workshop, bool ok)
{
	if (ok)
		call_show(call, workshop);
	json_decref(workshop);
	return ok;
}

bool cmd_workshop_show(struct call *call, struct err *err)
{
	json_t *workshop = NULL;
	bool ok = find_workshop(call, call_word(call, 0), NULL, &workshop, err);
	return show_and_free(call, workshop, ok);
}

bool cmd_workshop_use(struct call *call, struct err *err)
{
	return cmd_workshop_show(call, err);
}

static bool add_only_paper(struct call *call, json_t *body, struct err *err)
{
	int64_t id;
	json_t *list = NULL;
	if (json_object_get(body, "papers"))
		return true;
	if (!call_list(call, &list, err, "/v1/papers"))
		return false;
	const json_t *items = json_object_get(list, "items");
	bool ok = json_array_size(items) == 1;
	id = reach_int(json_array_get(items, 0), "id");
	json_decref(list);
	if (ok) {
		json_object_set_new(
		    body, "papers", json_pack("[I]", (json_int_t)id));
		return true;
	}
	err_set(err, ERR_INPUT, "which papers?");
	return err_hint(
	    err, "Name each with --paper; see them: tearshare paper list");
}

bool cmd_workshop_add(struct call *call, struct err *err)
{
	json_t *workshop = NULL;
	json_t *body = json_pack("{s:s}", "name", call_word(call, 0));
	if (!body)
		return err_set(err, ERR_INPUT, "the name is not UTF-8");
	bool ok = add_terms(call, body, err) &&
		  add_only_paper(call, body, err) &&
		  call_post(call, json_incref(body), &workshop, err,
		      "/v1/workshops") &&
		  find_remember(call, reach_int(workshop, "id"), err);
	json_decref(body);
	return show_and_free(call, workshop, ok);
}

bool cmd_workshop_change(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *workshop = NULL;
	bool ok = find_workshop_id(
		      call, call_word(call, 0), "open closed", &id, err) &&
		  body_add_text(call, body, "name", "name", err) &&
		  add_terms(call, body, err) &&
		  body_is_filled(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &workshop, err,
		      "/v1/workshops/%lld", (long long)id);
	json_decref(body);
	return show_and_free(call, workshop, ok);
}

bool cmd_workshop_members(struct call *call, struct err *err)
{
	int64_t id;
	json_t *list = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0), NULL, &id, err) &&
		  call_list(call, &list, err, "/v1/workshops/%lld/members",
		      (long long)id);
	if (ok)
		call_show_list(call, list, "Nobody takes part yet.");
	json_decref(list);
	return ok;
}

bool cmd_workshop_admit(struct call *call, struct err *err)
{
	int64_t workshop, member;
	json_t *taken = NULL;
	bool ok =
	    find_workshop_id(call, NULL, "open", &workshop, err) &&
	    find_member(call, call_word(call, 0), &member, err) &&
	    call_post(call, json_pack("{s:I}", "member_id", (json_int_t)member),
		&taken, err, "/v1/workshops/%lld/members", (long long)workshop);
	return show_and_free(call, taken, ok);
}

/* The three steps that only name the workshop. */
static bool step(struct call *call, const char *states, const char *what,
    json_t *body, struct err *err)
{
	int64_t id;
	json_t *workshop = NULL;
	bool ok =
	    find_workshop_id(call, call_word(call, 0), states, &id, err) &&
	    call_post(call, json_incref(body), &workshop, err,
		"/v1/workshops/%lld/%s", (long long)id, what);
	json_decref(body);
	return show_and_free(call, workshop, ok);
}

bool cmd_workshop_close(struct call *call, struct err *err)
{
	return step(call, "open", "close", json_object(), err);
}

bool cmd_workshop_reopen(struct call *call, struct err *err)
{
	json_t *body = json_object();
	if (!body_add_when(call, body, "closes", "closes_at", err)) {
		json_decref(body);
		return false;
	}
	return step(call, "closed planned", "reopen", body, err);
}

bool cmd_workshop_torn(struct call *call, struct err *err)
{
	return step(call, "planned", "torn", json_object(), err);
}
