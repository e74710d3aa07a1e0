/* SPDX-License-Identifier: MIT */
/*
 * estimate: what the sheets may cost before the closing time; asks for a new reckoning where
 * requests have changed, waits for it, and says what could be changed to pay less.
 */
#include <string.h>
#include <time.h>

#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "measure.h"
#include "reach.h"

static bool is_working(const json_t *estimate)
{
	return strcmp(reach_text(estimate, "state"), "working") == 0;
}

static bool wait_for(
    struct call *call, int64_t workshop, json_t **estimate, struct err *err)
{
	struct timespec pause = {0, 200000000};
	bool ok = true;

	while (ok && is_working(*estimate)) {
		call_progress(call, "reckoning");
		nanosleep(&pause, NULL);
		json_decref(*estimate);
		*estimate = NULL;
		ok = call_get(call, estimate, err,
		    "/v1/workshops/%lld/estimate", (long long)workshop);
	}
	call_progress(call, "");
	if (ok && strcmp(reach_text(*estimate, "state"), "failed") == 0)
		ok = err_set(err, ERR_CONFLICT,
		    "some paper cannot be planned as it is asked for");
	return ok;
}

/* "Request 7 tips a new roll: it adds 192.00 USD." */
static void tell_tips(
    struct call *call, const json_t *item, const char *currency)
{
	size_t i;
	const json_t *request;
	char amount[MONEY_TEXT_MAX];

	json_array_foreach(json_object_get(item, "requests"), i, request)
	{
		if (reach_int(request, "rolls") < 1)
			continue;
		fprintf(call->pen.out,
		    "Request %lld tips a new roll: it adds %s%s.\n",
		    (long long)reach_int(request, "request_id"),
		    reach_true(request, "proven") ? "" : "about ",
		    money_print(
			amount, reach_int(request, "adds_minor"), currency));
	}
}

static void tell_hints(
    struct call *call, const json_t *item, const char *currency)
{
	size_t i;
	const json_t *hint;
	char amount[MONEY_TEXT_MAX];

	json_array_foreach(json_object_get(item, "hints"), i, hint)
	{
		fprintf(call->pen.out,
		    "Request %lld as %.40s x %.40s: %lld lie beside each "
		    "other, about %s less each.\n",
		    (long long)reach_int(hint, "request_id"),
		    reach_text(hint, "across/text"),
		    reach_text(hint, "along/text"),
		    (long long)reach_int(hint, "fits"),
		    money_print(
			amount, reach_int(hint, "each_minor"), currency));
	}
}

static void tell_compared(
    struct call *call, const json_t *item, const char *currency)
{
	size_t i;
	const json_t *compared;
	char amount[MONEY_TEXT_MAX];

	json_array_foreach(json_object_get(item, "compared"), i, compared)
	{
		char name[200];

		snprintf(
		    name, sizeof(name), "%.180s", reach_text(compared, "name"));
		text_clean(name);
		fprintf(call->pen.out, "The same as %.80s, %lld of them: %s.\n",
		    name, (long long)reach_int(compared, "packs"),
		    money_print(
			amount, reach_int(compared, "cost_minor"), currency));
	}
}

static void tell(struct call *call, const json_t *estimate)
{
	const char *currency = reach_text(estimate, "currency");
	size_t i;
	const json_t *item;

	if (!call_for_people(call))
		return;
	json_array_foreach(json_object_get(estimate, "items"), i, item)
	{
		tell_tips(call, item, currency);
		tell_hints(call, item, currency);
		tell_compared(call, item, currency);
	}
}

bool cmd_estimate(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *estimate = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0), "open closed",
		      &workshop, err) &&
		  call_post(call, json_object(), &estimate, err,
		      "/v1/workshops/%lld/estimate", (long long)workshop) &&
		  wait_for(call, workshop, &estimate, err);

	if (ok) {
		call_show_list(call, estimate, "Nobody has asked for sheets.");
		tell(call, estimate);
	}
	json_decref(estimate);
	return ok;
}
