/* SPDX-License-Identifier: MIT */
/*
 * once.c - requests that are repeated, and the answers kept for them.
 *
 * The claim of a key and the answer kept under it are rows of the same transaction as the
 * change itself: either all of it is there after a crash, or nothing.  A request is the
 * same when caller, method, path, query and body are (their SHA-256).
 *
 * Kept are answers 2xx and 3xx and refusals 4xx that depend on what the database held
 * (not 401, 429, and nothing of the server's own trouble).
 */
#include <event2/event.h>
#include <openssl/sha.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "call_inner.h"
#include "journal.h"
#include "page.h"
#include "secret.h"
#include "web_inner.h"

static bool read_quoted(const char *value, char key[static ONCE_KEY_MAX + 1])
{
	size_t len = strlen(value);

	if (len >= 2 && value[0] == '"' && value[len - 1] == '"') {
		value++;
		len -= 2;
	}
	if (len < 1 || len > ONCE_KEY_MAX)
		return false;
	for (size_t i = 0; i < len; i++)
		if (value[i] <= ' ' || value[i] >= 127 || value[i] == '"' ||
		    value[i] == '\\')
			return false;
	memcpy(key, value, len);
	key[len] = '\0';
	return true;
}

void once_fingerprint(struct call *call, const char *who)
{
	size_t len = 0;
	const char *body = http_body(call->req, &len);
	const char *line = call_printf(call, "%lld %s %s %s?%s\n",
	    (long long)call->caller.studio_id, who,
	    http_method_name(http_method(call->req)), http_path(call->req),
	    http_query(call->req));
	size_t line_len = strlen(line);
	char *both = arena_alloc(call->arena, line_len + SHA256_DIGEST_LENGTH);

	memcpy(both, line, line_len);
	SHA256(
	    (const unsigned char *)body, len, (unsigned char *)both + line_len);
	SHA256((const unsigned char *)both, line_len + SHA256_DIGEST_LENGTH,
	    call->inner->fingerprint);
}

bool once_read(struct call *call)
{
	struct call_inner *in = call->inner;
	bool page = (call->route->flags & ROUTE_PAGE) != 0;
	const char *value = NULL;
	char key[ONCE_KEY_MAX + 1];

	if ((call->route->flags & ROUTE_WRITES) == 0)
		return true;
	value = page ? page_once_key(call)
		     : http_header(call->req, "Idempotency-Key");
	if (value == NULL && (call->route->flags & ROUTE_ONCE) == 0)
		return true;
	if (value == NULL)
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Send one of 1 to 64 visible characters in quotes; see "
		    "/problems/malformed.",
		    "Idempotency-Key is missing");
	if (!read_quoted(value, key))
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Send 1 to 64 visible characters in quotes; see "
		    "/problems/malformed.",
		    "Idempotency-Key is not in its form");
	in->once_key = arena_strdup(call->arena, key);
	if (call->caller.key_id != 0)
		in->once_who = call_printf(
		    call, "key:%lld", (long long)call->caller.key_id);
	else if (call->caller.session_id != 0)
		in->once_who = call_printf(
		    call, "session:%lld", (long long)call->caller.session_id);
	return true;
}

/* ---- giving a kept answer ---- */

static void give_fields(struct call *call, const json_t *fields)
{
	const char *name = NULL;
	json_t *value = NULL;

	json_object_foreach((json_t *)(uintptr_t)fields, name, value)
	{
		if (json_is_string(value))
			call_field(call, name, json_string_value(value));
	}
}

/* What secret_seal() took: the fields, a NUL, the body. */
static bool unseal(struct call *call, const struct kept_answer *kept)
{
	unsigned char *plain = NULL;
	size_t len = 0, head = 0;
	json_t *fields = NULL;
	bool ok = call->secret != NULL &&
		  secret_open(call->secret, call->inner->once_key, kept->body,
		      kept->body_len, &plain, &len);

	if (!ok)
		return false;
	head = strnlen((const char *)plain, len);
	fields = json_loadb((const char *)plain, head, 0, NULL);
	give_fields(call, fields);
	json_decref(fields);
	if (head < len) {
		call->inner->body_len = len - head - 1;
		call->inner->body = xmalloc(call->inner->body_len + 1);
		memcpy(
		    call->inner->body, plain + head + 1, call->inner->body_len);
	}
	free(plain);
	return true;
}

static void give_kept(struct call *call, const struct kept_answer *kept)
{
	struct call_inner *in = call->inner;
	json_t *fields = NULL;
	bool sealed =
	    (call->route->flags & ROUTE_SECRET) != 0 && kept->status < 400;

	in->n_fields = 0;
	free(in->body);
	in->body = NULL;
	in->body_len = 0;
	in->status = (int)kept->status;
	if (sealed) {
		if (!unseal(call, kept)) {
			call_refuse(call, ERR_INTERNAL, NULL,
			    "a kept answer cannot be opened");
			return;
		}
	} else {
		fields = json_loads(kept->fields, 0, NULL);
		give_fields(call, fields);
		json_decref(fields);
		in->body_len = kept->body_len;
		in->body = xmalloc(in->body_len + 1);
		if (in->body_len > 0)
			memcpy(in->body, kept->body, in->body_len);
	}
	store_rollback(call->tx);
	call->tx = NULL;
	end_send(call);
}

static void keep_later(struct call *call);

void once_take(struct call *call, const struct kept_answer *kept, call_fn *next)
{
	struct call_inner *in = call->inner;

	if (kept->is_running && in->keeping > 0) {
		keep_later(call);
	} else if (kept->is_running) {
		call_field(call, "Retry-After", "1");
		in->once_key =
		    NULL; /* this refusal is not the request's answer */
		call_refuse(call, ERR_CONFLICT, "Ask again in a second.",
		    "the same request is still under way");
	} else if (kept->is_other) {
		in->once_key = NULL;
		call_refuse(call, ERR_INPUT, "Use a new key for a new request.",
		    "this Idempotency-Key was used for another request");
	} else if (kept->is_new) {
		in->claimed = true;
		next(call);
	} else {
		give_kept(call, kept);
	}
}

static void on_claimed(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	if (call_failed(call, err))
		return;
	if (n == 0)
		call_refuse(call, ERR_INTERNAL, NULL, "a claim has no answer");
	else
		once_take(call, rows, call->inner->after_claim);
}

void once_claim(struct call *call, const char *who, call_fn *next)
{
	struct call_inner *in = call->inner;

	in->after_claim = next;
	in->once_who = who;
	once_fingerprint(call, who);
	store_answer_claim(call->tx, call->caller.studio_id, who, in->once_key,
	    in->fingerprint, on_claimed, call);
}

/* ---- what is kept ---- */

static const char *fields_text(struct call *call)
{
	const struct call_inner *in = call->inner;
	json_t *fields = json_object();
	char *text = NULL;
	const char *copy = NULL;

	for (size_t i = 0; i < in->n_fields; i++)
		json_object_set_new(fields, in->fields[i].name,
		    json_string(in->fields[i].value));
	text = json_dumps(fields, JSON_COMPACT);
	copy = arena_strdup(call->arena, text);
	free(text);
	json_decref(fields);
	return copy;
}

/* The fields, a NUL, the body: what unseal() finds. */
static bool seal(struct call *call, struct answer_to_keep *out)
{
	const struct call_inner *in = call->inner;
	size_t head = strlen(out->fields) + 1, len = 0;
	unsigned char *plain = arena_alloc(call->arena, head + in->body_len);
	unsigned char *sealed = NULL;

	memcpy(plain, out->fields, head);
	if (in->body_len > 0)
		memcpy(plain + head, in->body, in->body_len);
	if (call->secret == NULL ||
	    !secret_seal(call->secret, in->once_key, plain, head + in->body_len,
		&sealed, &len))
		return false;
	call_on_free(call, free, sealed);
	out->fields = "{}";
	out->body = sealed;
	out->len = len;
	return true;
}

bool once_answer(struct call *call, struct answer_to_keep *out)
{
	const struct call_inner *in = call->inner;

	*out = (struct answer_to_keep){
	    .caller = in->once_who,
	    .key = in->once_key,
	    .status = in->status,
	    .fields = fields_text(call),
	    .body = in->body,
	    .len = in->body_len,
	};
	if ((call->route->flags & ROUTE_SECRET) == 0 || in->status >= 400)
		return true;
	return seal(call, out);
}

/* ---- keeping a refusal ---- */

#define KEEP_TRIES 500
#define KEEP_WAIT_MS 4

static void on_keeping(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct call *call = ctx;

	call->tx = tx;
	if (call_failed(call, err))
		return;
	once_claim(call, call->inner->once_who, end_commit);
}

void once_keep_refusal(struct call *call)
{
	call->inner->keeping++;
	store_begin(call->web->store, on_keeping, call);
}

static void on_later(evutil_socket_t fd, short what, void *ctx)
{
	(void)fd;
	(void)what;
	once_keep_refusal(ctx);
}

/* The rollback of the refused transaction is still on its way on another connection, and with
 * it the claim: come back when it is through. */
static void keep_later(struct call *call)
{
	const struct timeval wait = {0, KEEP_WAIT_MS * 1000};

	store_rollback(call->tx);
	call->tx = NULL;
	if (call->inner->keeping >= KEEP_TRIES ||
	    event_base_once(
		call->web->base, -1, EV_TIMEOUT, on_later, call, &wait) != 0)
		end_send(call);
}
