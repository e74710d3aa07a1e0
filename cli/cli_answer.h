/* SPDX-License-Identifier: MIT */
/*
 * An answer of the server, read: bytes to JSON, a refusal to a struct err.
 *
 * Pure: no socket here, so tests and the fuzzer feed it what no server would send.
 */
#ifndef CLI_ANSWER_H
#define CLI_ANSWER_H

#include <jansson.h>
#include <stddef.h>

#include "err.h"

struct answer {
	long status;
	char type
	    [80]; /* content type without parameters, "" when there was none */
	char etag[80];    /* as sent, with its quotes; "" when there was none */
	long retry_after; /* seconds, -1 when not said */
	char *body;       /* len bytes and a terminator */
	size_t len;
	json_t *json; /* the body of a good JSON answer, else NULL */
};

void answer_free(struct answer *a);

/* One header line as it came ("ETag: \"3\"\r\n"): kept when it is one we read. */
void answer_add_header(struct answer *a, const char *line, size_t len);

/*
 * Judge a whole answer: 2xx fills json (when the body is JSON) and returns true; all else
 * fills err from the problem in the body, or from the status when there is none.
 */
bool answer_judge(struct answer *a, struct err *err) MUST_USE;

/* True when asking again later may help: busy, too often, or the same key under way. */
bool answer_says_later(const struct answer *a);

/* Copies text for a terminal: what could steer one (controls, direction marks) becomes "?". */
void text_clean(char *s);

#endif
