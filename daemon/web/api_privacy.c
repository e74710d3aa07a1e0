/* SPDX-License-Identifier: MIT */
/*
 * api_privacy.c - all that is kept of a member, told to them; and erased.
 *
 * The rows are told as they lie in the tables, so that nothing has to be remembered here when a
 * column is added there.  As CSV each field of a row is a line of its own: tables differ, and
 * one file can be read by any program.
 */
#include "api.h"

#include <stdlib.h>
#include <string.h>

#include "act_privacy.h"
#include "csv_out.h"
#include "json_in.h"
#include "json_out.h"

#define EXPORT_MAX ((size_t)64 << 20)

struct exporting {
	bool csv;
};

/* ---- as CSV ---- */

static void csv_value(struct text *out, const json_t *value)
{
	char *text = NULL;

	if (json_is_integer(value)) {
		csv_number(out, json_integer_value(value));
	} else if (json_is_string(value)) {
		csv_text(out, json_string_value(value));
	} else if (json_is_boolean(value)) {
		csv_text(out, json_is_true(value) ? "true" : "false");
	} else if (json_is_null(value)) {
		csv_text(out, NULL);
	} else {
		text = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY);
		csv_text(out, text);
		free(text);
	}
	csv_end(out);
}

static void csv_row(
    struct text *out, const struct data_row *row, const json_t *data)
{
	const char *name = NULL;
	json_t *value = NULL;

	json_object_foreach((json_t *)(uintptr_t)data, name, value)
	{
		csv_text(out, row->part);
		csv_id(out, row->row_id);
		csv_text(out, row->as);
		csv_text(out, name);
		csv_value(out, value);
	}
}

static void answer_csv(struct call *call, const struct data_row *rows, size_t n)
{
	static const char *const names[] = {
	    "table", "id", "as", "field", "value"};
	struct text out;

	text_init(&out, EXPORT_MAX);
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++)
		csv_text(&out, names[i]);
	csv_end(&out);
	for (size_t i = 0; i < n; i++) {
		json_t *data = json_parsed(rows[i].data);

		csv_row(&out, &rows[i], data);
		json_decref(data);
	}
	if (!text_fits(&out))
		call_refuse(call, ERR_INTERNAL, NULL,
		    "an export is larger than %zu bytes", EXPORT_MAX);
	else
		call_answer(call, 200,
		    "text/csv; charset=utf-8; header=present", out.data,
		    out.len);
	text_free(&out);
}

/* ---- as JSON ---- */

static void answer_rows(
    struct call *call, const struct data_row *rows, size_t n)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++)
		json_array_append_new(list,
		    json_pack("{s: s, s: I, s: s, s: o}", "table", rows[i].part,
			"id", (json_int_t)rows[i].row_id, "as", rows[i].as,
			"data", json_parsed(rows[i].data)));
	call_answer_json(call, 200,
	    json_pack("{s: I, s: o}", "member_id",
		(json_int_t)call->member.member_id, "rows", list));
}

/* ---- the call ---- */

static void on_data(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	const struct exporting *e = call->state;

	if (call_failed(call, err))
		return;
	call_field(call, "Content-Disposition",
	    call_printf(call, "attachment; filename=\"member-%lld.%s\"",
		(long long)call->member.member_id, e->csv ? "csv" : "json"));
	if (e->csv)
		answer_csv(call, rows, n);
	else
		answer_rows(call, rows, n);
}

void api_member_export(struct call *call)
{
	struct exporting *e = call_alloc(call, sizeof(*e));
	const char *form = NULL;

	call->state = e;
	call_query_only(call, (const char *const[]){"form", NULL});
	form = call_query(call, "form");
	e->csv = form != NULL && strcmp(form, "csv") == 0;
	if (form != NULL && !e->csv && strcmp(form, "json") != 0)
		call_fault(call, "?form", "Send json or csv.",
		    "form \"%s\" is not known", shown(call, form));
	if (!call_is_faulty(call))
		store_member_data(call->tx, call->caller.studio_id,
		    call->member.member_id, on_data, call);
}

/* ---- erasing ---- */

static json_t *parts_json(const struct part_row *rows, size_t n, bool why)
{
	json_t *list = json_array();

	for (size_t i = 0; i < n; i++) {
		json_t *one = json_pack("{s: s, s: I}", "table", rows[i].part,
		    "count", (json_int_t)rows[i].count);

		if (why)
			json_object_set_new(
			    one, "why", json_string(kept_why(rows[i].part)));
		json_array_append_new(list, one);
	}
	return list;
}

static void on_erased(struct call *call, const struct erasure *e)
{
	call_etag(call, e->member.version);
	call_answer_json(call, 200,
	    json_pack("{s: o, s: s, s: {s: I, s: I, s: I, s: I}, s: o, s: o}",
		"member", json_member(call, &e->member), "erased_at",
		e->went.erased_at, "erased", "keys", (json_int_t)e->went.keys,
		"sessions", (json_int_t)e->went.sessions, "notes",
		(json_int_t)e->went.notes, "answers",
		(json_int_t)e->went.answers, "kept",
		parts_json(e->kept, e->n_kept, true), "mentions",
		parts_json(e->mentions, e->n_mentions, false)));
}

void api_member_erase(struct call *call)
{
	act_member_erase(call, on_erased);
}
