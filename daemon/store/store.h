/* SPDX-License-Identifier: MIT */
/*
 * The store: a few connections per event loop, a queue before them, transactions.
 *
 * Every call returns at once; what it brings arrives in a callback on the loop's thread.
 * Questions (people.h, shelf.h, workshop.h, planning.h, ledger.h, journal.h) are asked
 * inside a transaction:
 *
 *     store_begin(store, on_begun, call);
 *     on_begun:   store_workshop_lock(tx, studio, id, on_workshop, call);
 *     on_workshop: ... store_request_add(tx, ...);
 *     on_added:   store_commit(tx, on_committed, call);
 *
 * Exactly one question of a transaction is under way at a time.  After a callback with an
 * error the only thing left to do with the transaction is store_rollback().  The rows given
 * to a callback, and every string in them, live until that callback returns.
 *
 * A connection that breaks is made anew, with growing waits.  Questions then end in
 * ERR_BUSY; a COMMIT whose answer did not come back is looked up first (transaction id),
 * and ends in ERR_BUSY with `in_doubt` only when that cannot be done either.
 *
 * Errors: ERR_BUSY (no database, queue full, deadlock or serialisation after the
 * repeats), ERR_CONFLICT (a named constraint that says so), ERR_INTERNAL (else; logged
 * here with SQLSTATE).  Zero rows are no error.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"

struct event_base;
struct store;
struct store_tx;

struct store_config {
	const char
	    *conninfo; /* role that owns nothing; several hosts are fine */
	int connections;
	int queue_max; /* transactions waiting for a connection; then ERR_BUSY */
	int statement_ms; /* limit on one statement */
	int wait_ms;      /* limit on waiting for a connection */
};

/* The config is copied.  Connecting goes on in the background; never fails for that. */
bool store_new(struct event_base *base, const struct store_config *config,
    struct store **out, struct err *err) MUST_USE;
/* Transactions under way end with ERR_BUSY. */
void store_delete(struct store *store);
/* At least one connection is there. */
bool store_is_up(const struct store *store);

/* n rows of the struct that the question names; err NULL when all is well. */
typedef void store_rows_fn(
    void *ctx, const void *rows, size_t n, const struct err *err);
typedef void store_tx_fn(void *ctx, struct store_tx *tx, const struct err *err);
typedef void store_done_fn(void *ctx, const struct err *err);

/* Begin a transaction: READ COMMITTED; tx is NULL when err is not. */
void store_begin(struct store *store, store_tx_fn *fn, void *ctx);
/* A read-only view of one moment (REPEATABLE READ, READ ONLY): for lists and statements. */
void store_begin_read(struct store *store, store_tx_fn *fn, void *ctx);
/* Durable once fn is called without an error; tx is gone then in every case. */
void store_commit(struct store_tx *tx, store_done_fn *fn, void *ctx);
/* tx is gone at once; nothing of it stays.  Also for the end of a read. */
void store_rollback(struct store_tx *tx);

/* Call fn(ctx, payload) for each NOTIFY on channel, and once after each reconnection with "". */
typedef void store_notify_fn(void *ctx, const char *payload);
void store_listen(
    struct store *store, const char *channel, store_notify_fn *fn, void *ctx);

/* The page of a list: rows with an id above `after`, at most `limit`. */
struct page {
	int64_t after;
	int limit; /* 1..100; ask for one more to see whether there is a next page */
};

#endif
