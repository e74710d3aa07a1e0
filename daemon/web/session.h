/* SPDX-License-Identifier: MIT */
/*
 * Sessions of browsers: one cookie, and a token in each form that proves that the form came
 * from a page of this session.
 *
 * The cookie holds 32 random bytes; the database only their SHA-256.  Over TLS its name begins
 * with __Host-, so no other host and no plain page can set it.  It is a session cookie of
 * at most the absolute limit of the session; the limits themselves are kept by the database.
 *
 * The token is HMAC-SHA256 of a fixed word under the cookie's value: nothing to store, dead
 * with the session, and of no use to any other.
 */
#ifndef WEB_SESSION_H
#define WEB_SESSION_H

#include <stdbool.h>

#include "call.h"
#include "secret.h"

#define SESSION_SECONDS                                                        \
	(180 * 24 * 60 *                                                       \
	    60) /* at the longest; the database may end it sooner */
#define FORM_TOKEN_TEXT 44

/* The value of our cookie in a Cookie header, or false when it is not there or ill-formed. */
bool session_cookie_read(
    const char *header, bool secure, char value[static SECRET_TEXT]);
/* Set-Cookie: a new value, or (value NULL) the end of the old one. */
void session_cookie_set(struct call *call, const char *value);

void session_token(const char *cookie, char token[static FORM_TOKEN_TEXT]);
bool session_token_is_good(const char *cookie, const char *token);

/*
 * Does a POST come from one of our own pages?  site and origin are the values of Sec-Fetch-Site
 * and Origin or NULL.  Pages are sent with no-referrer, so a browser may say "null" as the
 * origin of our own form; then Sec-Fetch-Site decides, and a browser without it is believed
 * only when the form carries a token (has_token).
 */
bool session_is_same_site(const char *site, const char *origin,
    const char *own_origin, bool has_token);

/* Of a call with a cookie and a form: the form's token belongs to the cookie; else false with
 * call->err filled. */
bool session_form_is_bound(struct call *call);

/* Start a session for a member: a new secret, kept as its hash, the cookie set; ends the one
 * the caller had.  call->tx must be one that writes.  next(call) afterwards, with *secret (when not
 * NULL) the new value, which lives as long as the call. */
void session_start(struct call *call, int64_t studio_id, int64_t member_id,
    const char **secret, call_fn *next);

#endif
