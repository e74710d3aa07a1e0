/* SPDX-License-Identifier: MIT */
/*
 * paper: the kinds of paper the studio knows.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "body.h"
#include "command.h"
#include "find.h"

bool cmd_paper_list(struct call *call, struct err *err)
{
	json_t *list = NULL;
	bool ok = call_list(call, &list, err, "/v1/papers");
	if (ok)
		call_show_list(call, list, "There is no paper yet.");
	json_decref(list);
	return ok;
}

/* The i-th of four parts between commas, without the blanks around it, into buf. */
static bool part_of(const char *text, int i, char *buf, size_t size)
{
	size_t len = 0;
	for (; i > 0 && text; i--) {
		text = strchr(text, ',');
		text += text != NULL;
	}
	if (!text)
		return false;
	text += strspn(text, " ");
	len = strcspn(text, ",");
	while (len > 0 && text[len - 1] == ' ')
		len--;
	snprintf(buf, size, "%.*s", (int)len, text);
	return len > 0;
}

/* "pad of 12, 12, 9x12in, 25.92" */
static bool add_one(
    struct call *call, json_t *list, const char *text, struct err *err)
{
	char name[200], sheets[20], sides[100], price[60];
	char across[LENGTH_TEXT_MAX], along[LENGTH_TEXT_MAX];
	struct size size;
	money amount;
	if (!part_of(text, 0, name, sizeof(name)) ||
	    !part_of(text, 1, sheets, sizeof(sheets)) ||
	    !part_of(text, 2, sides, sizeof(sides)) ||
	    !part_of(text, 3, price, sizeof(price))) {
		err_set(err, ERR_INPUT,
		    "\"%.60s\" is no pad or sheet to compare with", text);
		return err_hint(err,
		    "Write name, sheets, size and price: \"pad of 12, 12, "
		    "9x12in, 25.92\".");
	}
	if (!size_parse_both(sides, NULL, &size, err) ||
	    !call_amount(call, price, &amount, err))
		return false;
	json_array_append_new(
	    list, json_pack("{s:s, s:s, s:s, s:I, s:I}", "name", name, "width",
		      size_print_side(across, &size, 0), "length",
		      size_print_side(along, &size, 1), "sheets",
		      (json_int_t)strtoll(sheets, NULL, 10), "price_minor",
		      (json_int_t)amount));
	return true;
}

static bool add_compare(struct call *call, json_t *body, struct err *err)
{
	json_t *list = json_array();
	const char *text;
	bool ok = true, none = false;
	for (size_t at = 0; ok && (text = call_each(call, "compare", &at));) {
		none = strcmp(text, "none") == 0;
		ok = none || add_one(call, list, text, err);
	}
	if (ok && (none || json_array_size(list)))
		json_object_set(body, "compare", list);
	json_decref(list);
	return ok;
}

static bool add_particulars(struct call *call, json_t *body, struct err *err)
{
	return body_add_text(call, body, "name", "name", err) &&
	       body_add_number(call, body, "weight", "weight_gsm", err) &&
	       body_add_text(call, body, "finish", "finish", err) &&
	       body_add_text(call, body, "fibre", "fibre", err) &&
	       body_add_text(call, body, "colour", "colour", err) &&
	       add_compare(call, body, err) &&
	       body_add_yes(call, body, "active", "active", err);
}

bool cmd_paper_add(struct call *call, struct err *err)
{
	json_t *paper = NULL;
	json_t *body = json_pack("{s:s}", "name", call_word(call, 0));
	if (!body)
		return err_set(err, ERR_INPUT, "the name is not UTF-8");
	bool ok = add_particulars(call, body, err) &&
		  call_post(call, json_incref(body), &paper, err, "/v1/papers");
	if (ok)
		call_show(call, paper);
	json_decref(body);
	json_decref(paper);
	return ok;
}

bool cmd_paper_change(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *paper = NULL;
	bool ok = find_paper(call, call_word(call, 0), NULL, &id, err) &&
		  add_particulars(call, body, err) &&
		  body_is_filled(call, body, err) &&
		  call_change(call, "PATCH", json_incref(body), &paper, err,
		      "/v1/papers/%lld", (long long)id);
	if (ok)
		call_show(call, paper);
	json_decref(body);
	json_decref(paper);
	return ok;
}
