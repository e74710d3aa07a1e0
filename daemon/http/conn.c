/* SPDX-License-Identifier: MIT */
/*
 * conn.c - the life of a connection, its deadlines, and how many there may be.
 *
 * libevent's own time limit is about inactivity: a client that drips one octet a second
 * is never cut.  So each state here has a moment at which it must be over, and one sweep
 * every 250 ms looks at all of them.  On expiry the socket is shut down and the library
 * finds out by itself, as if the client had left.
 *
 * The library gives no reliable notice that it has freed a connection.  We hold a
 * reference of our own to the bufferevent; when its callbacks are gone, so is the
 * library.  What follows is ours: the library has half-closed, we read on for at most a
 * second or 64 KiB (RFC 9112, 9.6: a hard close can wipe out the answer), then free it.
 *
 * Counting the connections of one address is linear: fine for a few thousand.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/bufferevent_ssl.h>
#include <event2/event.h>
#include <event2/http.h>
#include <event2/listener.h>
#include <netinet/tcp.h>
#include <openssl/err.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "alloc.h"
#include "log.h"
#include "server.h"

#define LINGER_MS 1000
#define LINGER_OCTETS (64 * 1024)
#define WRITE_MS 60000
#define REFUSED_MS 5000

int64_t clock_ms(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* How long a state may last; 0: as long as it takes. */
static int64_t allowance(const struct conn *c, enum conn_state state)
{
	const struct http_config *config = &c->server->config;

	switch (state) {
	case CONN_IDLE:
		return c->server->draining
			   ? LINGER_MS
			   : config->idle_seconds * INT64_C(1000);
	case CONN_HEAD:
		return config->head_seconds * INT64_C(1000);
	case CONN_BODY:
		return config->body_seconds * INT64_C(1000);
	case CONN_WRITE:
		return WRITE_MS;
	case CONN_REFUSED:
		return REFUSED_MS;
	case CONN_LINGER:
		return LINGER_MS;
	case CONN_ANSWER:
	case CONN_DYING:
		break;
	}
	return 0;
}

void conn_enter(struct conn *c, enum conn_state next)
{
	static const char *const names[] = {"idle", "head", "body", "answer",
	    "write", "refused", "dying", "linger"};
	int64_t ms = allowance(c, next);

	log_event(LOG_DEBUG, "conn", "conn=%u state=%s->%s", c->number,
	    names[c->state], names[next]);
	c->state = next;
	c->deadline = ms ? clock_ms() + ms : 0;
}

/* Nothing can be said to this client any more. */
static void cut(struct conn *c)
{
	if (c->ssl)
		tls_say_goodbye(c->ssl);
	shutdown(bufferevent_getfd(c->bev), SHUT_RDWR);
	conn_enter(c, CONN_DYING);
}

/* --- opening ---------------------------------------------------------------------- */

static struct bufferevent *make_bev(struct event_base *base, struct conn *c)
{
	if (!c->server->tls)
		return bufferevent_socket_new(base, -1, BEV_OPT_CLOSE_ON_FREE);
	c->ssl = SSL_new(c->server->tls);
	if (!c->ssl)
		return NULL;

	struct bufferevent *bev = bufferevent_openssl_socket_new(
	    base, -1, c->ssl, BUFFEREVENT_SSL_ACCEPTING, BEV_OPT_CLOSE_ON_FREE);

	if (bev)
		bufferevent_openssl_set_allow_dirty_shutdown(bev, 1);
	else
		SSL_free(c->ssl);
	return bev;
}

/* A free place in the table; makes room for one more when there is none. */
static size_t take_slot(struct http_server *s, struct conn *c)
{
	size_t i = 0;

	while (i < s->n_slots && s->slots[i])
		i++;
	if (i == s->n_slots) {
		s->n_slots = s->n_slots ? 2 * s->n_slots : 64;
		s->slots = xrealloc(s->slots, s->n_slots, sizeof(*s->slots));
		memset(s->slots + i, 0, (s->n_slots - i) * sizeof(*s->slots));
	}
	s->slots[i] = c;
	return i;
}

/* When the house is full the one that has been idle longest goes, but not the one that
 * has just come.  Those that are leaving already make room enough. */
static bool make_room(struct http_server *s, const struct conn *newcomer)
{
	struct conn *c, *oldest = NULL;
	size_t n_leaving = 0;

	for (c = TAILQ_FIRST(&s->conns); c; c = TAILQ_NEXT(c, link)) {
		n_leaving += c->state == CONN_DYING || c->state == CONN_LINGER;
		if (c == newcomer || c->state != CONN_IDLE)
			continue;
		if (!oldest || c->deadline < oldest->deadline)
			oldest = c;
	}
	if (s->n_conns - n_leaving <= (size_t)s->config.connections_max)
		return false;
	if (oldest)
		cut(oldest);
	return oldest != NULL;
}

static void check_full(struct http_server *s, const struct conn *newcomer)
{
	bool full = s->n_conns > (size_t)s->config.connections_max;

	if (newcomer && full && make_room(s, newcomer))
		return;
	if (full && !s->full && s->listener) {
		log_event(LOG_WARN, "connections-full", "connections=%zu",
		    s->n_conns);
		evconnlistener_disable(s->listener);
	} else if (!full && s->full && s->listener) {
		evconnlistener_enable(s->listener);
	}
	s->full = full;
}

/*
 * The library asks for a bufferevent for a socket it has accepted, and never gets NULL:
 * it would speak plain HTTP on the TLS port.  If TLS fails here, the connection gets a
 * plain one whose input goes nowhere and is cut as soon as the socket is known.
 */
struct bufferevent *conn_open(struct event_base *base, void *ctx)
{
	struct http_server *s = ctx;
	struct conn *c = xcalloc(1, sizeof(*c));

	c->server = s;
	c->number = ++s->n_accepted;
	c->fresh = true;
	c->bev = make_bev(base, c);
	if (!c->bev) {
		c->ssl = NULL;
		c->bev =
		    bufferevent_socket_new(base, -1, BEV_OPT_CLOSE_ON_FREE);
		c->state = CONN_DYING;
	}
	if (!c->bev)
		abort(); /* out of memory */
	bufferevent_incref(c->bev);
	guard_init(&c->guard);
	c->held = evbuffer_new();
	c->watch =
	    evbuffer_add_cb(bufferevent_get_input(c->bev), feed_on_input, c);
	c->deadline =
	    clock_ms() + (s->draining ? LINGER_MS : allowance(c, CONN_HEAD));
	TAILQ_INSERT_TAIL(&s->conns, c, link);
	c->slot = take_slot(s, c);
	s->n_conns++;
	check_full(s, c);
	event_active(s->soon, 0, 0);
	return c->bev;
}

static bool is_loopback(const struct in6_addr *a)
{
	return IN6_IS_ADDR_LOOPBACK(a) ||
	       (IN6_IS_ADDR_V4MAPPED(a) && a->s6_addr[12] == 127);
}

static bool is_trusted(const struct http_config *config, const char *address)
{
	const char *const *t = config->trusted_proxies;

	while (t && *t && strcmp(*t, address))
		t++;
	return t && *t;
}

/* One form for both families; IPv4 is written as such also on a socket of both. */
static void read_address(struct conn *c, const struct sockaddr_storage *from)
{
	const struct sockaddr_in *in4 = (const void *)from;
	const struct sockaddr_in6 *in6 = (const void *)from;

	if (from->ss_family == AF_INET) {
		c->address.s6_addr[10] = c->address.s6_addr[11] = 0xff;
		memcpy(c->address.s6_addr + 12, &in4->sin_addr, 4);
	} else {
		c->address = in6->sin6_addr;
	}
	if (IN6_IS_ADDR_V4MAPPED(&c->address))
		inet_ntop(
		    AF_INET, c->address.s6_addr + 12, c->peer, sizeof(c->peer));
	else
		inet_ntop(AF_INET6, &c->address, c->peer, sizeof(c->peer));
}

static int count_of_address(const struct conn *of)
{
	struct conn *c;
	int n = 0;

	for (c = TAILQ_FIRST(&of->server->conns); c; c = TAILQ_NEXT(c, link))
		n += c->known && !c->exempt &&
		     !memcmp(&c->address, &of->address, sizeof(c->address));
	return n;
}

/* The socket is known from the turn after conn_open() on. */
void conn_look_up(struct conn *c)
{
	const struct http_config *config = &c->server->config;
	struct sockaddr_storage from = {.ss_family = AF_UNSPEC};
	socklen_t len = sizeof(from);
	int fd = bufferevent_getfd(c->bev), yes = 1;

	if (c->known || fd < 0)
		return;
	c->known = true;
	memcpy(c->peer, "unix", sizeof("unix"));
	if (getpeername(fd, (struct sockaddr *)&from, &len) == 0 &&
	    (from.ss_family == AF_INET || from.ss_family == AF_INET6)) {
		read_address(c, &from);
		setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof(yes));
	}
	c->trusted = is_trusted(config, c->peer);
	c->exempt =
	    c->trusted || from.ss_family == AF_UNIX || is_loopback(&c->address);
	log_event(
	    LOG_DEBUG, "conn-opened", "conn=%u peer=%s", c->number, c->peer);
	if (c->state == CONN_DYING) {
		cut(c);
	} else if (!c->exempt &&
		   count_of_address(c) > config->per_address_max) {
		log_event(LOG_WARN, "address-full", "conn=%u peer=%s",
		    c->number, c->peer);
		cut(c);
	}
}

/* --- closing ---------------------------------------------------------------------- */

void conn_delete(struct conn *c)
{
	struct http_server *s = c->server;

	log_event(LOG_DEBUG, "conn-closed", "conn=%u", c->number);
	TAILQ_REMOVE(&s->conns, c, link);
	s->slots[c->slot] = NULL;
	s->n_conns--;
	if (c->request)
		c->request->conn = NULL;
	if (c->linger)
		event_free(c->linger);
	evbuffer_remove_cb_entry(bufferevent_get_input(c->bev), c->watch);
	bufferevent_decref(c->bev);
	evbuffer_free(c->held);
	guard_free(&c->guard);
	head_free(&c->head);
	free(c);
	check_full(s, NULL);
}

static void on_linger(evutil_socket_t fd, short what, void *ctx)
{
	struct conn *c = ctx;
	char sink[4096];
	ssize_t n = recv(fd, sink, sizeof(sink), 0);

	(void)what;
	if (n < 0 && (errno == EAGAIN || errno == EINTR))
		return;
	c->n_lingered += n > 0 ? (size_t)n : 0;
	if (n <= 0 || c->n_lingered > LINGER_OCTETS)
		conn_delete(c);
}

static void start_linger(struct conn *c)
{
	int fd = bufferevent_getfd(c->bev);

	if (c->state == CONN_DYING || fd < 0) {
		conn_delete(c);
		return;
	}
	shutdown(fd, SHUT_WR);
	conn_enter(c, CONN_LINGER);
	c->linger =
	    event_new(c->server->base, fd, EV_READ | EV_PERSIST, on_linger, c);
	event_add(c->linger, NULL);
}

static bool is_released(struct conn *c)
{
	bufferevent_data_cb on_read = NULL;
	bufferevent_event_cb on_event = NULL;

	if (!c->released && c->known) {
		bufferevent_getcb(c->bev, &on_read, NULL, &on_event, NULL);
		c->released = !on_read && !on_event;
	}
	return c->released;
}

/* --- the sweep -------------------------------------------------------------------- */

static void expire(struct conn *c)
{
	const char *peer = c->peer;

	switch (c->state) {
	case CONN_HEAD:
	case CONN_BODY:
		refuse(&c->refusal, 408, "Send the whole request at once.",
		    c->state == CONN_HEAD
			? "the head of the request did not come in time"
			: "the body of the request did not come in time");
		feed_refuse(c);
		return;
	case CONN_LINGER:
		conn_delete(c);
		return;
	default:
		log_event(LOG_DEBUG, "conn-expired", "conn=%u peer=%s",
		    c->number, peer);
		cut(c);
	}
}

static void check_drained(struct http_server *s)
{
	void (*done)(void *) = s->done;

	if (!s->draining || !TAILQ_EMPTY(&s->conns) || s->bound || !done)
		return;
	s->done = NULL;
	done(s->done_ctx);
}

void conn_sweep(struct http_server *s)
{
	int64_t now = clock_ms();
	struct conn *c, *next;

	for (c = TAILQ_FIRST(&s->conns); c; c = next) {
		next = TAILQ_NEXT(c, link);
		conn_look_up(c);
		if (c->state != CONN_LINGER && is_released(c))
			start_linger(c);
		else if (c->deadline && c->deadline <= now)
			expire(c);
	}
	check_drained(s);
}

void conn_drain_all(struct http_server *s)
{
	struct conn *c;

	for (c = TAILQ_FIRST(&s->conns); c; c = TAILQ_NEXT(c, link)) {
		if (c->state == CONN_IDLE)
			c->deadline = clock_ms() + LINGER_MS;
	}
}
