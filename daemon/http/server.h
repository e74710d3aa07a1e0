/* SPDX-License-Identifier: MIT */
/*
 * The parts of the server that its own files share; callers use http.h.
 *
 * How one connection goes:
 *
 *     IDLE -> HEAD -> BODY -> ANSWER -> WRITE -> IDLE ...
 *              \______ \___ -> REFUSED -> WRITE -> LINGER -> freed
 *
 * IDLE: not an octet of a request is here.  HEAD: its head is arriving.  BODY: the library
 * below collects the body.  ANSWER: the handler has it.  WRITE: the answer goes out.
 * REFUSED: an answer of our own goes out instead and what comes in is dropped.  LINGER: the
 * library has let go; we read on for a second so that the answer is not wiped out.
 * DYING: cut, waiting for the library to notice.
 */
#ifndef HTTP_SERVER_H
#define HTTP_SERVER_H

#include <netinet/in.h>
#include <openssl/ssl.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/queue.h>

#include "guard.h"
#include "http.h"
#include "strict.h"

struct bufferevent;
struct evbuffer;
struct evbuffer_cb_entry;
struct evbuffer_cb_info;
struct evconnlistener;
struct event;
struct evhttp;
struct evhttp_bound_socket;
struct evhttp_request;

enum conn_state {
	CONN_IDLE,
	CONN_HEAD,
	CONN_BODY,
	CONN_ANSWER,
	CONN_WRITE,
	CONN_REFUSED,
	CONN_DYING,
	CONN_LINGER,
};

struct conn {
	TAILQ_ENTRY(conn) link;
	struct http_server *server;
	struct bufferevent *bev; /* a reference of our own */
	struct evbuffer_cb_entry *watch;
	SSL *ssl;        /* NULL: plain */
	uint32_t number; /* for the log */
	size_t slot;     /* index in server->slots */
	enum conn_state state;
	int64_t deadline; /* milliseconds, monotonic; 0: none */
	bool known;       /* peer has been looked up */
	bool exempt;      /* from the limit per address */
	bool trusted;     /* its X-Forwarded-For counts */
	bool fresh;       /* no head has been complete yet */
	bool feeding;     /* the octets being added are ours */
	bool released;    /* the library has let go */
	bool close;       /* after the answer under way */
	struct in6_addr address;
	char peer[INET6_ADDRSTRLEN];
	struct guard guard;
	struct evbuffer *held;        /* octets the library has not seen yet */
	struct head head;             /* of the request under way */
	struct refusal refusal;       /* instead of asking the handler */
	struct http_request *request; /* the handler's */
	struct event *linger;
	size_t n_lingered;
};

struct http_request {
	struct conn *conn; /* NULL: gone */
	struct evhttp_request *below;
	struct head head;
	const char *body;
	size_t body_len;
	int64_t begun; /* milliseconds */
	char id[32];
	char peer[INET6_ADDRSTRLEN];
	bool tls;
};

TAILQ_HEAD(conn_list, conn);

struct http_server {
	struct event_base *base;
	struct evhttp *http;
	struct evhttp_bound_socket *bound;
	struct evconnlistener *listener;
	struct event *sweep; /* every 250 ms */
	struct event *soon;  /* at the end of this turn of the loop */
	SSL_CTX *tls;
	struct http_config config; /* strings are ours */
	char address[160];
	char *socket_path; /* to unlink at the end */
	http_handler_fn *handler;
	http_refusal_fn *refusal;
	void *ctx;
	struct conn_list conns;
	struct conn **slots;
	size_t n_slots, n_conns, n_pending;
	bool full;
	uint32_t n_accepted, n_requests;
	char id_prefix[12];
	bool draining;
	void (*done)(void *ctx);
	void *done_ctx;
};

/* Milliseconds of the monotonic clock. */
int64_t clock_ms(void);

/* conn.c: the life of a connection, its deadlines, and how many there may be. */
struct bufferevent *conn_open(struct event_base *base, void *server);
void conn_enter(struct conn *c, enum conn_state next);
/* The library has let go of it, or will never be asked again. */
void conn_sweep(struct http_server *server);
void conn_look_up(struct conn *c);
void conn_delete(struct conn *c);
void conn_drain_all(struct http_server *server);

/* feed.c: octets in, heads and bodies out. */
void feed_on_input(
    struct evbuffer *input, const struct evbuffer_cb_info *info, void *conn);
void feed_next(struct conn *c);
/* Answer the request that is arriving with c->refusal, without waiting for the rest of it. */
void feed_refuse(struct conn *c);

/* reply.c */
void reply_refusal(struct conn *c, struct evhttp_request *below);
const char *reply_make_id(struct http_server *server, char id[static 32]);

/* tls.c; *out is the caller's. */
bool tls_make_context(const char *certificate, const char *private_key,
    SSL_CTX **out, struct err *err) MUST_USE;
/* Say goodbye (close_notify) as far as the socket takes it now. */
void tls_say_goodbye(SSL *ssl);

/* listen.c: the address as it really is, with the port the system chose. */
void listen_print_address(int fd, char *buf, size_t size);
bool listen_is_unix(const char *listen);

#endif
