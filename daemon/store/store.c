/* SPDX-License-Identifier: MIT */
/*
 * store.c - the pool: connections, the queue before them, and who listens.
 *
 * A few connections per loop are enough: PostgreSQL commits of several connections share
 * one flush of the disk, and more of them only wait for each other.  The queue is bounded
 * in length and each place in it in time; beyond that the caller hears ERR_BUSY at once,
 * which is better than an answer that nobody waits for any more.
 */
#include "store.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "log.h"
#include "planning.h"
#include "pool.h"

bool store_new(struct event_base *base, const struct store_config *config,
    struct store **out, struct err *err)
{
	char *reason = NULL;
	PQconninfoOption *parsed = PQconninfoParse(config->conninfo, &reason);
	if (!parsed) {
		err_set(err, ERR_INPUT, "cannot read the conninfo: %.200s",
		    reason ? reason : "out of memory");
		err_hint(err, "For example \"host=db.example dbname=tearshare "
			      "user=tearshare_daemon\".");
		PQfreemem(reason);
		return false;
	}
	PQconninfoFree(parsed);

	struct store *store = xcalloc(1, sizeof(*store));
	store->base = base;
	store->config = *config;
	store->conninfo = xstrdup(config->conninfo);
	store->config.conninfo = store->conninfo;
	TAILQ_INIT(&store->listeners);
	TAILQ_INIT(&store->all);
	TAILQ_INIT(&store->queue);
	store->n_conns = config->connections > 0 ? config->connections : 1;
	store->conns = xcalloc((size_t)store->n_conns, sizeof(struct conn));
	for (int i = 0; i < store->n_conns; i++)
		conn_init(&store->conns[i], store, i, false);
	*out = store;
	return true;
}

void store_delete(struct store *store)
{
	if (!store)
		return;
	for (int i = 0; i < store->n_conns; i++)
		conn_close(&store->conns[i]);
	if (store->listening)
		conn_close(store->listening);
	while (!TAILQ_EMPTY(&store->all))
		tx_store_gone(TAILQ_FIRST(&store->all));
	while (!TAILQ_EMPTY(&store->listeners)) {
		struct listener *listener = TAILQ_FIRST(&store->listeners);
		TAILQ_REMOVE(&store->listeners, listener, link);
		free(listener);
	}
	free(store->listening);
	free(store->conns);
	free(store->conninfo);
	free(store);
}

bool store_is_up(const struct store *store)
{
	for (int i = 0; i < store->n_conns; i++)
		if (store->conns[i].state == CONN_READY)
			return true;
	return false;
}

/* ---- the queue ---- */

static struct conn *idle_conn(struct store *store)
{
	for (int i = 0; i < store->n_conns; i++) {
		struct conn *conn = &store->conns[i];
		if (conn->state == CONN_READY && !conn->tx && !conn->doomed)
			return conn;
	}
	return NULL;
}

void pool_wait(struct store *store, struct store_tx *tx, bool first)
{
	struct conn *conn = idle_conn(store);
	if (conn && (first || TAILQ_EMPTY(&store->queue))) {
		tx_give(tx, conn);
		return;
	}
	if (first)
		TAILQ_INSERT_HEAD(&store->queue, tx, queued);
	else
		TAILQ_INSERT_TAIL(&store->queue, tx, queued);
	tx->is_queued = true;
	store->n_queued++;
}

void pool_forget(struct store *store, struct store_tx *tx)
{
	TAILQ_REMOVE(&store->queue, tx, queued);
	tx->is_queued = false;
	store->n_queued--;
}

void pool_free_conn(struct store *store, struct conn *conn)
{
	assert(!conn->tx);
	struct store_tx *tx = TAILQ_FIRST(&store->queue);
	if (!tx || conn->state != CONN_READY || conn->doomed)
		return;
	pool_forget(store, tx);
	tx_give(tx, conn);
}

/* ---- NOTIFY ---- */

/* LISTEN takes no parameters, so each channel has its own text. */
static const struct {
	const char *channel;
	struct question listen;
} channels[] = {
    {JOB_CHANNEL, {"LISTEN plan_job", NULL, false}},
};

static const struct question *listen_question(const char *channel)
{
	for (size_t i = 0; i < sizeof(channels) / sizeof(channels[0]); i++)
		if (strcmp(channels[i].channel, channel) == 0)
			return &channels[i].listen;
	assert(!"no such channel");
	return NULL;
}

void store_listen(
    struct store *store, const char *channel, store_notify_fn *fn, void *ctx)
{
	struct listener *listener = xcalloc(1, sizeof(*listener));
	*listener = (struct listener){.channel = channel, .fn = fn, .ctx = ctx};
	TAILQ_INSERT_TAIL(&store->listeners, listener, link);
	if (store->listening) {
		if (store->listening->state == CONN_READY)
			pool_listens(store, store->listening);
		return;
	}
	store->listening = xcalloc(1, sizeof(struct conn));
	conn_init(store->listening, store, store->n_conns, true);
}

/* Whatever was announced while nobody listened is lost, hence the call with "". */
void pool_listens(struct store *store, struct conn *conn)
{
	struct listener *listener;
	const struct given nothing = {0};
	TAILQ_FOREACH(listener, &store->listeners, link)
	conn_send(
	    conn, ITEM_PLAIN, listen_question(listener->channel), &nothing);
	conn_sync(conn);
	TAILQ_FOREACH(listener, &store->listeners, link)
	listener->fn(listener->ctx, "");
}

void pool_notified(
    struct store *store, const char *channel, const char *payload)
{
	struct listener *listener;
	TAILQ_FOREACH(listener, &store->listeners, link)
	if (strcmp(listener->channel, channel) == 0)
		listener->fn(listener->ctx, payload);
}
