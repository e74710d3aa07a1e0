/* SPDX-License-Identifier: MIT */
/*
 * The steps of a call, between the files that make them: call.c (the way in), sight.c (the
 * object and the rights), once.c (repeated requests), call_end.c (the way out).
 */
#ifndef WEB_CALL_INNER_H
#define WEB_CALL_INNER_H

#include "answer.h"
#include "call.h"
#include "form.h"
#include "journal.h"

#define CALL_MEMORY_MAX ((size_t)1 << 30)
#define CALL_ATTEMPTS 5
#define CALL_FIELDS_MAX 16
#define ONCE_KEY_MAX 64

struct call_inner {
	int attempts;
	const char *allow; /* of a 405 */
	struct form query;

	const char *once_key; /* NULL: not repeated */
	const char
	    *once_who; /* "key:17"; NULL: the handler finds out (joining) */
	unsigned char fingerprint[32];
	bool claimed;
	int keeping; /* how often it was tried to keep a refusal; 0: not yet */
	call_fn *after_claim;
	const struct kept_answer
	    *looked; /* claimed with the look at the workshop; lives for
					     this turn only */

	struct http_field fields[CALL_FIELDS_MAX];
	size_t n_fields;
	int status;
	unsigned char *body;
	size_t body_len;

	bool trouble_set; /* trouble says more than err.kind */
	enum trouble trouble;
	bool showing_again; /* on_fail runs in its read-only transaction */

	bool has_event; /* waits for the commit */
	struct event_row event;
	call_fn *after_event;

	struct cleanup *cleanups;
};

/* Call fn(what) when the call is freed, or begun again. */
void call_on_free(struct call *call, void (*fn)(void *what), void *what);
void call_clean_up(struct call *call);

/* sight.c: load the object of the path, decide, go on with next. */
void sight_look(struct call *call, call_fn *next);

/* once.c */
/* The Idempotency-Key of the request into inner->once_key; false with call->err filled. */
bool once_read(struct call *call) MUST_USE;
/* The fingerprint of this request by this caller, into inner. */
void once_fingerprint(struct call *call, const char *who);
/* Claim it, or give the kept answer; then next. */
void once_claim(struct call *call, const char *who, call_fn *next);
/* The same when the claim was made already. */
void once_take(
    struct call *call, const struct kept_answer *kept, call_fn *next);
/* Keep the refusal that inner holds in a transaction of its own, and send it. */
void once_keep_refusal(struct call *call);
/* What is to be kept of the answer that inner holds; texts live as long as the call. */
bool once_answer(struct call *call, struct answer_to_keep *out) MUST_USE;

/* call_end.c */
void end_trouble(struct call *call, enum trouble trouble, const char *hint,
    const char *fmt, ...) PRINTF_LIKE(4, 5);
/* Set err and the trouble without ending. */
bool set_trouble(struct call *call, enum trouble trouble, const char *hint,
    const char *fmt, ...) PRINTF_LIKE(4, 5);
/* Commit, then send what inner holds. */
void end_commit(struct call *call);
/* Send what inner holds, and free the call. */
void end_send(struct call *call);
/* call.c: the whole call from its beginning. */
void call_begin_again(struct call *call);
/* Pages: a read-only transaction for on_fail. */
void call_show_again(struct call *call);
void call_free(struct call *call);

#endif
