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
	/* "127.0.0.1:8443", "[::1]:0", "unix:/run/tearshared/http" */
	const char *listen;
	/* PEM files; NULL: plain HTTP, on loopback or a unix socket only */
	const char *certificate;
	const char *private_key;
	/* host names we answer to, NULL-terminated; NULL: any */
	const char *const *names;
	/* addresses (or "unix") whose X-Forwarded-For counts */
	const char *const *trusted_proxies;
	/* What is 0 below takes its default: */
	size_t body_max;     /* 64 KiB */
	int connections_max; /* what the limit of descriptors leaves */
	int per_address_max; /* 256; loopback and trusted proxies exempt */
	int head_seconds, body_seconds, idle_seconds; /* 10, 20, 60 */
	/* an already bound socket (several loops, activation), or -1 */
	int listen_fd;
	/* TLS ends at a proxy before us: http_is_tls() says yes */
	bool tls_expected;
};

/* What can be said about a config without serving: the address is one, plain HTTP stays
 * on this machine, certificate and key can be read and belong together. */
bool http_config_check(
    const struct http_config *config, struct err *err) MUST_USE;
/*
 * Bind and listen: for several loops that share one address, each with a dup() as its
 * listen_fd.  A unix socket that nobody serves any more is replaced.  *fd is the caller's.
 */
bool http_listen(
    const struct http_config *config, int *fd, struct err *err) MUST_USE;

/* The handler's view of one request. */
enum http_method http_method(const struct http_request *req);
const char *http_method_name(enum http_method method); /* "GET" */
/* As sent, percent-encoded, without query; valid UTF-8 when decoded, no dot segments. */
const char *http_path(const struct http_request *req);
const char *http_query(
    const struct http_request *req); /* without '?', "" when there is none */
const char *http_host(
    const struct http_request *req); /* "host[:port]"; "" in HTTP/1.0 */
/* The only line of that name (the first, for lists), NULL when absent.  Fields sent twice
 * that may not be are refused before. */
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
 * Answer.  body may be NULL with len 0.  HEAD gets the length and no content.
 *
 * Every answer gets Date, Content-Length, Request-Id, X-Content-Type-Options,
 * Referrer-Policy, Cross-Origin-Opener-Policy, Cross-Origin-Resource-Policy, over TLS
 * Strict-Transport-Security, and, unless the handler passes its own,
 * `Cache-Control: no-store` and
 * `Content-Security-Policy: default-src 'none'; frame-ancestors 'none'`.
 */
void http_reply(struct http_request *req, int status,
    const struct http_field *fields, size_t n_fields, const void *body,
    size_t len);

typedef void http_handler_fn(struct http_request *req, void *ctx);
/*
 * How this program writes a refusal of the strict check: called to make the body of a
 * 4xx/5xx that http itself answers.  Writes the content type and body; both are borrowed
 * until it is called again.  NULL: plain text.
 */
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
/* Connections that are open, those being closed included. */
size_t http_server_connections(const struct http_server *server);
/* Closes everything at once; NULL is fine.  A request without an answer stays the handler's
 * until http_reply(), without its body. */
void http_server_delete(struct http_server *server);

#endif
