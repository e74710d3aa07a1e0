/* SPDX-License-Identifier: MIT */
/*
 * ask, asked, change, withdraw, spoken: what members want.
 *
 *     tearshare ask 10 9x12.5in -m 1/2in
 *
 * Everything behind the count is the size, so it may be typed with blanks in it.
 */
#include <stdlib.h>

#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "status.h"

static bool read_count(const char *typed, json_t *body, struct err *err)
{
	char *end;
	long n = strtol(typed, &end, 10);
	if (*typed < '0' || *typed > '9' || *end || n > 1000000) {
		cli_fail(err, CLI_USAGE, "\"%.60s\" is not a count of sheets",
		    typed);
		return err_hint(
		    err, "The count comes first: tearshare ask 10 9x12in");
	}
	json_object_set_new(body, "count", json_integer(n));
	return true;
}

static bool add_size(
    struct call *call, json_t *body, const char *text, struct err *err)
{
	struct size size;
	if (!call_size(call, text, &size, err))
		return false;
	body_set_side(body, "across", &size, 0);
	body_set_side(body, "along", &size, 1);
	return true;
}

static bool add_member(struct call *call, json_t *body, struct err *err)
{
	int64_t id;
	const char *member = call_option(call, "for");
	if (!member)
		return true;
	if (!find_member(call, member, &id, err))
		return false;
	json_object_set_new(body, "member_id", json_integer(id));
	return true;
}

static void tell_request(struct call *call, const json_t *r)
{
	char margin[80] = "";
	if (reach_int(r, "margin/u"))
		snprintf(margin, sizeof(margin),
		    ", and %.40s margin on each side",
		    reach_text(r, "margin/text"));
	call_say(call, "Request %lld: %lld of %s x %s%s",
	    (long long)reach_int(r, "id"), (long long)reach_int(r, "count"),
	    reach_text(r, "finished/across/text"),
	    reach_text(r, "finished/along/text"), margin);
	if (reach_true(r, "snapped"))
		call_say(call,
		    "The torn size was taken up to the next mark of the "
		    "studio's ruler.");
}

static void show_request(struct call *call, const json_t *request)
{
	if (call_for_people(call))
		tell_request(call, request);
	call_show(call, request);
}

bool cmd_ask(struct call *call, struct err *err)
{
	int64_t paper = 0;
	json_t *body = json_object(), *workshop = NULL, *request = NULL;
	char *size = call_words_from(call, 1);
	bool ok = read_count(call_word(call, 0), body, err) &&
		  add_size(call, body, size, err) &&
		  find_workshop(call, NULL, "open", &workshop, err) &&
		  find_paper(call, call_option(call, "paper"), workshop, &paper,
		      err) &&
		  add_member(call, body, err) &&
		  body_add_length(call, body, "margin", "margin", err) &&
		  body_add_turn(call, body, err) &&
		  body_add_text(call, body, "note", "note", err);
	json_object_set_new(body, "paper_id", json_integer(paper));
	ok = ok && call_post(call, json_incref(body), &request, err,
		       "/v1/workshops/%lld/requests",
		       (long long)reach_int(workshop, "id"));
	if (ok)
		show_request(call, request);
	free(size);
	json_decref(body);
	json_decref(workshop);
	json_decref(request);
	return ok;
}

bool cmd_asked(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok =
	    find_workshop_id(call, call_word(call, 0), NULL, &workshop, err) &&
	    call_list(call, &list, err, "/v1/workshops/%lld/requests",
		(long long)workshop);
	if (ok)
		call_show_list(call, list, "Nothing was asked for yet.");
	json_decref(list);
	return ok;
}

static bool add_changes(struct call *call, json_t *body, struct err *err)
{
	int64_t paper;
	const char *size = call_option(call, "size");
	const char *name = call_option(call, "paper");
	if (size && !add_size(call, body, size, err))
		return false;
	if (name) {
		if (!find_paper(call, name, NULL, &paper, err))
			return false;
		json_object_set_new(body, "paper_id", json_integer(paper));
	}
	return body_add_number(call, body, "count", "count", err) &&
	       body_add_length(call, body, "margin", "margin", err) &&
	       body_add_turn(call, body, err) &&
	       body_add_text(call, body, "note", "note", err) &&
	       body_is_filled(call, body, err);
}

bool cmd_change(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *request = NULL;
	bool ok = find_number(call_word(call, 0), "request", &id, err) &&
		  add_changes(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &request, err,
		      "/v1/requests/%lld", (long long)id);
	if (ok)
		show_request(call, request);
	json_decref(body);
	json_decref(request);
	return ok;
}

bool cmd_withdraw(struct call *call, struct err *err)
{
	int64_t id;
	if (!find_number(call_word(call, 0), "request", &id, err) ||
	    !call_change(call, "DELETE", NULL, NULL, err, "/v1/requests/%lld",
		(long long)id))
		return false;
	call_say(call, "Request %lld is withdrawn.", (long long)id);
	return true;
}

bool cmd_spoken(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0), "open closed",
		      &workshop, err) &&
		  call_get(call, &list, err, "/v1/workshops/%lld/spoken",
		      (long long)workshop);
	if (ok)
		call_show_list(call, list, "No paper is spoken for yet.");
	json_decref(list);
	return ok;
}
