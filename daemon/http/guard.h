/* SPDX-License-Identifier: MIT */
/*
 * The octet guard: finds the end of a request's head and refuses what no head may hold.
 *
 *     struct guard g;
 *     guard_init(&g);
 *     switch (guard_feed(&g, bytes, len, &used)) { ... }       as octets arrive
 *     guard_free(&g);
 *
 * One octet is one step of a small machine, so a head cut into packets at any place gets
 * the same verdict as in one piece.  What it refuses: NUL, other control characters, bare
 * LF, bare CR, folded lines, a second empty line before the request, and lengths beyond
 * the limits below, as soon as they are passed and not only when the line ends.
 *
 * What the head says is the matter of strict.h.
 */
#ifndef HTTP_GUARD_H
#define HTTP_GUARD_H

#include <stddef.h>

#include "refusal.h"
#include "text.h"

#define HEAD_METHOD_MAX 64
#define HEAD_TARGET_MAX 8000
#define HEAD_FIELD_MAX 8192    /* one field line, without its CR LF */
#define HEAD_SECTION_MAX 16384 /* all field lines, with their ends */
#define HEAD_FIELDS_MAX 100

enum guard_verdict { GUARD_MORE, GUARD_DONE, GUARD_REFUSED };

enum guard_state {
	GUARD_BEFORE, /* no octet of the request yet; one empty line may come */
	GUARD_BEFORE_CR, /* CR of that empty line */
	GUARD_METHOD,
	GUARD_TARGET,
	GUARD_VERSION,
	GUARD_LINE_CR, /* CR at the end of the request line */
	GUARD_NAME, /* first octet of a field line, or the CR of the empty one */
	GUARD_FIELD, /* inside a field line */
	GUARD_FIELD_CR,
	GUARD_END_CR, /* CR of the empty line that ends the head */
	GUARD_AT_END, /* complete, or refused: nothing more is taken */
};

struct guard {
	enum guard_state state;
	enum guard_verdict verdict;
	bool blank_seen;
	size_t
	    n_part; /* octets of the method, target, version or field line so far */
	size_t n_section; /* octets of all field lines */
	size_t n_fields;
	struct text
	    head; /* the octets taken, without an empty line before them */
	struct refusal refusal; /* when the verdict is GUARD_REFUSED */
};

void guard_init(struct guard *g);
void guard_free(struct guard *g);
/* Ready for the next head. */
void guard_reset(struct guard *g);

/*
 * Take octets.  *used is how many belong to this head: all of them for GUARD_MORE, up to
 * and with the last LF for GUARD_DONE, up to the offending one for GUARD_REFUSED.  Once
 * done or refused the verdict stays and nothing is used.
 */
enum guard_verdict guard_feed(
    struct guard *g, const char *bytes, size_t len, size_t *used);

/* True when an octet of a request has arrived and its head is not complete. */
bool guard_has_begun(const struct guard *g);

#endif
