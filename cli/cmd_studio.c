/* SPDX-License-Identifier: MIT */
/*
 * studio, events: the house itself and what happened in it.
 */
#include "body.h"
#include "command.h"
#include "find.h"

bool cmd_studio(struct call *call, struct err *err)
{
	const json_t *studio = call_studio(call, err);
	if (studio)
		call_show(call, studio);
	return studio != NULL;
}

static bool add_lengths(struct call *call, json_t *body, struct err *err)
{
	static const char *const names[] = {
	    "ruler", "sliver", "oversize", "straightedge", "table", "keep"};
	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++)
		if (!body_add_length(call, body, names[i], names[i], err))
			return false;
	return true;
}

static bool add_prints(struct call *call, json_t *body, struct err *err)
{
	static const char *const names[][2] = {{"full-names", "full_names"},
	    {"language", "language"}, {"pull", "pull"}, {"rules", "rules"},
	    {"sheet-page", "sheet_page"}, {"label-grid", "label_grid"},
	    {"payee-name", "payee_name"}, {"payee-account", "payee_account"},
	    {"locale", "locale"}};

	for (size_t i = 0; i < sizeof(names) / sizeof(*names); i++)
		if (!body_add_text(call, body, names[i][0], names[i][1], err))
			return false;
	return body_add_number(
		   call, body, "pay-within", "pay_within_days", err) &&
	       body_add_number(
		   call, body, "forget-after", "forget_days", err) &&
	       body_add_yes(call, body, "both-measures", "both_measures", err);
}

bool cmd_studio_change(struct call *call, struct err *err)
{
	json_t *body = json_object(), *studio = NULL;
	bool ok = body_add_text(call, body, "name", "name", err) &&
		  body_add_text(call, body, "currency", "currency", err) &&
		  body_add_text(call, body, "time-zone", "time_zone", err) &&
		  body_add_text(call, body, "measure", "measure", err) &&
		  add_lengths(call, body, err) &&
		  body_add_number(call, body, "stages", "stages", err) &&
		  body_add_text(call, body, "side-up", "side_up", err) &&
		  body_add_number(
		      call, body, "flattening-days", "flattening_days", err) &&
		  body_add_number(call, body, "count-max", "count_max", err) &&
		  body_add_yes(
		      call, body, "names-on-sheets", "names_on_sheets", err) &&
		  body_add_sharing(call, body, err) &&
		  add_prints(call, body, err) &&
		  body_is_filled(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &studio, err,
		      "/v1/studio");
	if (ok)
		call_show(call, studio);
	json_decref(body);
	json_decref(studio);
	return ok;
}

bool cmd_events(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool one = call_option(call, "workshop") || call_word(call, 0);
	bool ok;
	if (one)
		ok = find_workshop_id(
			 call, call_word(call, 0), NULL, &workshop, err) &&
		     call_list(call, &list, err, "/v1/events?workshop=%lld",
			 (long long)workshop);
	else
		ok = call_list(call, &list, err, "/v1/events");
	if (ok)
		call_show_list(call, list, "Nothing has happened yet.");
	json_decref(list);
	return ok;
}
