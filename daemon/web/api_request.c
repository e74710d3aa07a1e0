/* SPDX-License-Identifier: MIT */
/*
 * api_request.c - asking for sheets.
 */
#include "api.h"

#include "act_request.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"

static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct request_row *requests = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(&l->list, requests[i].request_id,
		    json_request(call, &requests[i]));
	api_list_end(call);
}

void api_requests(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_requests(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, call_only_member(call), l->ask,
		    on_requests, call);
}

static void answer_request(struct call *call, const struct request_row *request)
{
	call_etag(call, request->version);
	call_answer_json(call, 200, json_request(call, request));
}

void api_request(struct call *call)
{
	answer_request(call, &call->request);
}

static void on_added(struct call *call, const struct request_row *request)
{
	call_field(call, "Location",
	    call_printf(
		call, "/v1/requests/%lld", (long long)request->request_id));
	call_etag(call, request->version);
	call_answer_json(call, 201, json_request(call, request));
}

static void read_ask(struct call *call, struct ask *ask, enum need need)
{
	static const char *const known[] = {"paper_id", "count", "across",
	    "along", "margin", "turn", "note", NULL};
	static const char *const known_new[] = {"paper_id", "count", "across",
	    "along", "margin", "turn", "note", "member_id", NULL};
	struct json_in in;

	json_in_begin(
	    &in, call, call->body, "", need == NEEDED ? known_new : known);
	json_in_number(
	    &in, "paper_id", need, 1, INT64_MAX / 16, &ask->paper_id);
	json_in_number(
	    &in, "count", need, 1, call->caller.studio.count_max, &ask->count);
	json_in_length(
	    &in, "across", need, false, &ask->across_u, &ask->across_text);
	json_in_length(
	    &in, "along", need, false, &ask->along_u, &ask->along_text);
	json_in_length(
	    &in, "margin", MAY_LACK, true, &ask->margin_u, &ask->margin_text);
	json_in_bool(&in, "turn", MAY_LACK, &ask->turn);
	json_in_line(&in, "note", MAY_LACK, NOTE_MAX, &ask->note);
	if (need == NEEDED)
		json_in_number(&in, "member_id", MAY_LACK, 1, INT64_MAX / 16,
		    &ask->member_id);
}

void api_request_add(struct call *call)
{
	struct ask ask = {.margin_text = "0 in", .note = ""};

	read_ask(call, &ask, NEEDED);
	if (!call_is_faulty(call))
		act_request_add(call, &ask, on_added);
}

void api_request_change(struct call *call)
{
	struct ask ask = ask_of(&call->request);

	read_ask(call, &ask, MAY_LACK);
	if (!call_is_faulty(call))
		act_request_change(call, &ask, answer_request);
}

void api_request_withdraw(struct call *call)
{
	act_request_withdraw(call, call_answer_empty);
}
