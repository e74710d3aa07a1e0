/* SPDX-License-Identifier: MIT */
/*
 * Errors as answers: application/problem+json (RFC 9457), each type with a page of its own.
 *
 * The one table from kinds of failure to statuses stands in answer.c.
 */
#ifndef WEB_ANSWER_H
#define WEB_ANSWER_H

#include <jansson.h>
#include <stddef.h>

#include "call.h"
#include "err.h"

enum trouble {
	TROUBLE_MALFORMED,
	TROUBLE_KEY,
	TROUBLE_RIGHT,
	TROUBLE_MISSING,
	TROUBLE_METHOD,
	TROUBLE_CONFLICT,
	TROUBLE_STALE,
	TROUBLE_TOO_LARGE,
	TROUBLE_MEDIA,
	TROUBLE_INPUT,
	TROUBLE_VERSION,
	TROUBLE_LIMIT,
	TROUBLE_INTERNAL,
	TROUBLE_BUSY,
};

struct trouble_kind {
	const char *name; /* the last part of "/problems/input" */
	int status;
	const char *title;
	const char *about; /* for its page */
};

const struct trouble_kind *trouble_kind(enum trouble trouble);
enum trouble trouble_of_err(enum err_kind kind);
/* For a status that http/ decided: the type that explains it best. */
enum trouble trouble_of_status(int status);
/* -1 when there is none of that name. */
int trouble_from_name(const char *name);

/*
 * The body.  status is normally the kind's own.  The text of an internal error is not shown.
 * The caller frees it.
 */
char *trouble_body(enum trouble trouble, int status, const struct err *err,
    const struct fault *faults, size_t n_faults, const char *request_id);

#endif
