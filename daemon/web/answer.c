/* SPDX-License-Identifier: MIT */
/*
 * answer.c - kinds of failure, their statuses, and how they are told.
 */
#include "answer.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

/* clang-format off */
static const struct trouble_kind kinds[] = {
	[TROUBLE_MALFORMED] = { "malformed", 400, "The request cannot be read",
		"A header, the address or the body is not in the form the protocol asks for: not JSON, a name twice, a bad or missing Idempotency-Key." },
	[TROUBLE_KEY] = { "key", 401, "Who asks is not known",
		"There is no key, or it is wrong, expired or revoked. Send one as \"Authorization: Bearer KEY\"." },
	[TROUBLE_RIGHT] = { "right", 403, "The role does not allow this",
		"The key is good, and none of the member's roles may do this. The studio's owner gives roles." },
	[TROUBLE_MISSING] = { "missing", 404, "There is no such thing",
		"Nothing has this address, or it belongs to somebody else; the answer is the same for both." },
	[TROUBLE_METHOD] = { "method", 405, "The resource knows other methods",
		"The header Allow of the answer names them." },
	[TROUBLE_CONFLICT] = { "conflict", 409, "Not possible in this state",
		"The thing is not in the state that this needs: a workshop closed twice, a plan accepted before it is ready. With Retry-After: the same request is still under way." },
	[TROUBLE_STALE] = { "stale", 412, "It has changed in the meantime",
		"If-Match names an older version. Read the thing again, look at what changed, and send the change with its new ETag." },
	[TROUBLE_TOO_LARGE] = { "too-large", 413, "The body is too large",
		"Bodies are limited; docs/protocol.md has the limits." },
	[TROUBLE_MEDIA] = { "media", 415, "Not this kind of content",
		"The API takes application/json, the pages take their own forms." },
	[TROUBLE_INPUT] = { "input", 422, "What was sent breaks a rule",
		"The members \"errors\" say which value breaks which rule and what to do. Also: an Idempotency-Key that was used for another request." },
	[TROUBLE_VERSION] = { "version", 428, "If-Match is missing",
		"A change names the version it was made from: send the ETag of the answer you saw as If-Match." },
	[TROUBLE_LIMIT] = { "limit", 429, "Too much at once",
		"Too many bad keys or codes from one address in a minute, or too many plans waiting. Retry-After says when to come back." },
	[TROUBLE_INTERNAL] = { "internal", 500, "A fault of ours",
		"The request_id of the answer finds the cause in the server's log." },
	[TROUBLE_BUSY] = { "busy", 503, "Not now",
		"The database cannot be reached, or there is too much to do. Ask again after Retry-After, with the same Idempotency-Key." },
};

static const enum trouble of_err[] = {
	[ERR_NONE] = TROUBLE_INTERNAL,     [ERR_INPUT] = TROUBLE_INPUT,
	[ERR_MISSING] = TROUBLE_MISSING,   [ERR_CONFLICT] = TROUBLE_CONFLICT,
	[ERR_STALE] = TROUBLE_STALE,       [ERR_UNKNOWN] = TROUBLE_KEY,
	[ERR_DENIED] = TROUBLE_RIGHT,      [ERR_LIMIT] = TROUBLE_LIMIT,
	[ERR_BUSY] = TROUBLE_BUSY,         [ERR_INTERNAL] = TROUBLE_INTERNAL,
};
/* clang-format on */

#define N_KINDS (sizeof(kinds) / sizeof(kinds[0]))

const struct trouble_kind *trouble_kind(enum trouble trouble)
{
	return &kinds[trouble];
}

enum trouble trouble_of_err(enum err_kind kind)
{
	return of_err[kind];
}

enum trouble trouble_of_status(int status)
{
	for (size_t i = 0; i < N_KINDS; i++)
		if (kinds[i].status == status)
			return (enum trouble)i;
	return status == 500 ? TROUBLE_INTERNAL : TROUBLE_MALFORMED;
}

int trouble_from_name(const char *name)
{
	for (size_t i = 0; i < N_KINDS; i++)
		if (strcmp(kinds[i].name, name) == 0)
			return (int)i;
	return -1;
}

static void add_text(json_t *object, const char *name, const char *text)
{
	if (text != NULL && text[0] != '\0')
		json_object_set_new(object, name, json_string(text));
}

static json_t *fault_json(
    const char *pointer, const char *text, const char *hint)
{
	json_t *fault = json_object();

	/* "?limit" names a part of the query, which has no JSON pointer. */
	if (pointer[0] == '?')
		json_object_set_new(
		    fault, "parameter", json_string(pointer + 1));
	else
		json_object_set_new(fault, "pointer", json_string(pointer));
	add_text(fault, "detail", text);
	add_text(fault, "hint", hint);
	return fault;
}

char *trouble_body(enum trouble trouble, int status, const struct err *err,
    const struct fault *faults, size_t n_faults, const char *request_id)
{
	const struct trouble_kind *kind = &kinds[trouble];
	json_t *body = json_object(), *list = NULL;
	char *text = NULL;

	json_object_set_new(
	    body, "type", json_sprintf("/problems/%s", kind->name));
	json_object_set_new(body, "title", json_string(kind->title));
	json_object_set_new(body, "status", json_integer(status));
	if (trouble == TROUBLE_INTERNAL) {
		add_text(body, "detail",
		    "something went wrong here; it is in the log");
		add_text(body, "hint", "Tell the studio the request_id.");
	} else {
		add_text(body, "detail", err->text);
		add_text(body, "hint", err->hint);
	}
	add_text(body, "request_id", request_id);
	if (n_faults > 0 || err->field[0] != '\0') {
		list = json_array();
		for (size_t i = 0; i < n_faults; i++)
			json_array_append_new(
			    list, fault_json(faults[i].pointer, faults[i].text,
				      faults[i].hint));
		if (n_faults == 0)
			json_array_append_new(
			    list, fault_json(err->field, err->text, err->hint));
		json_object_set_new(body, "errors", list);
	}
	text = json_dumps(body, JSON_COMPACT);
	json_decref(body);
	return text == NULL ? xstrdup("{}") : text;
}
