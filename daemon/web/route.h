/* SPDX-License-Identifier: MIT */
/*
 * The table of routes: what can be called, who may, and what a call needs.
 *
 * Rights are decided from this table and from the database before a handler runs, in one
 * place (sight.c).  The rows of the API stand in routes.c, those of the pages in
 * page_routes.c; web_routes() walks over both.
 *
 *     all   the roles that may do it with whatever the studio has
 *     own   the roles that may do it with what is theirs:
 *             member      themselves          key         one of theirs
 *             workshop    they take part      request     asked for by them
 *             plan        accepted, of a workshop in which they take part
 *
 * A caller with neither right on an object that the caller may see gets 403; on one that
 * the caller may not see the same 404 as for an id that does not exist.
 */
#ifndef WEB_ROUTE_H
#define WEB_ROUTE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "http.h"

struct call;
typedef void call_fn(struct call *call);

enum object { /* what {id} in the path names */
	OBJECT_NONE,
	OBJECT_STUDIO, /* the caller's; not in the path */
	OBJECT_MEMBER,
	OBJECT_KEY,
	OBJECT_PAPER,
	OBJECT_STOCK,
	OBJECT_WORKSHOP,
	OBJECT_INVITATION,
	OBJECT_REQUEST,
	OBJECT_PLAN,
	OBJECT_ENTRY,
	OBJECT_INVOICE,
	OBJECT_SESSION, /* own only */
};

enum route_flag {
	ROUTE_PUBLIC = 1, /* no key needed; one that is given must be good */
	ROUTE_PAGE = 2,   /* HTML: cookie and form instead of key and JSON */
	ROUTE_WRITES =
	    4, /* a transaction that changes; otherwise a read-only view */
	ROUTE_SHARED =
	    8, /* many at once, none across a closing: the workshop is
			     not held from the start, what writes requests locks
			     it shared and looks at its state again */
	ROUTE_ONCE =
	    16, /* Idempotency-Key required (a hidden field in forms) */
	ROUTE_MATCH =
	    32, /* If-Match required (API; forms carry the version in a field) */
	ROUTE_BODY = 64, /* a JSON object is wanted */
	ROUTE_SECRET =
	    128, /* the answer holds a secret: what is kept of it is sealed */
	ROUTE_COSTLY = 256,   /* planning, drawing: limited per studio */
	ROUTE_NO_STORE = 512, /* needs no database: no transaction is begun */
	ROUTE_PAYER =
	    1024, /* of a member: whoever pays for them may as they may */
};

struct route {
	enum http_method method;
	const char *
	    path; /* "/v1/requests/{id}"; {id} a number from 1, {text} one segment */
	unsigned all, own; /* bits of enum role */
	enum object object;
	unsigned flags;
	call_fn *run;
};

/* The rows of the pages: page_routes.c. */
extern const struct route page_routes[];
extern const size_t n_page_routes;

/* The i-th route, NULL after the last. */
const struct route *web_routes(size_t i);

enum route_found { ROUTE_FOUND, ROUTE_UNKNOWN, ROUTE_OTHER_METHOD };

/*
 * Find the route of a path as it was sent.  HEAD finds GET.  For ROUTE_OTHER_METHOD allow
 * is the list of methods the resource knows ("GET, HEAD, POST").  text is a copy of the
 * {text} segment, "" when there is none.
 */
#define ROUTE_TEXT_MAX 128
#define ROUTE_ALLOW_MAX 64
enum route_found route_find(enum http_method method, const char *path,
    const struct route **out, int64_t *id, char text[static ROUTE_TEXT_MAX],
    char allow[static ROUTE_ALLOW_MAX]);

#endif
