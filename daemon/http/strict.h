/* SPDX-License-Identifier: MIT */
/*
 * The strict check: what a complete head says, and whether it may be believed.
 *
 * It refuses whatever two programs might read differently (two lengths, a length and a
 * coding, a name with a space, two hosts ...), what we do not speak (methods, versions,
 * codings, expectations) and targets with a second meaning (`%2e%2e`, `%00`, `%zz`,
 * overlong UTF-8).  RFC 9110 and 9112; the rows are in docs/protocol.md.
 *
 * Pure: the same octets give the same verdict.
 */
#ifndef HTTP_STRICT_H
#define HTTP_STRICT_H

#include <stdbool.h>
#include <stddef.h>

#include "guard.h"
#include "http.h"
#include "refusal.h"

struct strict_rules {
	size_t body_max;
	const char *const
	    *names; /* hosts we answer to, NULL-terminated; NULL: any */
};

struct head {
	char *octets; /* owned; the strings below point into it */
	enum http_method method;
	int minor;         /* of HTTP/1.x */
	const char *path;  /* percent-encoded, begins with '/' */
	const char *query; /* without '?', "" when there is none */
	const char
	    *host; /* "host" or "host:port" as sent, "" when there is none */
	struct http_field fields[HEAD_FIELDS_MAX];
	size_t n_fields;
	size_t length; /* of the body */
	bool close;    /* the client will send nothing more */
	bool expects_continue;
};

/*
 * Read the octets of one head as the guard took them.  On true *out is filled and its
 * octets are to be freed with head_free(); on false nothing is held and r says why.
 */
bool strict_read_head(const char *octets, size_t len,
    const struct strict_rules *rules, struct head *out,
    struct refusal *r) MUST_USE;
void head_free(struct head *head);

/* The first field of that name (case does not matter), NULL when absent. */
const char *head_field(const struct head *head, const char *name);

/* The parts, for tests: both say no by filling r. */
bool strict_check_target(const char *target, struct refusal *r) MUST_USE;
bool strict_check_host(const char *host, struct refusal *r) MUST_USE;

#endif
