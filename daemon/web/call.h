/* SPDX-License-Identifier: MIT */
/*
 * A call: one exchange, from the request to its answer.
 *
 * How a call goes, always in this order, in one place (call.c):
 *
 *     route -> who asks (key or session: 401) -> may this role at all (403) -> headers and
 *     body (400, 415) -> BEGIN -> the object of the path, locked when we write: does the
 *     caller see it (404), may the caller (403) -> was this key used before (the stored
 *     answer, 409, 422) -> If-Match (428, 412) -> route->run(call)
 *
 * A handler finds tx, caller and object in place, looks at what was sent, asks the store, and
 * ends in exactly one of
 *
 *     call_answer...()     a call that writes keeps the answer under its Idempotency-Key,
 *                          commits, and only then answers; one that reads just answers
 *     call_fail()          rolls back; answers problem+json, or the page asked for
 *
 * After either the call must not be touched.  Everything a handler holds lives in the arena,
 * which dies with the call.  Rows of the store die with their callback: row_keep_...() of
 * rows.h copies them.
 *
 * When the database says that two transactions were in each other's way, the call is begun
 * anew from its first step, at most five times: handlers change nothing but the database.
 *
 * A callback of the store looks like this:
 *
 *     static void on_papers(void *ctx, const void *rows, size_t n, const struct err *err)
 *     {
 *             struct call *call = ctx;
 *             const struct paper_row *paper = rows;
 *
 *             if (call_failed(call, err))
 *                     return;
 *             ...
 *     }
 */
#ifndef WEB_CALL_H
#define WEB_CALL_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "arena.h"
#include "err.h"
#include "http.h"
#include "invoice.h"
#include "ledger.h"
#include "people.h"
#include "planning.h"
#include "route.h"
#include "shelf.h"
#include "store.h"
#include "workshop.h"

struct web;
struct form; /* of the pages: page.h */

struct fault { /* one thing wrong with what was sent */
	const char *
	    pointer; /* "/across": a JSON pointer; the field of a form without its '/' */
	const char *text;
	const char *hint; /* or "" */
};
#define FAULTS_MAX 10

struct call {
	struct web *web;
	struct http_request *req;
	const struct route *route;
	struct arena *arena;
	int64_t id;       /* the {id} of the path, or 0 */
	const char *text; /* the {text} of the path, or "" */

	struct caller caller; /* member_id 0: nobody */
	const char *
	    secret; /* what the caller showed: key or cookie; seals kept answers */
	bool
	    own_only; /* the right is of the own kind: show and change only the caller's */

	json_t *body;      /* an object; NULL when the route wants none */
	struct form *form; /* pages: what was posted, or NULL */
	void *state;       /* the handler's own */
	void *act;         /* the running action's own: leave it alone */
	void *shelving;    /* torn.c's, while what is left becomes stock */

	struct store_tx *tx; /* NULL with ROUTE_NO_STORE */
	bool writes;         /* tx may change */

	/* The object of the path, and the workshop it belongs to; ids 0 when there is none. */
	struct member member;
	struct key key;
	struct paper_row paper;
	struct stock_row stock;
	struct workshop_row workshop;
	struct invitation invitation;
	struct request_row request;
	struct plan_row plan;
	struct entry_row entry;
	struct invoice_row invoice;
	struct session session;
	bool
	    enrolled; /* the caller takes part in the workshop (known only with own rights) */

	/* What went wrong. */
	struct err err;
	struct fault faults[FAULTS_MAX];
	size_t n_faults;

	/*
	 * Pages: called by call_fail() instead of an error page, after the rollback, with a
	 * new read-only tx, the object loaded again, and err and faults filled, so that the form
	 * can be shown again with what was typed.  NULL: page_refuse().
	 */
	call_fn *on_fail;

	struct call_inner *inner; /* call.c's own */
};

/* ---- ends ---- */

/* Add a header field to the answer; value is copied. */
void call_field(struct call *call, const char *name, const char *value);
/* ETag of a version. */
void call_etag(struct call *call, int64_t version);
/* JSON; takes json. */
void call_answer_json(struct call *call, int status, json_t *json);
/* Any content; body is copied. */
void call_answer(struct call *call, int status, const char *type,
    const void *body, size_t len);
/* No content: 204. */
void call_answer_empty(struct call *call);
/* 303 to a path of ours; refuses (asserts) anything that leaves this host. */
void call_answer_redirect(struct call *call, const char *path);

/* Ends the call with call->err (or the faults). */
void call_fail(struct call *call);
/* False when err is NULL or ERR_NONE; else ends the call with it and returns true. */
bool call_failed(struct call *call, const struct err *err);
/* Set call->err and end the call.  hint may be NULL. */
void call_refuse(struct call *call, enum err_kind kind, const char *hint,
    const char *fmt, ...) PRINTF_LIKE(4, 5);

/* ---- what was sent ---- */

/* Remember something wrong; false.  Go on and find the rest, then ask call_is_faulty(). */
bool call_fault(struct call *call, const char *pointer, const char *hint,
    const char *fmt, ...) PRINTF_LIKE(4, 5);
/* Remember an err as a fault at pointer. */
bool call_fault_err(
    struct call *call, const char *pointer, const struct err *err);
/* True when there are faults: the call has ended with 422 then. */
bool call_is_faulty(struct call *call);

/* A parameter of the query, decoded; NULL when absent.  Sent twice or ill-formed: a fault. */
const char *call_query(struct call *call, const char *name);
/* A number from the query: fallback when absent; a fault when it is none of min..max. */
int64_t call_query_number(struct call *call, const char *name, int64_t min,
    int64_t max, int64_t fallback);
/* The page of a list: ?limit=1..100&after=ID.  Ask for limit + 1 rows. */
struct page call_query_page(struct call *call);
/* Faults for parameters that are none of `known` (NULL-terminated). */
void call_query_only(struct call *call, const char *const *known);

/* ---- help for handlers ---- */

void *call_alloc(struct call *call, size_t size); /* zeroed */
char *call_printf(struct call *call, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* The caller's member id when only their own may be seen, else 0. */
int64_t call_only_member(const struct call *call);
static inline bool call_has_role(const struct call *call, unsigned roles)
{
	return ((unsigned)call->caller.roles & roles) != 0;
}
/* "https://studio.example": from the configuration, else from Host. */
const char *call_origin(struct call *call);

/* Note an event in this transaction, then call next(call).  Takes details (may be NULL). */
void call_event(struct call *call, const char *kind, int64_t workshop_id,
    int64_t member_id, json_t *details, call_fn *next);

/* Count a failed key, code or sign-in against the caller's address; true when the address has
 * had its number for this minute: answer ERR_LIMIT then. */
bool call_count_failure(struct call *call);

/* ---- for web.c ---- */

void call_start(struct web *web, struct http_request *req);

#endif
