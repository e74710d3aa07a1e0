/* SPDX-License-Identifier: MIT */
/*
 * reply.c - answers, and the fields that every one of them carries.
 *
 * The library adds Date and writes the bytes.  Content-Length is set here, because for
 * HEAD the body stays out and the length stays in.
 */
#include <assert.h>
#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/event.h>
#include <event2/http.h>
#include <event2/keyvalq_struct.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "log.h"
#include "server.h"

/* clang-format off */
static const struct http_field always[] = {
	{ "X-Content-Type-Options", "nosniff" },
	{ "Referrer-Policy", "no-referrer" },
	{ "Cross-Origin-Opener-Policy", "same-origin" },
	{ "Cross-Origin-Resource-Policy", "same-origin" },
};
static const struct http_field unless_given[] = {
	{ "Cache-Control", "no-store" },
	{ "Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'" },
};
static const struct { int status; const char *reason; } reasons[] = {
	{ 200, "OK" }, { 201, "Created" }, { 202, "Accepted" }, { 204, "No Content" },
	{ 301, "Moved Permanently" }, { 302, "Found" }, { 303, "See Other" },
	{ 304, "Not Modified" }, { 307, "Temporary Redirect" }, { 308, "Permanent Redirect" },
	{ 400, "Bad Request" }, { 401, "Unauthorized" }, { 403, "Forbidden" },
	{ 404, "Not Found" }, { 405, "Method Not Allowed" }, { 406, "Not Acceptable" },
	{ 408, "Request Timeout" }, { 409, "Conflict" }, { 410, "Gone" },
	{ 411, "Length Required" }, { 412, "Precondition Failed" },
	{ 413, "Content Too Large" }, { 414, "URI Too Long" },
	{ 415, "Unsupported Media Type" }, { 417, "Expectation Failed" },
	{ 421, "Misdirected Request" }, { 422, "Unprocessable Content" },
	{ 428, "Precondition Required" }, { 429, "Too Many Requests" },
	{ 431, "Request Header Fields Too Large" }, { 500, "Internal Server Error" },
	{ 501, "Not Implemented" }, { 503, "Service Unavailable" },
	{ 505, "HTTP Version Not Supported" },
};
/* clang-format on */

#define COUNT(array) (sizeof(array) / sizeof(*(array)))

static const char *reason_of(int status)
{
	for (size_t i = 0; i < COUNT(reasons); i++)
		if (reasons[i].status == status)
			return reasons[i].reason;
	return "Other";
}

const char *reply_make_id(struct http_server *s, char id[static 32])
{
	snprintf(id, 32, "%s-%06x", s->id_prefix, ++s->n_requests);
	return id;
}

static void add_field(
    struct evkeyvalq *out, const char *name, const char *value)
{
	assert(!strpbrk(value, "\r\n"));
	if (evhttp_add_header(out, name, value) != 0)
		abort(); /* out of memory, or a name with CR or LF */
}

static bool is_given(
    const struct http_field *fields, size_t n, const char *name)
{
	for (size_t i = 0; i < n; i++)
		if (!strcasecmp(fields[i].name, name))
			return true;
	return false;
}

static bool has_no_content(int status)
{
	return status == 204 || status == 304 || status < 200;
}

static void add_fields(struct evkeyvalq *out, const struct http_request *req,
    int status, const struct http_field *fields, size_t n, size_t len)
{
	char length[24];

	for (size_t i = 0; i < n; i++)
		add_field(out, fields[i].name, fields[i].value);
	for (size_t i = 0; i < COUNT(always); i++)
		add_field(out, always[i].name, always[i].value);
	for (size_t i = 0; i < COUNT(unless_given); i++)
		if (!is_given(fields, n, unless_given[i].name))
			add_field(
			    out, unless_given[i].name, unless_given[i].value);
	if (req->tls)
		add_field(out, "Strict-Transport-Security", "max-age=31536000");
	add_field(out, "Request-Id", req->id);
	snprintf(length, sizeof(length), "%zu", len);
	if (!has_no_content(status))
		add_field(out, "Content-Length", length);
}

static void send_answer(struct conn *c, const struct http_request *req,
    int status, const struct http_field *fields, size_t n_fields,
    const void *body, size_t len)
{
	struct evkeyvalq *out = evhttp_request_get_output_headers(req->below);
	struct evbuffer *content = evhttp_request_get_output_buffer(req->below);

	c->close = c->close || c->server->draining;
	add_fields(out, req, status, fields, n_fields, len);
	if (c->close)
		add_field(out, "Connection", "close");
	if (len > 0 && req->head.method != HTTP_HEAD && !has_no_content(status))
		evbuffer_add(content, body, len);
	conn_enter(c, CONN_WRITE);
	evhttp_send_reply(req->below, status, reason_of(status), NULL);
	/* The library reads on to see the client close.  One that has said all it wanted and
	 * only listens is no reason to stop, and one that floods us fills no memory. */
	bufferevent_disable(c->bev, EV_READ);
}

static void log_answer(const struct http_request *req, int status, size_t len)
{
	log_event(LOG_INFO, "request-done",
	    "req=%s peer=%s method=%s status=%d bytes=%zu ms=%lld", req->id,
	    req->peer, http_method_name(req->head.method), status, len,
	    (long long)(clock_ms() - req->begun));
}

void http_reply(struct http_request *req, int status,
    const struct http_field *fields, size_t n_fields, const void *body,
    size_t len)
{
	struct conn *c = req->conn;

	log_answer(req, status, len);
	if (c) {
		c->request = NULL;
		c->server->n_pending--;
		send_answer(c, req, status, fields, n_fields, body, len);
	}
	head_free(&req->head);
	free(req);
}

void reply_refusal(struct conn *c, struct evhttp_request *below)
{
	struct http_request req = {
	    .conn = c, .below = below, .begun = clock_ms()};
	const struct refusal *r = &c->refusal;
	const char *type = "text/plain; charset=utf-8", *body = r->detail;
	size_t len = strlen(body);
	char shown[LOG_VALUE_MAX];

	req.tls = c->ssl || c->server->config.tls_expected;
	reply_make_id(c->server, req.id);
	log_event(LOG_INFO, "request-refused",
	    "req=%s peer=%s status=%d detail=%s", req.id, c->peer, r->status,
	    log_value(shown, r->detail));
	if (c->server->refusal)
		c->server->refusal(c->server->ctx, r->status, r->detail,
		    r->hint, req.id, &type, &body, &len);
	const struct http_field fields[] = {{"Content-Type", type}};

	send_answer(c, &req, r->status, fields, 1, body, len);
}
