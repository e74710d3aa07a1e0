/* SPDX-License-Identifier: MIT */
/*
 * Asking for sheets, changing one's mind, withdrawing.
 *
 * An action checks what was asked, asks the store, notes the event and calls done inside the
 * transaction; done ends the call.  What is wrong becomes a fault named by the JSON pointer of
 * the API ("/paper_id", "/count", "/across", "/along", "/margin", "/note"), which is the
 * field of the form too.
 */
#ifndef WEB_ACT_REQUEST_H
#define WEB_ACT_REQUEST_H

#include "call.h"

#define NOTE_MAX 200
#define SIZE_TEXT_MAX 64

struct ask {
	int64_t member_id; /* 0: the caller */
	int64_t paper_id;
	int64_t count;
	length across_u, along_u;                           /* finished */
	length margin_u;                                    /* 0: none */
	const char *across_text, *along_text, *margin_text; /* as written */
	bool turn;
	const char *note; /* "" */
};

/* Read a size that a person wrote ("12 1/2 in") into *out; a fault at pointer otherwise.
 * zero: "0 in" is a size too (margins).  text may be NULL (a fault: it is missing). */
bool ask_size(struct call *call, const char *pointer, const char *text,
    bool zero, length *out);
/* What a request asks for now: to be changed and given to act_request_change(). */
struct ask ask_of(const struct request_row *request);

/* Finished size and both margins, up to the next step of the ruler; true when that made it larger. */
bool ask_torn_size(length finished, length margin, length ruler, length *torn);

typedef void act_request_fn(
    struct call *call, const struct request_row *request);
/* call->workshop is the workshop, locked shared. */
void act_request_add(
    struct call *call, const struct ask *ask, act_request_fn *done);
/* call->request is the request, call->workshop its workshop. */
void act_request_change(
    struct call *call, const struct ask *ask, act_request_fn *done);
void act_request_withdraw(struct call *call, call_fn *done);

#endif
