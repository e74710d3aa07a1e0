/* SPDX-License-Identifier: MIT */
/*
 * call.c - the way of a call from its request to its handler.
 *
 * The order of the steps is the order of SAFETY: what is checked first hides what comes
 * after it.  A step calls the next one; a step that says no ends the call.
 */
#include "call.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#include "alloc.h"
#include "call_inner.h"
#include "failures.h"
#include "json_in.h"
#include "log.h"
#include "page.h"
#include "rows.h"
#include "secret.h"
#include "text.h"
#include "web_inner.h"

static bool is_page(const struct call *call)
{
	return call->route != NULL && (call->route->flags & ROUTE_PAGE) != 0;
}

static bool has_flag(const struct call *call, unsigned flag)
{
	return (call->route->flags & flag) != 0;
}

/* ---- life ---- */

static void call_fill(struct call *call)
{
	struct arena *a = arena_new(CALL_MEMORY_MAX);

	call->arena = a;
	call->text = "";
	call->inner = arena_alloc(a, sizeof(*call->inner));
}

static void call_empty(struct call *call)
{
	call_clean_up(call);
	json_decref(call->body);
	if (call->form != NULL)
		form_free(call->form);
	form_free(&call->inner->query);
	free(call->inner->body);
	arena_delete(call->arena);
}

void call_free(struct call *call)
{
	call_empty(call);
	free(call);
}

static void step_route(struct call *call);

void call_start(struct web *web, struct http_request *req)
{
	struct call *call = xcalloc(1, sizeof(*call));

	call->web = web;
	call->req = req;
	call_fill(call);
	step_route(call);
}

void call_begin_again(struct call *call)
{
	struct web *web = call->web;
	struct http_request *req = call->req;
	int attempts = call->inner->attempts + 1;

	call_empty(call);
	memset(call, 0, sizeof(*call));
	call->web = web;
	call->req = req;
	call_fill(call);
	call->inner->attempts = attempts;
	step_route(call);
}

/* ---- who asks ---- */

bool call_count_failure(struct call *call)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return failures_count(
	    call->web->failures, http_peer(call->req), (int64_t)now.tv_sec);
}

/* A key that is not good: 401, or 429 when the address has shown too many of them. */
static void refuse_key(struct call *call, const char *text)
{
	char shown[LOG_VALUE_MAX];

	log_event(LOG_WARN, "key-refused", "req=%s peer=%s", http_id(call->req),
	    log_value(shown, http_peer(call->req)));
	if (call_count_failure(call)) {
		call_field(call, "Retry-After", "60");
		call_refuse(call, ERR_LIMIT, "Wait a minute.",
		    "too many bad keys came from this address");
		return;
	}
	call_refuse(call, ERR_UNKNOWN,
	    "Send a good one as \"Authorization: Bearer KEY\".", "%s", text);
}

static void step_role(struct call *call);

static void decide_caller(struct call *call)
{
	if (call->caller.member_id != 0)
		step_role(call);
	else if (!is_page(call))
		refuse_key(call, "the key is not a good one");
	else if (has_flag(call, ROUTE_PUBLIC)) {
		call->secret = NULL;
		step_role(call);
	} else
		call_refuse(
		    call, ERR_UNKNOWN, "Sign in again.", "you are signed out");
}

static void on_caller_done(void *ctx, const struct err *err)
{
	struct call *call = ctx;

	call->tx = NULL;
	if (!call_failed(call, err))
		decide_caller(call);
}

static void on_caller(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n > 0)
		call->caller = row_keep_caller(call->arena, rows);
	/* A call that writes goes on in this transaction: three messages less.  The mark that a key
	 * was used is a write, so a call that reads needs a transaction of its own for it. */
	if (has_flag(call, ROUTE_WRITES))
		decide_caller(call);
	else
		store_commit(call->tx, on_caller_done, call);
}

static void on_caller_tx(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct call *call = ctx;
	unsigned char hash[SECRET_SIZE];

	call->tx = tx;
	if (call_failed(call, err))
		return;
	secret_hash(call->secret, hash);
	if (is_page(call))
		store_caller_by_session(tx, hash, on_caller, call);
	else
		store_caller_by_key(tx, hash, on_caller, call);
}

/* "Bearer KEY"; NULL when the header is absent. */
static bool read_bearer(struct call *call)
{
	const char *value = http_header(call->req, "Authorization");
	const char *key = NULL;

	if (value == NULL)
		return true;
	if (strncasecmp(value, "Bearer ", 7) != 0)
		return false;
	key = value + 7 + strspn(value + 7, " ");
	if (!secret_is_key(key))
		return false;
	call->secret = arena_strdup(call->arena, key);
	return true;
}

static void step_who(struct call *call)
{
	if (is_page(call)) {
		if (!page_read(call)) {
			call_fail(call);
			return;
		}
	} else if (!read_bearer(call)) {
		refuse_key(call, "the key is not a good one");
		return;
	}
	if (call->secret != NULL && !has_flag(call, ROUTE_NO_STORE))
		store_begin(call->web->store, on_caller_tx, call);
	else if (has_flag(call, ROUTE_PUBLIC))
		step_role(call);
	else
		call_refuse(call, ERR_UNKNOWN,
		    is_page(call)
			? "Sign in first."
			: "Send one as \"Authorization: Bearer KEY\".",
		    "there is no key");
}

/* ---- may they, and is it readable ---- */

static void step_begin(struct call *call);

static bool body_is_json(struct call *call)
{
	const char *type = http_header(call->req, "Content-Type");
	size_t len = type == NULL ? 0 : strcspn(type, "; \t");

	if (type == NULL || len != strlen("application/json") ||
	    strncasecmp(type, "application/json", len) != 0)
		return set_trouble(call, TROUBLE_MEDIA,
		    "Send \"Content-Type: application/json\".",
		    "the body is not application/json");
	type += len + strspn(type + len, " \t");
	if (*type == '\0' || strcasecmp(type, ";charset=utf-8") == 0 ||
	    strcasecmp(type, "; charset=utf-8") == 0)
		return true;
	return set_trouble(call, TROUBLE_MEDIA,
	    "JSON is UTF-8 and needs no parameters.",
	    "the body has a content type that is not plain application/json");
}

static bool read_body(struct call *call)
{
	size_t len = 0;
	const char *bytes = http_body(call->req, &len);

	if (is_page(call))
		return true;
	if (!has_flag(call, ROUTE_BODY))
		return len == 0 ||
		       set_trouble(call, TROUBLE_MALFORMED, "Leave it out.",
			   "this call takes no body");
	return body_is_json(call) && json_in_parse(call, bytes, len);
}

static bool read_query(struct call *call)
{
	const char *query = http_query(call->req);
	struct err err = {0};

	if (form_parse(&call->inner->query, query, strlen(query), &err))
		return true;
	return set_trouble(
	    call, TROUBLE_MALFORMED, err.hint, "query: %s", err.text);
}

static void step_role(struct call *call)
{
	unsigned roles = (unsigned)call->caller.roles;
	const struct route *route = call->route;

	if (call->caller.member_id != 0 && (route->all | route->own) != 0 &&
	    (roles & (route->all | route->own)) == 0) {
		call_refuse(call, ERR_DENIED,
		    "Ask the studio's owner for the role it needs.",
		    "none of your roles may do this");
		return;
	}
	if (read_query(call) && read_body(call) && once_read(call))
		step_begin(call);
	else
		call_fail(call);
}

/* ---- the transaction, the object, the version, the handler ---- */

static void step_run(struct call *call)
{
	if (call->inner->showing_again)
		call->on_fail(call);
	else
		call->route->run(call);
}

static int64_t object_version(const struct call *call)
{
	switch (call->route->object) {
	case OBJECT_STUDIO:
		return call->caller.studio.version;
	case OBJECT_MEMBER:
		return call->member.version;
	case OBJECT_PAPER:
		return call->paper.version;
	case OBJECT_STOCK:
		return call->stock.version;
	case OBJECT_WORKSHOP:
		return call->workshop.version;
	case OBJECT_REQUEST:
		return call->request.version;
	case OBJECT_PLAN:
		return call->plan.version;
	default:
		return 0;
	}
}

/* Does a list of entity tags (RFC 9110, 13.1.1) hold this version?  Weak ones never match. */
static bool tags_hold(const char *list, int64_t version)
{
	char tag[32];

	snprintf(tag, sizeof(tag), "\"%lld\"", (long long)version);
	for (;;) {
		size_t len = 0;

		list += strspn(list, " \t,");
		if (*list == '\0')
			return false;
		len = strcspn(list, ", \t");
		if (len == strlen(tag) && strncmp(list, tag, len) == 0)
			return true;
		list += len;
	}
}

static void step_match(struct call *call)
{
	const char *tags =
	    is_page(call) ? NULL : http_header(call->req, "If-Match");
	int64_t version = object_version(call);

	if (call->inner->showing_again || is_page(call))
		tags = NULL;
	else if (tags == NULL && has_flag(call, ROUTE_MATCH)) {
		end_trouble(call, TROUBLE_VERSION,
		    "Send the ETag of the answer you saw.",
		    "If-Match is missing");
		return;
	}
	if (tags != NULL && version != 0 && strcmp(tags, "*") != 0 &&
	    !tags_hold(tags, version)) {
		call_etag(call, version);
		call_refuse(call, ERR_STALE, "Read it again, then change it.",
		    "it has changed: If-Match names another version");
		return;
	}
	step_run(call);
}

static void step_once(struct call *call)
{
	struct call_inner *in = call->inner;
	const struct kept_answer *looked = in->looked;

	in->looked = NULL;
	if (looked != NULL)
		once_take(call, looked, step_match);
	else if (in->once_key != NULL && in->once_who != NULL &&
		 !in->showing_again)
		once_claim(call, in->once_who, step_match);
	else
		step_match(call);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct call *call = ctx;

	call->tx = tx;
	if (call_failed(call, err))
		return;
	sight_look(call, step_once);
}

static void step_begin(struct call *call)
{
	call->writes =
	    has_flag(call, ROUTE_WRITES) && !call->inner->showing_again;
	if (has_flag(call, ROUTE_NO_STORE))
		step_run(call);
	else if (call->tx != NULL)
		sight_look(call, step_once);
	else if (call->writes)
		store_begin(call->web->store, on_begun, call);
	else
		store_begin_read(call->web->store, on_begun, call);
}

void call_show_again(struct call *call)
{
	call->inner->showing_again = true;
	step_begin(call);
}

/* ---- the first step ---- */

static void step_route(struct call *call)
{
	char text[ROUTE_TEXT_MAX], allow[ROUTE_ALLOW_MAX];
	const char *path = http_path(call->req);
	enum route_found found = route_find(
	    http_method(call->req), path, &call->route, &call->id, text, allow);

	call->text = arena_strdup(call->arena, text);
	if (found == ROUTE_FOUND) {
		step_who(call);
	} else if (found == ROUTE_OTHER_METHOD) {
		call_field(call, "Allow", allow);
		end_trouble(call, TROUBLE_METHOD, NULL, "%s is not known here",
		    http_method_name(http_method(call->req)));
	} else {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
	}
}
