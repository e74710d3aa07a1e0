/* SPDX-License-Identifier: MIT */
/*
 * api_studio.c - health, the pages of errors, who I am, the studio, what happened.
 */
#include "api.h"

#include <string.h>

#include "act_people.h"
#include "answer.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"
#include "text.h"
#include "web_inner.h"

void api_health(struct call *call)
{
	if (store_is_up(call->web->store))
		call_answer_json(
		    call, 200, json_pack("{s: s}", "status", "ok"));
	else
		call_refuse(call, ERR_BUSY, "Try again in a moment.",
		    "could not reach the database");
}

/* Plain text: the type of a problem is read by people who write programs. */
void api_problem_page(struct call *call)
{
	int trouble = trouble_from_name(call->text);
	const struct trouble_kind *kind = NULL;
	char *text = NULL;

	if (trouble < 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	kind = trouble_kind((enum trouble)trouble);
	text = call_printf(
	    call, "%s (%d)\n\n%s\n", kind->title, kind->status, kind->about);
	call_answer(call, 200, "text/plain; charset=utf-8", text, strlen(text));
}

/* ---- who I am ---- */

static void on_me(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(
		    call, ERR_UNKNOWN, NULL, "the key is not a good one");
		return;
	}
	call_answer_json(call, 200,
	    json_pack("{s: o, s: o, s: o}", "member", json_member(call, rows),
		"studio", json_studio(call, &call->caller.studio), "roles",
		json_roles(call->caller.roles)));
}

void api_me(struct call *call)
{
	store_member(call->tx, call->caller.studio_id, call->caller.member_id,
	    on_me, call);
}

/* ---- the studio ---- */

static void answer_studio(struct call *call, const struct studio *studio)
{
	call_etag(call, studio->version);
	call_answer_json(call, 200, json_studio(call, studio));
}

void api_studio(struct call *call)
{
	answer_studio(call, &call->caller.studio);
}

void api_studio_change(struct call *call)
{
	static const char *const known[] = {"name", "currency", "time_zone",
	    "measure", "ruler", "sliver", "oversize", "stages", "straightedge",
	    "table", "keep", "side_up", "flattening_days", "count_max",
	    "names_on_sheets", "share_policy", "share_ceiling", "shipping_each",
	    "full_names", "language", "both_measures", "pull", "rules",
	    "sheet_page", "label_grid", "payee_name", "payee_account",
	    "pay_within_days", "locale", "forget_days", NULL};
	static const char *const measures[] = {"in", "mm", "cm", NULL};
	struct studio s = call->caller.studio;
	struct json_in in;

	json_in_begin(&in, call, call->body, "", known);
	json_in_name(&in, "name", MAY_LACK, NAME_MAX_SIGNS, &s.name);
	json_in_line(&in, "currency", MAY_LACK, 3, &s.currency);
	json_in_name(&in, "time_zone", MAY_LACK, 64, &s.time_zone);
	json_in_word(&in, "measure", MAY_LACK, measures, &s.measure);
	json_in_length(&in, "ruler", MAY_LACK, false, &s.ruler_u, NULL);
	json_in_length(&in, "sliver", MAY_LACK, true, &s.sliver_u, NULL);
	json_in_length(&in, "oversize", MAY_LACK, true, &s.oversize_u, NULL);
	json_in_number(&in, "stages", MAY_LACK, 2, 3, &s.stages);
	json_in_length(
	    &in, "straightedge", MAY_LACK, true, &s.straightedge_u, NULL);
	json_in_length(&in, "table", MAY_LACK, true, &s.table_u, NULL);
	json_in_length(&in, "keep", MAY_LACK, true, &s.keep_u, NULL);
	json_in_line(&in, "side_up", MAY_LACK, TEXT_MAX_SIGNS, &s.side_up);
	json_in_number(
	    &in, "flattening_days", MAY_LACK, 0, 365, &s.flattening_days);
	json_in_number(&in, "count_max", MAY_LACK, 1, 10000, &s.count_max);
	json_in_bool(&in, "names_on_sheets", MAY_LACK, &s.names_on_sheets);
	json_in_word(
	    &in, "share_policy", MAY_LACK, share_policies, &s.share_policy);
	json_in_bool(&in, "share_ceiling", MAY_LACK, &s.share_ceiling);
	json_in_bool(&in, "shipping_each", MAY_LACK, &s.shipping_each);
	json_in_word(
	    &in, "full_names", MAY_LACK, full_names_words, &s.full_names);
	json_in_line(&in, "language", MAY_LACK, 3, &s.language);
	json_in_bool(&in, "both_measures", MAY_LACK, &s.both_measures);
	json_in_word(&in, "pull", MAY_LACK, pull_words, &s.pull);
	json_in_line(&in, "rules", MAY_LACK, TEXT_MAX_SIGNS, &s.rules);
	json_in_word(
	    &in, "sheet_page", MAY_LACK, sheet_page_words, &s.sheet_page);
	json_in_line(
	    &in, "label_grid", MAY_LACK, TEXT_MAX_SIGNS, &s.label_grid);
	json_in_line(&in, "payee_name", MAY_LACK, 70, &s.payee_name);
	json_in_line(
	    &in, "payee_account", MAY_LACK, NAME_MAX_SIGNS, &s.payee_account);
	json_in_number(
	    &in, "pay_within_days", MAY_LACK, 0, 365, &s.pay_within_days);
	json_in_line(&in, "locale", MAY_LACK, 6, &s.locale);
	json_in_number(&in, "forget_days", MAY_LACK, 0, 36500, &s.forget_days);
	if (!call_is_faulty(call))
		act_studio_change(call, &s, answer_studio);
}

/* ---- events ---- */

static void on_events(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct event_row *events = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(
		    &l->list, events[i].event_id, json_event(&events[i]));
	api_list_end(call);
}

static void on_workshop(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct workshop_row *workshop = rows;

	if (call_failed(call, err))
		return;
	if (n == 0)
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
	else
		store_events(call->tx, call->caller.studio_id,
		    workshop->workshop_id, l->ask, on_events, call);
}

void api_events(struct call *call)
{
	int64_t workshop_id =
	    call_query_number(call, "workshop", 1, INT64_MAX / 16, 0);
	struct api_list *l = api_list_begin(
	    call, (const char *const[]){"workshop", "limit", "after", NULL});

	if (l == NULL)
		return;
	if (workshop_id == 0)
		store_events(call->tx, call->caller.studio_id, 0, l->ask,
		    on_events, call);
	else
		store_workshop(call->tx, call->caller.studio_id, workshop_id,
		    on_workshop, call);
}
