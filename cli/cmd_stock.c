/* SPDX-License-Identifier: MIT */
/*
 * stock: what a paper can be bought or taken as.
 *
 *     tearshare stock add "Cold press 300" fresh 45in x 10yd --price 192.00
 */
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "body.h"
#include "command.h"
#include "find.h"
#include "status.h"

bool cmd_stock_list(struct call *call, struct err *err)
{
	int64_t paper;
	json_t *list = NULL;
	const char *name = call_option(call, "paper");
	bool ok;
	if (!name)
		name = call_word(call, 0);
	if (name)
		ok = find_paper(call, name, NULL, &paper, err) &&
		     call_list(call, &list, err, "/v1/stock?paper=%lld",
			 (long long)paper);
	else
		ok = call_list(call, &list, err, "/v1/stock");
	if (ok)
		call_show_list(call, list, "There is no stock yet.");
	json_decref(list);
	return ok;
}

/* "10in..12in" */
static bool add_run(
    struct call *call, json_t *runs, const char *text, struct err *err)
{
	struct size from, to;
	const char *dots = strstr(text, "..");
	if (!dots) {
		err_set(err, ERR_INPUT, "\"%.60s\" is not a run", text);
		return err_hint(err, "Write from and to: --spoiled 10in..12in");
	}
	char *first = xstrndup(text, (size_t)(dots - text));
	bool ok = call_length(call, first, &from, err) &&
		  call_length(call, dots + 2, &to, err);
	free(first);
	if (ok)
		json_array_append_new(
		    runs, json_pack("[I, I]", (json_int_t)from.side[0],
			      (json_int_t)to.side[0]));
	return ok;
}

static bool add_spoiled(struct call *call, json_t *body, struct err *err)
{
	json_t *runs = json_array();
	const char *text;
	bool ok = true, none = false;
	for (size_t at = 0; ok && (text = call_each(call, "spoiled", &at));) {
		none = strcmp(text, "none") == 0;
		ok = none || add_run(call, runs, text, err);
	}
	if (ok && (none || json_array_size(runs)))
		json_object_set(body, "spoiled", runs);
	json_decref(runs);
	return ok;
}

static bool add_available(struct call *call, json_t *body, struct err *err)
{
	const char *value = call_option(call, "available");
	if (!value || strcmp(value, "any") != 0)
		return body_add_number(
		    call, body, "available", "available", err);
	json_object_set_new(body, "available", json_null());
	return true;
}

static bool add_particulars(struct call *call, json_t *body, struct err *err)
{
	return body_add_text(call, body, "name", "name", err) &&
	       body_add_money(call, body, "price", "price_minor", err) &&
	       add_available(call, body, err) && add_spoiled(call, body, err) &&
	       body_add_text(call, body, "lot", "lot", err) &&
	       body_add_text(call, body, "place", "place", err) &&
	       body_add_yes(call, body, "active", "active", err);
}

static bool add_size(
    struct call *call, json_t *body, const char *text, struct err *err)
{
	struct size size;
	if (!call_size(call, text, &size, err))
		return false;
	body_set_side(body, "width", &size, 0);
	body_set_side(body, "length", &size, 1);
	return true;
}

/* What a person would write on it, when nothing was: "45in x 10yd roll-end". */
static void add_plain_name(json_t *body, const char *kind, const char *size)
{
	struct text name;
	if (json_object_get(body, "name"))
		return;
	text_init(&name, 190);
	text_addf(&name, "%s %s", size,
	    strcmp(kind, "fresh") == 0  ? "roll"
	    : strcmp(kind, "flat") == 0 ? "flat sheet"
					: kind);
	json_object_set_new(body, "name", json_string(name.data));
	text_free(&name);
}

/* Paper that is bought has a price; what the studio has left over costs nothing unless said. */
static bool add_no_price(
    const struct call *call, json_t *body, const char *kind, struct err *err)
{
	if (call_option(call, "price"))
		return true;
	json_object_set_new(body, "price_minor", json_integer(0));
	if (strcmp(kind, "fresh") != 0 && strcmp(kind, "flat") != 0)
		return true;
	cli_fail(err, CLI_USAGE, "stock that is bought needs a price");
	return err_hint(err, "Add --price 192.00 (0 when it costs nothing).");
}

bool cmd_stock_add(struct call *call, struct err *err)
{
	int64_t paper = 0;
	const char *kind = call_word(call, 1);
	char *size = call_words_from(call, 2);
	json_t *stock = NULL;
	json_t *body = json_pack("{s:s}", "kind", kind);
	if (!body) {
		free(size);
		return err_set(err, ERR_INPUT, "the kind is not UTF-8");
	}
	bool ok = find_paper(call, call_word(call, 0), NULL, &paper, err) &&
		  add_size(call, body, size, err) &&
		  add_no_price(call, body, kind, err) &&
		  add_particulars(call, body, err);
	if (ok) {
		add_plain_name(body, kind, size);
		json_object_set_new(body, "paper_id", json_integer(paper));
		ok = call_post(
		    call, json_incref(body), &stock, err, "/v1/stock");
	}
	if (ok)
		call_show(call, stock);
	free(size);
	json_decref(body);
	json_decref(stock);
	return ok;
}

bool cmd_stock_change(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *stock = NULL;
	const char *size = call_option(call, "size");
	bool ok = find_number(call_word(call, 0), "stock", &id, err) &&
		  (!size || add_size(call, body, size, err)) &&
		  body_add_text(call, body, "kind", "kind", err) &&
		  add_particulars(call, body, err) &&
		  body_is_filled(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &stock, err,
		      "/v1/stock/%lld", (long long)id);
	if (ok)
		call_show(call, stock);
	json_decref(body);
	json_decref(stock);
	return ok;
}
