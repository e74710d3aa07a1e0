/* SPDX-License-Identifier: MIT */
/*
 * Bytes to requests, answers to bytes; knows no paper.
 *
 * One http_server per event loop.  The handler gets a request that has passed the strict
 * check (framing, host, sizes, target), may keep it as long as it likes, and must answer
 * it exactly once with http_reply().  Everything here runs on the loop's thread.
 *
 * A request is borrowed: it lives until http_reply() has been called for it.  A client
 * that leaves before its answer changes nothing for the handler: it still answers, and
 * the answer is dropped.
 */
#ifndef HTTP_HTTP_H
#define HTTP_HTTP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"

struct event_base;
struct http_server;
struct http_request;

enum http_method {
	HTTP_GET,
	HTTP_HEAD,
	HTTP_POST,
	HTTP_PUT,
	HTTP_PATCH,
	HTTP_DELETE
};

struct http_config {
	const char *
	    listen; /* "127.0.0.1:8443", "[::1]:0", "unix:/run/tearshared/sock" */
	const char *
	    certificate; /* PEM file; NULL: plain HTTP, loopback or unix socket only */
	const char *private_key; /* PEM file */
	const char *const
	    *names; /* host names we answer to, NULL-terminated; NULL: any */
	const char *const
	    *trusted_proxies; /* addresses whose X-Forwarded-For counts */
	size_t body_max;      /* 64 KiB */
	int connections_max;
	int per_address_max; /* 256; loopback and trusted proxies exempt */
	int head_seconds, body_seconds, idle_seconds; /* 10, 20, 60 */
	int listen_fd; /* an already bound socket (several loops, activation), or -1 */
	bool tls_expected; /* the pages may send HSTS and __Host- cookies */
};

/* The handler's view of one request. */
enum http_method http_method(const struct http_request *req);
const char *http_path(const struct http_request
	*req); /* as sent, percent-encoded, without query */
const char *http_query(
    const struct http_request *req); /* without '?', "" when there is none */
/* The only line of that name, NULL when absent.  Fields sent twice that may not be are refused before. */
const char *http_header(const struct http_request *req, const char *name);
const char *http_body(const struct http_request *req, size_t *len);
const char *http_peer(
    const struct http_request *req); /* address without port */
const char *http_id(
    const struct http_request *req); /* our id: in the log and in the answer */
bool http_is_tls(const struct http_request *req);

struct http_field {
	const char *name,
	    *value; /* value must hold no CR, LF or NUL: asserted */
};

/*
 * Answer.  body may be NULL with len 0.  The fields of every answer (request id, nosniff,
 * referrer policy, HSTS ...) are added here.  HEAD gets the length and no content.
 * An http_reply() for a status of 400 and above that left a body unread closes.
 */
void http_reply(struct http_request *req, int status,
    const struct http_field *fields, size_t n_fields, const void *body,
    size_t len);

typedef void http_handler_fn(struct http_request *req, void *ctx);
/* How this program writes a refusal of the strict check: called to make the body of a 4xx/5xx that
 * http itself answers.  Writes the content type and body; both are borrowed till it is called again. */
typedef void http_refusal_fn(void *ctx, int status, const char *detail,
    const char *hint, const char *id, const char **type, const char **body,
    size_t *len);

/* The config is copied.  *out is the caller's; the base must outlive it. */
bool http_server_new(struct event_base *base, const struct http_config *config,
    http_handler_fn *handler, http_refusal_fn *refusal, void *ctx,
    struct http_server **out, struct err *err) MUST_USE;
/* Address it listens on, with the real port: "127.0.0.1:40123". */
const char *http_server_address(const struct http_server *server);
/* Read certificate and key again; the old ones stay when that fails. */
bool http_server_reload(struct http_server *server, struct err *err) MUST_USE;
/* Stop accepting, answer what was received, close idle connections after one second; calls done
 * when the last connection is gone. */
void http_server_drain(
    struct http_server *server, void (*done)(void *ctx), void *ctx);
/* Requests that have no answer yet. */
size_t http_server_pending(const struct http_server *server);
void http_server_delete(struct http_server *server); /* NULL is fine */

#endif
