/* SPDX-License-Identifier: MIT */
/*
 * api_shelf.c - papers and stock.
 */
#include "api.h"

#include <stdlib.h>

#include "act_people.h"
#include "act_shelf.h"
#include "api_list.h"
#include "json_in.h"
#include "json_out.h"
#include "problem.h"

/* ---- papers ---- */

static void on_papers(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct paper_row *papers = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(
		    &l->list, papers[i].paper_id, json_paper(&papers[i]));
	api_list_end(call);
}

void api_papers(struct call *call)
{
	struct api_list *l = api_list_begin(call, LIST_KNOWN);

	if (l != NULL)
		store_papers(
		    call->tx, call->caller.studio_id, l->ask, on_papers, call);
}

static void answer_paper(struct call *call, const struct paper_row *paper)
{
	call_etag(call, paper->version);
	call_answer_json(call, 200, json_paper(paper));
}

void api_paper(struct call *call)
{
	answer_paper(call, &call->paper);
}

static void on_paper_added(struct call *call, const struct paper_row *paper)
{
	call_field(call, "Location",
	    call_printf(call, "/v1/papers/%lld", (long long)paper->paper_id));
	call_etag(call, paper->version);
	call_answer_json(call, 201, json_paper(paper));
}

/* One pad or single sheet of the same paper, for comparison. */
static json_t *read_compared(
    struct call *call, json_t *entry, const char *pointer)
{
	static const char *const known[] = {
	    "name", "width", "length", "sheets", "price_minor", NULL};
	const char *name = "";
	length width = 0, height = 0;
	int64_t sheets = 1, price = 0;
	struct json_in in;

	json_in_begin(&in, call, entry, pointer, known);
	json_in_name(&in, "name", NEEDED, NAME_MAX_SIGNS, &name);
	json_in_length(&in, "width", NEEDED, false, &width, NULL);
	json_in_length(&in, "length", NEEDED, false, &height, NULL);
	json_in_number(&in, "sheets", MAY_LACK, 1, 1000, &sheets);
	json_in_number(&in, "price_minor", NEEDED, 0, PRICE_MAX, &price);
	return json_pack("{s: s, s: I, s: I, s: I, s: I}", "name", name,
	    "width_u", (json_int_t)width, "length_u", (json_int_t)height,
	    "sheets", (json_int_t)sheets, "price_minor", (json_int_t)price);
}

static void read_compare(struct json_in *in, const char **out)
{
	json_t *given = NULL, *entry = NULL, *list = json_array();
	char *text = NULL;
	size_t i = 0;

	if (json_object_get(in->object, "compare") != NULL &&
	    json_in_list(in, "compare", MAY_LACK, COMPARE_MAX, &given)) {
		json_array_foreach(given, i, entry)
		{
			const char *at = call_printf(in->call, "%s/%zu",
			    json_in_pointer(in, "compare"), i);

			json_array_append_new(
			    list, read_compared(in->call, entry, at));
		}
		text = json_dumps(list, JSON_COMPACT);
		*out = arena_strdup(in->call->arena, text ? text : "[]");
		free(text);
	}
	json_decref(list);
}

static void read_paper(struct call *call, struct paper_row *p, enum need need)
{
	static const char *const known[] = {"name", "weight_gsm", "finish",
	    "fibre", "colour", "compare", "active", NULL};
	static const char *const known_new[] = {
	    "name", "weight_gsm", "finish", "fibre", "colour", "compare", NULL};
	struct json_in in;

	json_in_begin(
	    &in, call, call->body, "", need == NEEDED ? known_new : known);
	json_in_name(&in, "name", need, NAME_MAX_SIGNS, &p->name);
	json_in_number(&in, "weight_gsm", need, 1, WEIGHT_MAX, &p->weight_gsm);
	json_in_line(&in, "finish", need, 20, &p->finish);
	json_in_line(&in, "fibre", MAY_LACK, NAME_MAX_SIGNS, &p->fibre);
	json_in_line(&in, "colour", MAY_LACK, NAME_MAX_SIGNS, &p->colour);
	json_in_bool(&in, "active", MAY_LACK, &p->active);
	read_compare(&in, &p->compare);
}

void api_paper_add(struct call *call)
{
	struct paper_row p = {.studio_id = call->caller.studio_id,
	    .fibre = "",
	    .colour = "",
	    .active = true};

	read_paper(call, &p, NEEDED);
	if (!call_is_faulty(call))
		act_paper_add(call, &p, on_paper_added);
}

void api_paper_change(struct call *call)
{
	struct paper_row p = call->paper;

	read_paper(call, &p, MAY_LACK);
	if (!call_is_faulty(call))
		act_paper_change(call, &p, answer_paper);
}

/* ---- stock ---- */

static void on_stocks(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct api_list *l = call->state;
	const struct stock_row *stock = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n; i++)
		json_list_add(
		    &l->list, stock[i].stock_id, json_stock(call, &stock[i]));
	api_list_end(call);
}

void api_stocks(struct call *call)
{
	int64_t paper_id =
	    call_query_number(call, "paper", 1, INT64_MAX / 16, 0);
	struct api_list *l = api_list_begin(
	    call, (const char *const[]){"paper", "limit", "after", NULL});

	if (l != NULL)
		store_stocks(call->tx, call->caller.studio_id, paper_id, l->ask,
		    on_stocks, call);
}

static void answer_stock(struct call *call, const struct stock_row *stock)
{
	call_etag(call, stock->version);
	call_answer_json(call, 200, json_stock(call, stock));
}

void api_stock(struct call *call)
{
	answer_stock(call, &call->stock);
}

static void on_stock_added(struct call *call, const struct stock_row *stock)
{
	call_field(call, "Location",
	    call_printf(call, "/v1/stock/%lld", (long long)stock->stock_id));
	call_etag(call, stock->version);
	call_answer_json(call, 201, json_stock(call, stock));
}

/* A list of [from, to]; each a length. */
static void read_spoiled(struct json_in *in, const char **out)
{
	struct call *call = in->call;
	json_t *list = NULL, *run = NULL;
	const char *text = "[";
	size_t i = 0;

	if (!json_in_list(in, "spoiled", MAY_LACK, 100, &list))
		return;
	json_array_foreach(list, i, run)
	{
		const char *at = call_printf(
		    call, "%s/%zu", json_in_pointer(in, "spoiled"), i);
		length from = 0, to = 0;

		if (json_array_size(run) != 2) {
			call_fault(call, at, "Send [from, to].",
			    "spoiled run %zu is no pair", i + 1);
			return;
		}
		if (!json_in_length_value(call, json_array_get(run, 0),
			call_printf(call, "%s/0", at), true, &from) ||
		    !json_in_length_value(call, json_array_get(run, 1),
			call_printf(call, "%s/1", at), false, &to))
			return;
		text = call_printf(call, "%s%s[%lld,%lld]", text,
		    i > 0 ? "," : "", (long long)from, (long long)to);
	}
	*out = call_printf(call, "%s]", text);
}

static void read_available(struct json_in *in, int64_t *available)
{
	json_t *value = json_object_get(in->object, "available");

	if (json_is_null(value))
		*available = UNLIMITED;
	else if (value != NULL)
		json_in_number(
		    in, "available", MAY_LACK, 0, AVAILABLE_MAX, available);
}

static void read_stock(struct call *call, struct stock_row *s, enum need need)
{
	static const char *const known[] = {"kind", "name", "width", "length",
	    "price_minor", "available", "spoiled", "lot", "place", "active",
	    NULL};
	static const char *const known_new[] = {"paper_id", "kind", "name",
	    "width", "length", "price_minor", "available", "spoiled", "lot",
	    "place", NULL};
	static const char *const kinds[] = {
	    "fresh", "roll-end", "offcut", "flat", NULL};
	struct json_in in;

	json_in_begin(
	    &in, call, call->body, "", need == NEEDED ? known_new : known);
	if (need == NEEDED)
		json_in_number(
		    &in, "paper_id", NEEDED, 1, INT64_MAX / 16, &s->paper_id);
	if (json_in_word(&in, "kind", need, kinds, &s->kind) &&
	    need == NEEDED && s->kind != STOCK_FRESH && s->kind != STOCK_FLAT)
		s->available = 1;
	json_in_name(&in, "name", need, NAME_MAX_SIGNS, &s->name);
	json_in_length(&in, "width", need, false, &s->width_u, NULL);
	json_in_length(&in, "length", need, false, &s->length_u, NULL);
	json_in_number(&in, "price_minor", need, 0, PRICE_MAX, &s->price_minor);
	read_available(&in, &s->available);
	read_spoiled(&in, &s->spoiled);
	json_in_line(&in, "lot", MAY_LACK, NAME_MAX_SIGNS, &s->lot);
	json_in_line(&in, "place", MAY_LACK, NAME_MAX_SIGNS, &s->place);
	json_in_bool(&in, "active", MAY_LACK, &s->active);
}

void api_stock_add(struct call *call)
{
	struct stock_row s = {
	    .studio_id = call->caller.studio_id,
	    .available = UNLIMITED,
	    .spoiled = "[]",
	    .lot = "",
	    .place = "",
	    .active = true,
	};

	read_stock(call, &s, NEEDED);
	if (!call_is_faulty(call))
		act_stock_add(call, &s, on_stock_added);
}

void api_stock_change(struct call *call)
{
	struct stock_row s = call->stock;

	read_stock(call, &s, MAY_LACK);
	if (!call_is_faulty(call))
		act_stock_change(call, &s, answer_stock);
}
