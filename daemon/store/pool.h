/* SPDX-License-Identifier: MIT */
/*
 * The insides of the store, shared by store.c (the pool), conn.c (one connection) and
 * tx.c (one transaction).
 *
 * A connection works in pipeline mode: what belongs together (BEGIN and the first
 * question, the transaction's id, COMMIT) is sent at once and closed by a sync.  What was
 * sent is remembered as items in order; answers take the items off again.  A transaction
 * holds its connection from its begin to its end.
 */
#ifndef STORE_POOL_H
#define STORE_POOL_H

#include <stdbool.h>
#include <stdint.h>
#include <sys/queue.h>

#include <event2/event.h>
#include <event2/event_struct.h>
#include <libpq-fe.h>

#include "err.h"
#include "question.h"
#include "store.h"

#define CONNECT_MS 5000 /* limit on one attempt to connect */
#define RETRY_FIRST_MS                                                         \
	20 /* wait before connecting again: doubled each time ... */
#define RETRY_MOST_MS 2000 /* ... up to this */
#define ANSWER_SLACK_MS                                                        \
	2000 /* beyond the statement's limit we take the link for broken */
#define DOUBT_RETRY_MS                                                         \
	100 /* between two looks at a commit that is still under way */
#define ITEMS_MAX 32
#define PREPARED_MAX 256 /* a power of two, above the number of questions */
#define TIMELINE_SIZE 9  /* eight hex digits */

/* Which life of which server a connection belongs to: it matters when a commit is looked up. */
struct server_life {
	char timeline[9]; /* another one after a failover */
	char started[40]; /* the postmaster */
	char counted[40]; /* since when it counts: anew after every crash */
};

#define SERVER_LIFE                                                            \
	"pg_catalog.left(pg_catalog.pg_walfile_name("                          \
	"pg_catalog.pg_current_wal_lsn()), 8), "                               \
	"pg_catalog.pg_postmaster_start_time(), (SELECT stats_reset FROM "     \
	"pg_catalog.pg_stat_bgwriter)"

/* ---- one connection ---- */

enum conn_state { CONN_WAITING, CONN_CONNECTING, CONN_READY };

enum item_kind {
	ITEM_PREPARE,
	ITEM_PLAIN,    /* its answer matters only when it is a refusal */
	ITEM_QUESTION, /* the transaction's question */
	ITEM_XID,      /* the transaction's id */
	ITEM_COMMIT,
	ITEM_LIFE,   /* the first question after connecting */
	ITEM_STATUS, /* looking up a commit */
	ITEM_SYNC,   /* everything before it is answered */
};

struct item {
	enum item_kind kind;
	const struct question *question;
};

struct conn {
	struct store *store;
	int number;
	bool listens; /* for NOTIFY, never in the pool */
	enum conn_state state;
	PGconn *pg;
	struct event readable, writable, timer;
	bool has_events; /* readable and writable belong to a socket */
	bool doomed;     /* broken, to be seen to from the loop */
	bool warned;     /* a warning came with the COMMIT */
	int retry_ms;
	int rotation; /* which of several hosts comes first */
	struct item items[ITEMS_MAX];
	unsigned first_item, n_items;
	PGresult *refusal; /* the first one since the last sync */
	struct {
		const struct question *question;
		bool ready;
	} prepared[PREPARED_MAX];
	struct server_life life;
	struct store_tx *tx; /* whose it is now */
};

/* From three columns of a row. */
void life_read(struct server_life *life, const PGresult *res, int column);
void conn_init(
    struct conn *conn, struct store *store, int number, bool listens);
void conn_close(struct conn *conn); /* for ever */
/* Send one question (prepared first when it is new here); conn_sync() ends the group. */
void conn_send(struct conn *conn, enum item_kind kind,
    const struct question *question, const struct given *given);
void conn_sync(struct conn *conn);
/* Take the link for broken: seen to from the loop. */
void conn_doom(struct conn *conn, const char *why);

/* ---- one transaction ---- */

enum tx_state {
	TX_WAITING, /* in the queue for a connection */
	TX_GIVEN,   /* has one, its owner is about to hear of it */
	TX_IDLE,    /* between questions */
	TX_ASKING,
	TX_COMMITTING,
	TX_DOUBT, /* the answer to COMMIT was lost: looking it up */
	TX_OVER,  /* an error is on its way to the owner */
};

struct store_tx {
	TAILQ_ENTRY(store_tx) all, queued;
	struct store *store; /* NULL after the store has gone */
	struct conn *conn;   /* NULL while waiting and after the link broke */
	enum tx_state state;
	bool is_queued; /* for a connection */
	bool read_only;
	bool begun;     /* BEGIN was sent */
	bool failed;    /* only a rollback is left */
	bool wrote;     /* some question wrote */
	bool abandoned; /* rolled back while a question was under way */
	bool marking;   /* the lookup said "committed": waiting for its mark */
	uint64_t xid;   /* 0: not known */
	struct server_life life; /* at COMMIT */
	unsigned char claim[32]; /* fingerprint of the claimed key */
	const struct question *question;
	store_tx_fn *begin_fn;
	store_rows_fn *rows_fn;
	store_done_fn *done_fn;
	void *ctx;
	PGresult *answer;
	struct err err;      /* for delivering later */
	struct event later;  /* delivers from the loop */
	struct event expiry; /* waiting, or looking up, has its limit */
	struct event retry;  /* the next look */
};

/* A connection for it, or the end of a lookup's wait. */
void tx_give(struct store_tx *tx, struct conn *conn);
/* From conn.c: everything up to a sync was answered; refusal is NULL when all went well. */
void tx_synced(struct store_tx *tx, const PGresult *refusal);
void tx_answered(struct store_tx *tx, enum item_kind kind, PGresult *res);
void tx_lost(struct store_tx *tx); /* its link broke */
void tx_store_gone(struct store_tx *tx);
void tx_free(struct store_tx *tx);
extern const struct question *const always_prepared[]; /* ends with NULL */

/* ---- the pool ---- */

struct listener {
	TAILQ_ENTRY(listener) link;
	const char *channel;
	store_notify_fn *fn;
	void *ctx;
};

TAILQ_HEAD(tx_list, store_tx);

struct store {
	struct event_base *base;
	struct store_config config;
	char *conninfo;
	struct conn *conns;
	int n_conns;
	struct conn *listening; /* made with the first store_listen() */
	TAILQ_HEAD(listener_list, listener) listeners;
	struct tx_list all, queue;
	int n_queued;
};

/* Find a connection for it, now or later. */
void pool_wait(struct store *store, struct store_tx *tx, bool first);
void pool_forget(
    struct store *store, struct store_tx *tx); /* out of the queue */
/* The connection is free for the next. */
void pool_free_conn(struct store *store, struct conn *conn);
void pool_notified(
    struct store *store, const char *channel, const char *payload);
void pool_listens(struct store *store, struct conn *conn); /* just connected */

#endif
