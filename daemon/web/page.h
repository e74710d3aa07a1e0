/* SPDX-License-Identifier: MIT */
/*
 * What the flow of a call (call.c) asks of the pages.
 */
#ifndef WEB_PAGE_H
#define WEB_PAGE_H

#include <stdbool.h>

#include "call.h"
#include "err.h"

/*
 * Before anything else of a call to a page: read the cookie into call->secret (NULL when there
 * is none) and what was posted into call->form, and check a form: its content type, its
 * Origin, its token.  False with call->err filled refuses the call.  The session is looked
 * up afterwards, by the SHA-256 of call->secret.
 */
bool page_read(struct call *call) MUST_USE;

/* The Idempotency-Key and the version that a form carries in hidden fields; NULL: none. */
const char *page_once_key(const struct call *call);
const char *page_version(const struct call *call);

/*
 * Answer a call to a page that ended in call->err: the error page, or for ERR_UNKNOWN the way
 * to the sign-in.  There is no transaction; ends with call_answer...().  status is the one
 * that belongs to the error.
 */
void page_refuse(struct call *call, int status);

#endif
