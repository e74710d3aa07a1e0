/* SPDX-License-Identifier: MIT */
/*
 * http.c - the server: libevent's evhttp for bodies, answers and keep-alive, and around
 * it what evhttp does not do.
 *
 *     guard.c, strict.c   what a request may be         (pure)
 *     feed.c              octets in; evhttp sees no head but ours
 *     conn.c              deadlines, limits, staged closing
 *     reply.c             answers and their fields
 *     tls.c, listen.c     certificate and address
 *
 * Why evhttp at all: it is in the distribution, kept patched there, and fast enough.  Why
 * the rest: it accepts two lengths, bare line feeds, names with spaces and more, cuts no
 * client that drips, and speaks HTML when it refuses by itself.
 */
#include "http.h"

#include <arpa/inet.h>
#include <errno.h>
#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/event.h>
#include <event2/http.h>
#include <event2/listener.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/resource.h>
#include <unistd.h>

#include "alloc.h"
#include "log.h"
#include "server.h"

#define SWEEP_MS 250
#define DESCRIPTORS_KEPT 64 /* for the database, the log, files */

/* --- a request -------------------------------------------------------------------- */

enum http_method http_method(const struct http_request *req)
{
	return req->head.method;
}

const char *http_method_name(enum http_method method)
{
	static const char *const names[] = {
	    "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"};

	return names[method];
}

const char *http_path(const struct http_request *req)
{
	return req->head.path;
}

const char *http_query(const struct http_request *req)
{
	return req->head.query;
}

const char *http_host(const struct http_request *req)
{
	return req->head.host;
}

const char *http_header(const struct http_request *req, const char *name)
{
	return head_field(&req->head, name);
}

const char *http_body(const struct http_request *req, size_t *len)
{
	*len = req->body_len;
	return req->body;
}

const char *http_peer(const struct http_request *req)
{
	return req->peer;
}

const char *http_id(const struct http_request *req)
{
	return req->id;
}

bool http_is_tls(const struct http_request *req)
{
	return req->tls;
}

/* The last entry of a comma list, cut off; false when the list is empty. */
static bool take_last(char *list, char **entry)
{
	char *comma = strrchr(list, ','), *from = comma ? comma + 1 : list;
	size_t len;

	from += strspn(from, " \t");
	for (len = strlen(from); len && strchr(" \t", from[len - 1]); len--)
		continue;
	from[len] = '\0';
	*entry = from;
	return *list != '\0';
}

static bool is_address(const char *s)
{
	struct in6_addr a;

	return inet_pton(AF_INET, s, &a) == 1 ||
	       inet_pton(AF_INET6, s, &a) == 1;
}

static bool is_proxy(const struct http_config *config, const char *address)
{
	const char *const *t = config->trusted_proxies;

	while (t && *t && strcmp(*t, address))
		t++;
	return t && *t;
}

/*
 * Who asks.  Each proxy adds the address it was asked from at the end, so the list is
 * read from the end as long as what we read came from a proxy we trust; anything before
 * that may be the client's own invention.
 */
static void find_peer(struct http_request *req, const struct conn *c)
{
	struct text list;
	char *entry;

	memcpy(req->peer, c->peer, sizeof(req->peer));
	if (!c->trusted)
		return;
	text_init(&list, HEAD_SECTION_MAX);
	for (size_t i = 0; i < req->head.n_fields; i++)
		if (!strcasecmp(req->head.fields[i].name, "X-Forwarded-For"))
			text_addf(&list, ",%s", req->head.fields[i].value);
	while (is_proxy(&c->server->config, req->peer) &&
	       take_last(list.data, &entry)) {
		if (!is_address(entry))
			break;
		snprintf(req->peer, sizeof(req->peer), "%s", entry);
		entry = strrchr(list.data, ',');
		if (!entry)
			break;
		*entry = '\0';
	}
	text_free(&list);
}

static struct http_request *make_request(
    struct conn *c, struct evhttp_request *below)
{
	struct evbuffer *body = evhttp_request_get_input_buffer(below);
	struct http_request *req = xcalloc(1, sizeof(*req));

	req->conn = c;
	req->below = below;
	req->head = c->head;
	c->head = (struct head){.octets = NULL};
	req->body_len = evbuffer_get_length(body);
	req->body =
	    req->body_len ? (const char *)evbuffer_pullup(body, -1) : "";
	req->begun = clock_ms();
	req->tls = c->ssl || c->server->config.tls_expected;
	reply_make_id(c->server, req->id);
	find_peer(req, c);
	return req;
}

/* --- between evhttp and us -------------------------------------------------------- */

static void on_released(struct evhttp_connection *below, void *ctx)
{
	struct conn *c = ctx;

	(void)below;
	c->released = true;
	event_active(c->server->soon, 0, 0);
}

/* The answer has left; evhttp closes now or reads the next request. */
static void on_complete(struct evhttp_request *below, void *ctx)
{
	struct conn *c = ctx;
	struct evbuffer *input = bufferevent_get_input(c->bev);

	(void)below;
	if (c->close) {
		if (c->ssl)
			tls_say_goodbye(c->ssl);
		conn_enter(c, CONN_REFUSED);
		evbuffer_drain(input, evbuffer_get_length(input));
		return;
	}
	conn_enter(c, CONN_IDLE);
	evbuffer_add_buffer(c->held, input);
	feed_next(c);
}

static void on_request(struct evhttp_request *below, void *ctx)
{
	struct http_server *s = ctx;
	size_t slot = strtoul(evhttp_request_get_uri(below) + 1, NULL, 10);
	struct conn *c = s->slots[slot];

	evhttp_request_set_on_complete_cb(below, on_complete, c);
	evhttp_connection_set_closecb(
	    evhttp_request_get_connection(below), on_released, c);
	conn_look_up(c);
	if (c->refusal.status) {
		reply_refusal(c, below);
		return;
	}
	conn_enter(c, CONN_ANSWER);
	c->request = make_request(c, below);
	s->n_pending++;
	s->handler(c->request, s->ctx);
}

/* --- the server ------------------------------------------------------------------- */

static void stop_listening(struct http_server *s)
{
	if (!s->bound)
		return;
	evhttp_del_accept_socket(
	    s->http, s->bound); /* frees the listener, closes the socket */
	s->bound = NULL;
	s->listener = NULL;
	if (s->socket_path)
		unlink(s->socket_path);
}

static void on_sweep(evutil_socket_t fd, short what, void *ctx)
{
	struct http_server *s = ctx;

	(void)fd, (void)what;
	/* One tick after the drain began: what had connected by then has been accepted. */
	if (s->draining)
		stop_listening(s);
	else if (!s->full)
		evconnlistener_enable(s->listener);
	conn_sweep(s);
}

static void on_soon(evutil_socket_t fd, short what, void *ctx)
{
	(void)fd, (void)what;
	conn_sweep(ctx);
}

/* Out of descriptors: libevent would ask again at once and for ever.  The context given
 * here is the library's own, so all that can be done is to stop; the sweep resumes. */
static void on_accept_error(struct evconnlistener *listener, void *ctx)
{
	(void)ctx;
	log_event(LOG_WARN, "accept-paused", "reason=\"%s\" ms=%d",
	    strerror(errno), SWEEP_MS);
	evconnlistener_disable(listener);
}

static int default_connections(void)
{
	struct rlimit limit = {.rlim_cur = 1024};

	getrlimit(RLIMIT_NOFILE, &limit);
	if (limit.rlim_cur > 8192)
		return 8192;
	return limit.rlim_cur > 2 * DESCRIPTORS_KEPT
		   ? (int)limit.rlim_cur - DESCRIPTORS_KEPT
		   : (int)limit.rlim_cur / 2;
}

static const char *const *copy_list(const char *const *list)
{
	size_t n = 0;

	while (list && list[n])
		n++;
	if (!n)
		return NULL;
	char **copy = xcalloc(n + 1, sizeof(*copy));

	for (size_t i = 0; i < n; i++)
		copy[i] = xstrdup(list[i]);
	return (const char *const *)copy;
}

static void free_list(const char *const *list)
{
	for (size_t i = 0; list && list[i]; i++)
		free((char *)list[i]);
	free((void *)list);
}

static void copy_config(struct http_server *s, const struct http_config *from)
{
	struct http_config *to = &s->config;

	*to = *from;
	to->listen = from->listen ? xstrdup(from->listen) : NULL;
	to->certificate = from->certificate ? xstrdup(from->certificate) : NULL;
	to->private_key = from->private_key ? xstrdup(from->private_key) : NULL;
	to->names = copy_list(from->names);
	to->trusted_proxies = copy_list(from->trusted_proxies);
	if (!to->body_max)
		to->body_max = 64 * 1024;
	if (to->connections_max <= 0)
		to->connections_max = default_connections();
	if (to->per_address_max <= 0)
		to->per_address_max = 256;
	if (to->head_seconds <= 0)
		to->head_seconds = 10;
	if (to->body_seconds <= 0)
		to->body_seconds = 20;
	if (to->idle_seconds <= 0)
		to->idle_seconds = 60;
}

static bool start_listening(struct http_server *s, int fd)
{
	s->listener = evconnlistener_new(s->base, NULL, NULL,
	    LEV_OPT_CLOSE_ON_FREE | LEV_OPT_CLOSE_ON_EXEC, 0, fd);
	if (!s->listener)
		return false;
	s->bound = evhttp_bind_listener(s->http, s->listener);
	if (!s->bound) {
		evconnlistener_free(s->listener);
		s->listener = NULL;
		return false;
	}
	evconnlistener_set_error_cb(s->listener, on_accept_error);
	return true;
}

static void set_up_http(struct http_server *s)
{
	struct timeval tick = {0, SWEEP_MS * 1000};
	uint32_t random = 0;

	evhttp_set_bevcb(s->http, conn_open, s);
	evhttp_set_gencb(s->http, on_request, s);
	evhttp_set_allowed_methods(s->http, EVHTTP_REQ_GET | EVHTTP_REQ_POST);
	evhttp_set_default_content_type(s->http, NULL);
	evhttp_set_max_body_size(s->http, (ev_ssize_t)s->config.body_max);
	s->sweep = event_new(s->base, -1, EV_PERSIST, on_sweep, s);
	s->soon = event_new(s->base, -1, 0, on_soon, s);
	event_add(s->sweep, &tick);
	if (getrandom(&random, sizeof(random), 0) != sizeof(random))
		random = (uint32_t)clock_ms();
	snprintf(s->id_prefix, sizeof(s->id_prefix), "%08x", random);
}

bool http_server_new(struct event_base *base, const struct http_config *config,
    http_handler_fn *handler, http_refusal_fn *refusal, void *ctx,
    struct http_server **out, struct err *err)
{
	struct http_server *s = xcalloc(1, sizeof(*s));
	int fd = config->listen_fd;

	signal(SIGPIPE,
	    SIG_IGN); /* a TLS write after a shutdown would end the process */
	TAILQ_INIT(&s->conns);
	s->base = base;
	s->handler = handler;
	s->refusal = refusal;
	s->ctx = ctx;
	copy_config(s, config);
	if (config->certificate && !tls_make_context(config->certificate,
				       config->private_key, &s->tls, err))
		goto failed;
	if (fd < 0 && !http_listen(config, &fd, err))
		goto failed;
	s->http = evhttp_new(base);
	if (!s->http || evutil_make_socket_nonblocking(fd) < 0) {
		err_set(err, ERR_INTERNAL, "the server could not be set up");
		goto failed;
	}
	listen_print_address(fd, s->address, sizeof(s->address));
	if (listen_is_unix(s->address))
		s->socket_path = xstrdup(s->address + 5);
	set_up_http(s);
	if (!start_listening(s, fd)) {
		err_set(err, ERR_INTERNAL, "the server could not listen on %s",
		    s->address);
		goto failed;
	}
	*out = s;
	return true;
failed:
	if (fd >= 0 && !s->listener && config->listen_fd < 0)
		close(fd);
	http_server_delete(s);
	return false;
}

const char *http_server_address(const struct http_server *server)
{
	return server->address;
}

bool http_server_reload(struct http_server *s, struct err *err)
{
	SSL_CTX *fresh = NULL;

	if (!s->tls)
		return true;
	if (!tls_make_context(
		s->config.certificate, s->config.private_key, &fresh, err))
		return false;
	SSL_CTX_free(
	    s->tls); /* open connections hold references of their own */
	s->tls = fresh;
	return true;
}

void http_server_drain(
    struct http_server *s, void (*done)(void *ctx), void *ctx)
{
	s->done = done;
	s->done_ctx = ctx;
	if (s->draining)
		return;
	s->draining = true;
	conn_drain_all(s);
}

size_t http_server_pending(const struct http_server *server)
{
	return server->n_pending;
}

size_t http_server_connections(const struct http_server *server)
{
	return server->n_conns;
}

void http_server_delete(struct http_server *s)
{
	struct conn *c;

	if (!s)
		return;
	if (s->http) {
		stop_listening(s);
		for (c = TAILQ_FIRST(&s->conns); c; c = TAILQ_NEXT(c, link)) {
			if (!c->request)
				continue;
			c->request->conn = NULL;
			c->request->body = "";
			c->request->body_len = 0;
		}
		evhttp_free(s->http);
	}
	while ((c = TAILQ_FIRST(&s->conns)))
		conn_delete(c);
	if (s->sweep)
		event_free(s->sweep);
	if (s->soon)
		event_free(s->soon);
	SSL_CTX_free(s->tls);
	free((char *)s->config.listen);
	free((char *)s->config.certificate);
	free((char *)s->config.private_key);
	free_list(s->config.names);
	free_list(s->config.trusted_proxies);
	free(s->socket_path);
	free(s->slots);
	free(s);
}
