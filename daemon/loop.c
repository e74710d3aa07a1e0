/* SPDX-License-Identifier: MIT */
/*
 * loop.c - made on the main thread, run on its own, told what to do by events.
 *
 * event_active() is the one call of libevent that may come from another thread; it wakes
 * the loop, which then does on its own thread what it was told.
 */
#include "loop.h"

#include <event2/event.h>
#include <signal.h>
#include <string.h>

#include "log.h"

#define LOOK_MS 5

static void on_drained(void *ctx)
{
	struct loop *loop = ctx;

	loop->drained(loop->ctx);
}

static void on_drain(evutil_socket_t fd, short what, void *ctx)
{
	struct loop *loop = ctx;

	(void)fd, (void)what;
	if (loop->http)
		http_server_drain(loop->http, on_drained, loop);
	else
		on_drained(loop);
}

static void on_reload(evutil_socket_t fd, short what, void *ctx)
{
	struct loop *loop = ctx;
	char shown[LOG_VALUE_MAX];
	struct err err;

	(void)fd, (void)what;
	if (!loop->http)
		return;
	if (http_server_reload(loop->http, &err))
		log_event(LOG_INFO, "certificate-read", "result=taken");
	else
		log_event(LOG_ERROR, "certificate-read",
		    "result=kept-old reason=%s", log_value(shown, err.text));
}

static void on_stop(evutil_socket_t fd, short what, void *ctx)
{
	struct loop *loop = ctx;

	(void)fd, (void)what;
	event_base_loopbreak(loop->base);
}

static void on_look(evutil_socket_t fd, short what, void *ctx)
{
	struct loop *loop = ctx;

	(void)fd, (void)what;
	if (!store_is_up(loop->store))
		return;
	event_del(loop->look);
	loop->up(loop->ctx);
}

bool loop_open(struct loop *loop, const struct store_config *store,
    const struct web_config *web, const struct http_config *http,
    loop_told_fn *up, loop_told_fn *drained, void *ctx, struct err *err)
{
	struct timeval often = {0, LOOK_MS * 1000};

	*loop = (struct loop){.up = up, .drained = drained, .ctx = ctx};
	loop->base = event_base_new();
	if (!loop->base) {
		err_set(err, ERR_INTERNAL, "could not make an event loop");
		goto failed;
	}
	loop->drain = event_new(loop->base, -1, 0, on_drain, loop);
	loop->reload = event_new(loop->base, -1, 0, on_reload, loop);
	loop->stop = event_new(loop->base, -1, 0, on_stop, loop);
	loop->look = event_new(loop->base, -1, EV_PERSIST, on_look, loop);
	event_add(loop->look, &often);
	if (!store_new(loop->base, store, &loop->store, err))
		goto failed;
	if (!http)
		return true;
	if (!web_new(loop->base, loop->store, web, &loop->web, err) ||
	    !http_server_new(loop->base, http, web_handle, web_refusal,
		loop->web, &loop->http, err))
		goto failed;
	return true;
failed:
	loop_close(loop);
	return false;
}

/* Requests without an answer lose their connection first; the store then ends what they
 * wait for, and their answers go nowhere. */
void loop_close(struct loop *loop)
{
	http_server_delete(loop->http);
	store_delete(loop->store);
	web_delete(loop->web);
	if (loop->drain)
		event_free(loop->drain);
	if (loop->reload)
		event_free(loop->reload);
	if (loop->stop)
		event_free(loop->stop);
	if (loop->look)
		event_free(loop->look);
	if (loop->base)
		event_base_free(loop->base);
	*loop = (struct loop){.base = NULL};
}

static void *run(void *ctx)
{
	struct loop *loop = ctx;

	event_base_loop(loop->base, EVLOOP_NO_EXIT_ON_EMPTY);
	return NULL;
}

/* Signals are the main thread's. */
bool loop_start_thread(struct loop *loop, struct err *err)
{
	sigset_t all, old;
	int status;

	sigfillset(&all);
	pthread_sigmask(SIG_SETMASK, &all, &old);
	status = pthread_create(&loop->thread, NULL, run, loop);
	pthread_sigmask(SIG_SETMASK, &old, NULL);
	loop->has_thread = status == 0;
	return loop->has_thread ||
	       err_set(err, ERR_INTERNAL, "could not make a thread: %s",
		   strerror(status));
}

void loop_join(struct loop *loop)
{
	if (loop->has_thread)
		pthread_join(loop->thread, NULL);
	loop->has_thread = false;
}

void loop_drain(struct loop *loop)
{
	event_active(loop->drain, 0, 0);
}

void loop_reload(struct loop *loop)
{
	event_active(loop->reload, 0, 0);
}

void loop_stop(struct loop *loop)
{
	event_active(loop->stop, 0, 0);
}
