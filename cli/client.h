/* SPDX-License-Identifier: MIT */
/*
 * Talk to the server: one call at a time, asked again where that is safe.
 *
 *     client_new(&config, &client, &err);
 *     client_call(client, &(struct asking){"POST", "/v1/join", body}, &answer, &err);
 *
 * Every POST carries an Idempotency-Key made once, so it may be repeated after a broken
 * connection, 503 or "still under way" and is done once.  A change carries If-Match and is
 * repeated only when the server cannot have done it.
 */
#ifndef CLI_CLIENT_H
#define CLI_CLIENT_H

#include "cli_answer.h"

struct client;

struct client_config {
	const char *server; /* from settings_server() */
	const char *ca;  /* PEM file of the only authority to trust, or NULL */
	const char *key; /* NULL: calls without one */
	const char
	    *once; /* what Idempotency-Keys are made from, NULL: random */
	int wait_seconds; /* how long to go on asking, -1: 20 when busy, 1 when away */
	void (*waiting)(void *ctx,
	    const char *why); /* told before each pause; may be NULL */
	void *ctx;
};

struct asking {
	const char *method, *path; /* "GET", "/v1/me" */
	const json_t *body;        /* NULL: none */
	const char *if_match;      /* an ETag, NULL: none */
};

/* The config's strings are copied. */
bool client_new(const struct client_config *config, struct client **out,
    struct err *err) MUST_USE;
void client_delete(struct client *client); /* NULL is fine */

/* True with a 2xx answer in *out; *out is yours to answer_free() either way. */
bool client_call(struct client *client, const struct asking *asking,
    struct answer *out, struct err *err) MUST_USE;

/* What a failure of libcurl means for a person; verify is the X509_V_ERR number or 0. */
struct wire_failure {
	int code; /* CURLcode */
	long verify;
	const char *server, *ca, *detail;
	const char *method;
	bool sent; /* it may have reached the server */
};
bool client_explain(const struct wire_failure *failure, struct err *err);

#endif
