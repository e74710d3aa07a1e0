/* SPDX-License-Identifier: MIT */
/*
 * paper: the kinds of paper the studio knows.
 */
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

static bool add_particulars(struct call *call, json_t *body, struct err *err)
{
	return body_add_text(call, body, "name", "name", err) &&
	       body_add_number(call, body, "weight", "weight_gsm", err) &&
	       body_add_text(call, body, "finish", "finish", err) &&
	       body_add_text(call, body, "fibre", "fibre", err) &&
	       body_add_text(call, body, "colour", "colour", err) &&
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
