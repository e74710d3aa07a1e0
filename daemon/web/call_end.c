/* SPDX-License-Identifier: MIT */
/*
 * call_end.c - the way out of a call: answers, and refusals.
 *
 * Success is sent only after COMMIT came back.  A refusal under an Idempotency-Key is the
 * answer to that request as much as a success is, so it is kept too; since its transaction
 * is gone, in one of its own that claims the key again.
 */
#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "call_inner.h"
#include "html.h"
#include "journal.h"
#include "log.h"
#include "page.h"
#include "web_inner.h"

#define JSON_TYPE "application/json; charset=utf-8"
#define PROBLEM_TYPE "application/problem+json; charset=utf-8"

/* ---- what the answer is made of ---- */

static bool has_field(const struct call *call, const char *name)
{
	for (size_t i = 0; i < call->inner->n_fields; i++)
		if (strcmp(call->inner->fields[i].name, name) == 0)
			return true;
	return false;
}

void call_field(struct call *call, const char *name, const char *value)
{
	struct call_inner *in = call->inner;

	assert(in->n_fields < CALL_FIELDS_MAX);
	in->fields[in->n_fields].name = arena_strdup(call->arena, name);
	in->fields[in->n_fields++].value = arena_strdup(call->arena, value);
}

void call_etag(struct call *call, int64_t version)
{
	call_field(
	    call, "ETag", call_printf(call, "\"%lld\"", (long long)version));
}

static void set_body(struct call *call, int status, const char *type,
    const void *body, size_t len)
{
	struct call_inner *in = call->inner;

	free(in->body);
	in->body = xmalloc(len + 1);
	if (len > 0)
		memcpy(in->body, body, len);
	in->body[len] = '\0';
	in->body_len = len;
	in->status = status;
	if (type != NULL && !has_field(call, "Content-Type"))
		call_field(call, "Content-Type", type);
}

void end_send(struct call *call)
{
	struct call_inner *in = call->inner;

	assert(call->tx == NULL);
	http_reply(call->req, in->status, in->fields, in->n_fields, in->body,
	    in->body_len);
	call_free(call);
}

/* ---- a success ---- */

static void on_committed(void *ctx, const struct err *err)
{
	struct call *call = ctx;

	call->tx = NULL;
	if (call_failed(call, err))
		return;
	end_send(call);
}

void end_commit(struct call *call)
{
	struct call_inner *in = call->inner;
	struct answer_to_keep keep = {0};

	if (in->claimed && !once_answer(call, &keep)) {
		call_refuse(
		    call, ERR_INTERNAL, NULL, "an answer cannot be sealed");
		return;
	}
	store_commit_with(call->tx, call->caller.studio_id,
	    in->has_event ? &in->event : NULL, &keep, on_committed, call);
}

static void end_success(struct call *call)
{
	if (call->tx != NULL && call->writes) {
		end_commit(call);
		return;
	}
	if (call->tx != NULL)
		store_rollback(call->tx);
	call->tx = NULL;
	end_send(call);
}

void call_answer(struct call *call, int status, const char *type,
    const void *body, size_t len)
{
	set_body(call, status, type, body, len);
	end_success(call);
}

void call_answer_json(struct call *call, int status, json_t *json)
{
	char *text = json_dumps(json, JSON_COMPACT);

	json_decref(json);
	if (text == NULL) {
		call_refuse(call, ERR_INTERNAL, NULL,
		    "an answer cannot be written as JSON");
		return;
	}
	set_body(call, status, JSON_TYPE, text, strlen(text));
	free(text);
	end_success(call);
}

void call_answer_empty(struct call *call)
{
	set_body(call, 204, NULL, NULL, 0);
	end_success(call);
}

void call_answer_redirect(struct call *call, const char *path)
{
	assert(url_is_own(path));
	call_field(call, "Location", path);
	set_body(call, 303, NULL, NULL, 0);
	end_success(call);
}

/* ---- a refusal ---- */

static void PRINTF_LIKE(4, 0) set_error(struct call *call, enum err_kind kind,
    const char *hint, const char *fmt, va_list ap)
{
	err_vset(&call->err, kind, fmt, ap);
	if (hint != NULL)
		err_hint(&call->err, "%s", hint);
	call->inner->trouble_set = false;
}

static void set_kind(struct call *call, enum trouble trouble)
{
	call->inner->trouble = trouble;
	call->inner->trouble_set = true;
}

bool set_trouble(struct call *call, enum trouble trouble, const char *hint,
    const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	set_error(call, ERR_INPUT, hint, fmt, ap);
	va_end(ap);
	set_kind(call, trouble);
	return false;
}

void end_trouble(struct call *call, enum trouble trouble, const char *hint,
    const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	set_error(call, ERR_INPUT, hint, fmt, ap);
	va_end(ap);
	set_kind(call, trouble);
	call_fail(call);
}

void call_refuse(struct call *call, enum err_kind kind, const char *hint,
    const char *fmt, ...)
{
	va_list ap;

	va_start(ap, fmt);
	set_error(call, kind, hint, fmt, ap);
	va_end(ap);
	call_fail(call);
}

bool call_failed(struct call *call, const struct err *err)
{
	if (err == NULL || err->kind == ERR_NONE)
		return false;
	call->err = *err;
	call->n_faults = 0;
	call->inner->trouble_set = false;
	call_fail(call);
	return true;
}

static void keep_only(struct call *call)
{
	struct call_inner *in = call->inner;
	size_t n = 0;

	for (size_t i = 0; i < in->n_fields; i++)
		if (strcmp(in->fields[i].name, "Retry-After") == 0 ||
		    strcmp(in->fields[i].name, "Allow") == 0)
			in->fields[n++] = in->fields[i];
	in->n_fields = n;
}

static void write_trouble(struct call *call, enum trouble trouble, int status)
{
	char *body = NULL;

	keep_only(call);
	if ((status == 429 || status == 503) && !has_field(call, "Retry-After"))
		call_field(call, "Retry-After", status == 503 ? "2" : "30");
	if (status == 401)
		call_field(call, "WWW-Authenticate", "Bearer");
	body = trouble_body(trouble, status, &call->err, call->faults,
	    call->n_faults, http_id(call->req));
	set_body(call, status, PROBLEM_TYPE, body, strlen(body));
	free(body);
}

/*
 * Two transactions were in each other's way: nothing was wrong with either, so the call is
 * begun again.  The texts are those of daemon/store/sqlstate.c for 40001 and 40P01, and for two
 * requests with one key that passed each other at the claim (the first is kept by now).
 */
static bool is_clash(const struct err *err)
{
	return err->kind == ERR_BUSY &&
	       (strcmp(err->text, "two changes met") == 0 ||
		   strcmp(err->text,
		       "another request with this key was under way") == 0);
}

static bool on_page(const struct call *call)
{
	if (call->route != NULL)
		return (call->route->flags & ROUTE_PAGE) != 0;
	return strncmp(http_path(call->req), "/v1/", 4) != 0 &&
	       strcmp(http_path(call->req), "/v1") != 0;
}

static void fail_page(struct call *call, int status)
{
	bool again =
	    call->on_fail != NULL && !call->inner->showing_again &&
	    (call->err.kind == ERR_INPUT || call->err.kind == ERR_CONFLICT ||
		call->err.kind == ERR_STALE || call->err.kind == ERR_LIMIT);

	keep_only(call);
	call->writes = false;
	if (again)
		call_show_again(call);
	else
		page_refuse(call, status);
}

static void log_internal(const struct call *call)
{
	char shown[LOG_VALUE_MAX];

	log_event(LOG_ERROR, "internal", "req=%s cause=%s", http_id(call->req),
	    log_value(shown, call->err.text));
}

void call_fail(struct call *call)
{
	struct call_inner *in = call->inner;
	enum trouble trouble;
	int status = 0;
	bool keep = false;

	if (call->tx != NULL)
		store_rollback(call->tx);
	call->tx = NULL;
	in->has_event = false;
	if (is_clash(&call->err) && in->attempts + 1 < CALL_ATTEMPTS) {
		call_begin_again(call);
		return;
	}
	trouble =
	    in->trouble_set ? in->trouble : trouble_of_err(call->err.kind);
	status = trouble_kind(trouble)->status;
	if (trouble == TROUBLE_INTERNAL)
		log_internal(call);
	if (on_page(call)) {
		fail_page(call, status);
		return;
	}
	keep = in->claimed && in->keeping == 0 && status < 500 &&
	       status != 401 && status != 429;
	write_trouble(call, trouble, status);
	if (!keep) {
		end_send(call);
		return;
	}
	once_keep_refusal(call);
}

/* ---- faults ---- */

bool call_fault(struct call *call, const char *pointer, const char *hint,
    const char *fmt, ...)
{
	char text[sizeof(call->err.text)];
	va_list ap;

	if (call->n_faults == FAULTS_MAX)
		return false;
	va_start(ap, fmt);
	vsnprintf(text, sizeof(text), fmt, ap);
	va_end(ap);
	call->faults[call->n_faults++] = (struct fault){
	    .pointer = arena_strdup(call->arena, pointer),
	    .text = arena_strdup(call->arena, text),
	    .hint = arena_strdup(call->arena, hint == NULL ? "" : hint),
	};
	return false;
}

bool call_fault_err(
    struct call *call, const char *pointer, const struct err *err)
{
	return call_fault(call, pointer, err->hint, "%s", err->text);
}

bool call_is_faulty(struct call *call)
{
	if (call->n_faults == 0)
		return false;
	err_set(&call->err, ERR_INPUT, "%s", call->faults[0].text);
	err_hint(&call->err, "%s", call->faults[0].hint);
	err_field(&call->err, "%s", call->faults[0].pointer);
	call->inner->trouble_set = false;
	call_fail(call);
	return true;
}
