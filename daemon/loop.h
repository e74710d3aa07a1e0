/* SPDX-License-Identifier: MIT */
/*
 * One event loop: a listener, a store and a web of its own, on a thread of its own.
 *
 * loop_open() and loop_close() are called while no thread runs the loop; the other calls
 * may come from any thread.
 */
#ifndef DAEMON_LOOP_H
#define DAEMON_LOOP_H

#include <pthread.h>
#include <stdbool.h>

#include "http.h"
#include "store.h"
#include "web.h"

struct event;
struct event_base;

typedef void loop_told_fn(void *ctx);

struct loop {
	struct event_base *base;
	struct store *store;
	struct web *web;          /* NULL: serves nobody */
	struct http_server *http; /* NULL: serves nobody */
	struct event *drain, *reload, *stop, *look;
	loop_told_fn *up, *drained;
	void *ctx;
	pthread_t thread;
	bool has_thread;
};

/* http NULL: a loop without a listener.  up: once, when the loop runs and its store has a
 * connection; drained: when everything received has been answered.  Both are called on the
 * loop's thread. */
bool loop_open(struct loop *loop, const struct store_config *store,
    const struct web_config *web, const struct http_config *http,
    loop_told_fn *up, loop_told_fn *drained, void *ctx,
    struct err *err) MUST_USE;
void loop_close(struct loop *loop);

bool loop_start_thread(struct loop *loop, struct err *err) MUST_USE;
void loop_join(struct loop *loop);

void loop_drain(struct loop *loop);
void loop_reload(struct loop *loop);
void loop_stop(struct loop *loop);

#endif
