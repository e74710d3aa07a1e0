/* SPDX-License-Identifier: MIT */
/*
 * writer.c - writes numbered rows with keys and tells which were acknowledged: for fault tests.
 *
 *     store_writer CONNINFO STUDIO COUNT [BYTES] >acknowledged
 *
 * Row N is a member named "wN", written in one transaction with the answer kept under key N;
 * what ended without an answer is asked again with the same key.  With BYTES the kept answer
 * is that long, and the first "disk is full" ends the program with status 3, its number told
 * on standard error.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <event2/event.h>

#include "alloc.h"
#include "journal.h"
#include "log.h"
#include "people.h"
#include "store.h"

struct writer {
	struct event_base *base;
	struct store *store;
	struct store_tx *tx;
	int64_t studio;
	int n, count;
	bool was_kept;
	char key[24];
	char *body;
	size_t len;
	struct event *again;
	int status;
};

static void next(struct writer *w);

static void stop(struct writer *w, int status, const char *why)
{
	fprintf(stderr, "%d: %s\n", w->n, why);
	w->status = status;
	event_base_loopbreak(w->base);
}

/* Busy: the same number again a moment later.  Everything else is a fault of the test. */
static void failed(struct writer *w, const struct err *err)
{
	const struct timeval moment = {0, 20000};
	if (err->kind != ERR_BUSY)
		stop(w, 1, err->text);
	else if (w->len > 0 && strstr(err->text, "disk is full"))
		stop(w, 3, err->text);
	else
		event_add(w->again, &moment);
}

static void acknowledged(struct writer *w)
{
	printf("%d\n", w->n);
	fflush(stdout);
	if (++w->n > w->count)
		event_base_loopbreak(w->base);
	else
		next(w);
}

static void on_committed(void *ctx, const struct err *err)
{
	if (err)
		failed(ctx, err);
	else
		acknowledged(ctx);
}

static bool went_wrong(struct writer *w, const struct err *err)
{
	if (!err)
		return false;
	store_rollback(w->tx);
	failed(w, err);
	return true;
}

static void on_kept(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct writer *w = ctx;
	(void)rows;
	(void)n;
	if (!went_wrong(w, err))
		store_commit(w->tx, on_committed, w);
}

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct writer *w = ctx;
	(void)rows;
	(void)n;
	if (!went_wrong(w, err))
		store_answer_keep(w->tx, w->studio, "writer", w->key, 201, "{}",
		    w->body, w->len, on_kept, w);
}

static void on_claimed(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct writer *w = ctx;
	const struct kept_answer *answer = rows;
	struct member member = {
	    .studio_id = w->studio, .name = w->key, .roles = ROLE_STUDENT};
	const struct err running = {.kind = ERR_BUSY};
	(void)n;
	if (went_wrong(w, err ? err : answer->is_running ? &running : NULL))
		return;
	if (answer->is_new) {
		store_member_add(w->tx, &member, on_added, w);
		return;
	}
	store_rollback(w->tx); /* it was done, only the answer was lost */
	acknowledged(w);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct writer *w = ctx;
	static const unsigned char print[32];
	if (err) {
		failed(w, err);
		return;
	}
	w->tx = tx;
	store_answer_claim(
	    tx, w->studio, "writer", w->key, print, on_claimed, w);
}

static void next(struct writer *w)
{
	snprintf(w->key, sizeof(w->key), "w%d", w->n);
	store_begin(w->store, on_begun, w);
}

static void on_again(evutil_socket_t fd, short what, void *ctx)
{
	(void)fd;
	(void)what;
	next(ctx);
}

int main(int argc, char **argv)
{
	struct err err;
	struct writer w = {.n = 1};
	if (argc < 4)
		return 2;
	struct store_config config = {.conninfo = argv[1],
	    .connections = 2,
	    .queue_max = 10,
	    .statement_ms = 5000,
	    .wait_ms = 5000};
	w.studio = atoll(argv[2]);
	w.count = atoi(argv[3]);
	w.len = argc > 4 ? (size_t)atoll(argv[4]) : 0;
	w.body = xmalloc(w.len + 1);
	for (size_t i = 0, x = 1; i < w.len; i++) /* does not compress */
		w.body[i] =
		    (char)((x = x * 6364136223846793005u + 1442695u) >> 56);
	w.base = event_base_new();
	w.again = event_new(w.base, -1, 0, on_again, &w);
	if (!log_open("/dev/null", LOG_ERROR, &err) ||
	    !store_new(w.base, &config, &w.store, &err)) {
		fprintf(stderr, "%s\n", err.text);
		return 1;
	}
	next(&w);
	event_base_loop(w.base, EVLOOP_NO_EXIT_ON_EMPTY);
	store_delete(w.store);
	event_free(w.again);
	event_base_free(w.base);
	free(w.body);
	log_close();
	return w.status;
}
