/* SPDX-License-Identifier: MIT */
/*
 * tx.c - one transaction, from its begin to the certainty of its end.
 *
 * BEGIN goes out with the first question and ROLLBACK is not waited for, so a transaction
 * costs one round trip a question and one for COMMIT.
 *
 * A COMMIT whose answer is lost may have happened or not.  The transaction's id is asked
 * for along with the first question that writes, so the outcome can be looked up on
 * another connection (pg_xact_status).  What the answer means depends on what happened to
 * the server meanwhile:
 *
 *   nothing    it is the truth; "in progress" is asked again.
 *   a crash    ids that never reached the log on disk are given out again, so "committed" may
 *              be somebody else's commit and proves nothing.  "aborted", or an id that is
 *              not given out yet, proves that ours is not there.
 *   failover   the promoted server (another timeline) gives the same ids to others: nothing
 *              is proved.
 *
 * "committed" may still mean "here, and not on the standby": an empty message written after
 * it and flushed as far as it has to be settles that, for what comes earlier in the log is
 * flushed then too.  What cannot be settled in time ends in ERR_BUSY that says so; the
 * caller's key makes asking again safe.
 *
 * Callbacks always come from the loop, never from within the call that asked.
 */
#include <assert.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "log.h"
#include "pool.h"

#define DECODE_MAX                                                             \
	((size_t)1 << 30) /* results are bounded by their questions */

static const struct question begin_tx = {"BEGIN", NULL, false};
static const struct question begin_read = {
    "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY", NULL, false};
static const struct question commit_tx = {"COMMIT", NULL, false};
static const struct question rollback_tx = {"ROLLBACK", NULL, false};
static const struct question ask_xid = {
    "SELECT pg_catalog.pg_current_xact_id_if_assigned()", NULL, false};
/* pg_xact_status() refuses an id that is not given out yet, so it is not asked then. */
static const struct question ask_status = {
    "SELECT CASE WHEN $1::text::xid8 >= pg_catalog.pg_snapshot_xmax("
    "pg_catalog.pg_current_snapshot()) THEN 'not ended' ELSE "
    "coalesce(pg_catalog.pg_xact_status($1::text::xid8), 'forgotten') "
    "END, " SERVER_LIFE,
    NULL, false};
static const struct question write_mark = {
    "SELECT pg_catalog.pg_logical_emit_message(true, 'tearshare', '')", NULL,
    false};

static void on_later(evutil_socket_t fd, short what, void *ctx);
static void on_expiry(evutil_socket_t fd, short what, void *ctx);
static void on_retry(evutil_socket_t fd, short what, void *ctx);

static void arm(struct event *event, int ms)
{
	struct timeval t = {ms / 1000, ms % 1000 * 1000};
	event_add(event, &t);
}

static bool err_again(struct err *err, const char *text)
{
	err_set(err, ERR_BUSY, "%s", text);
	return err_hint(err, "Try again in a moment.");
}

static bool err_in_doubt(struct err *err)
{
	err_set(err, ERR_BUSY,
	    "could not find out whether this was done: the link to the "
	    "database broke at the last step");
	return err_hint(err, "Ask again with the same key; it is done once.");
}

/* ---- life ---- */

static struct store_tx *tx_new(
    struct store *store, bool read_only, store_tx_fn *fn, void *ctx)
{
	struct store_tx *tx = xcalloc(1, sizeof(*tx));
	tx->store = store;
	tx->read_only = read_only;
	tx->begin_fn = fn;
	tx->ctx = ctx;
	event_assign(&tx->later, store->base, -1, 0, on_later, tx);
	event_assign(&tx->expiry, store->base, -1, 0, on_expiry, tx);
	event_assign(&tx->retry, store->base, -1, 0, on_retry, tx);
	TAILQ_INSERT_TAIL(&store->all, tx, all);
	return tx;
}

void tx_free(struct store_tx *tx)
{
	if (tx->store) {
		if (tx->is_queued)
			pool_forget(tx->store, tx);
		event_del(&tx->later);
		event_del(&tx->expiry);
		event_del(&tx->retry);
		TAILQ_REMOVE(&tx->store->all, tx, all);
	}
	PQclear(tx->answer);
	free(tx);
}

/* The connection goes back to the pool. */
static void tx_release(struct store_tx *tx)
{
	struct conn *conn = tx->conn;
	tx->conn = NULL;
	if (!conn)
		return;
	conn->tx = NULL;
	pool_free_conn(tx->store, conn);
}

static void tx_later(struct store_tx *tx)
{
	event_active(&tx->later, EV_TIMEOUT, 0);
}

/* tx->err is set: the owner hears of it from the loop. */
static void tx_over(struct store_tx *tx)
{
	tx->state = TX_OVER;
	tx->failed = true;
	tx_later(tx);
}

static void tx_begin(
    struct store *store, bool read_only, store_tx_fn *fn, void *ctx)
{
	struct store_tx *tx = tx_new(store, read_only, fn, ctx);
	tx->state = TX_WAITING;
	pool_wait(store, tx, false);
	if (tx->state != TX_WAITING)
		return;
	if (store->n_queued > store->config.queue_max) {
		pool_forget(store, tx);
		err_again(&tx->err,
		    store_is_up(store) ? "too many are waiting for the database"
				       : "could not reach the database");
		tx_over(tx);
		return;
	}
	arm(&tx->expiry, store->config.wait_ms);
}

void store_begin(struct store *store, store_tx_fn *fn, void *ctx)
{
	tx_begin(store, false, fn, ctx);
}

void store_begin_read(struct store *store, store_tx_fn *fn, void *ctx)
{
	tx_begin(store, true, fn, ctx);
}

/* ---- telling the owner ---- */

/* Calls the one callback that is due with tx->err; tx is gone after a begin or a commit. */
static void tell(struct store_tx *tx, bool good)
{
	struct err err = tx->err;
	void *ctx = tx->ctx;
	if (tx->begin_fn) {
		store_tx_fn *fn = tx->begin_fn;
		tx_free(tx);
		fn(ctx, NULL, &err);
	} else if (tx->done_fn) {
		store_done_fn *fn = tx->done_fn;
		tx_free(tx);
		fn(ctx, good ? NULL : &err);
	} else if (tx->rows_fn) {
		store_rows_fn *fn = tx->rows_fn;
		tx->rows_fn = NULL;
		tx->state = TX_IDLE;
		fn(ctx, NULL, 0, &err);
	}
}

static void on_later(evutil_socket_t fd, short what, void *ctx)
{
	struct store_tx *tx = ctx;
	(void)fd;
	(void)what;
	if (tx->state != TX_GIVEN) {
		tell(tx, !tx->failed);
		return;
	}
	store_tx_fn *fn = tx->begin_fn;
	tx->begin_fn = NULL;
	tx->state = TX_IDLE;
	fn(tx->ctx, tx, NULL);
}

static void on_expiry(evutil_socket_t fd, short what, void *ctx)
{
	struct store_tx *tx = ctx;
	struct conn *conn = tx->conn;
	(void)fd;
	(void)what;
	if (tx->state == TX_WAITING) {
		err_again(&tx->err, store_is_up(tx->store)
					? "waited too long for the database"
					: "could not reach the database");
	} else {
		log_event(
		    LOG_ERROR, "commit-in-doubt", "xid=%" PRIu64, tx->xid);
		err_in_doubt(&tx->err);
		if (conn) { /* its lookup hangs */
			conn->tx = NULL;
			tx->conn = NULL;
			conn_doom(conn, "a lookup took too long");
		}
	}
	tx->failed = true;
	tell(tx, false);
}

void tx_store_gone(struct store_tx *tx)
{
	bool due = tx->begin_fn || tx->done_fn || tx->rows_fn;
	if (tx->done_fn && (tx->wrote || tx->state == TX_DOUBT))
		err_in_doubt(&tx->err);
	else
		err_again(&tx->err, "the server is stopping");
	if (tx->is_queued)
		pool_forget(tx->store, tx);
	event_del(&tx->later);
	event_del(&tx->expiry);
	event_del(&tx->retry);
	TAILQ_REMOVE(&tx->store->all, tx, all);
	tx->store = NULL;
	tx->conn = NULL;
	tx->failed = true;
	if (due)
		tell(tx, false);
	else if (tx->abandoned)
		tx_free(tx);
}

/* ---- looking up a commit ---- */

static void doubt_wait(struct store_tx *tx)
{
	pool_wait(tx->store, tx, true);
}

static void doubt_begin(struct store_tx *tx)
{
	log_event(LOG_WARN, "commit-lookup", "xid=%" PRIu64, tx->xid);
	tx->state = TX_DOUBT;
	arm(&tx->expiry, tx->store->config.wait_ms);
	doubt_wait(tx);
}

static void doubt_ask(struct store_tx *tx)
{
	struct given given = {0};
	give_int(&given, (int64_t)tx->xid);
	tx->marking = false;
	conn_send(tx->conn, ITEM_STATUS, &ask_status, &given);
	conn_sync(tx->conn);
}

static void doubt_retry(struct store_tx *tx)
{
	tx_release(tx);
	arm(&tx->retry, DOUBT_RETRY_MS);
}

static void on_retry(evutil_socket_t fd, short what, void *ctx)
{
	(void)fd;
	(void)what;
	doubt_wait(ctx);
}

static void doubt_mark(struct store_tx *tx)
{
	const struct given nothing = {0};
	tx->marking = true;
	tx->conn->warned = false;
	conn_send(tx->conn, ITEM_STATUS, &write_mark, &nothing);
	conn_sync(tx->conn);
}

static void doubt_end(struct store_tx *tx, bool good)
{
	log_event(LOG_INFO, "commit-looked-up", "xid=%" PRIu64 " done=%s",
	    tx->xid, good ? "yes" : "no");
	tx_release(tx);
	tx->failed = !good;
	tell(tx, good);
}

enum outcome { OUTCOME_DONE, OUTCOME_NOT_DONE, OUTCOME_LATER, OUTCOME_UNKNOWN };

static enum outcome doubt_outcome(
    const struct store_tx *tx, const PGresult *res)
{
	struct server_life now;
	const char *status = PQgetvalue(res, 0, 0);
	life_read(&now, res, 1);
	bool started_anew = strcmp(now.started, tx->life.started) != 0;
	bool same_life =
	    !started_anew && strcmp(now.counted, tx->life.counted) == 0;
	if (strcmp(now.timeline, tx->life.timeline) != 0)
		return OUTCOME_UNKNOWN;
	if (strcmp(status, "committed") == 0)
		return same_life ? OUTCOME_DONE : OUTCOME_UNKNOWN;
	if (strcmp(status, "aborted") == 0)
		return OUTCOME_NOT_DONE;
	if (strcmp(status, "forgotten") == 0)
		return OUTCOME_UNKNOWN;
	/* in progress, or not ended: not ours if the server started anew */
	return started_anew ? OUTCOME_NOT_DONE : OUTCOME_LATER;
}

static void doubt_synced(struct store_tx *tx, const PGresult *refusal)
{
	PGresult *res = tx->answer;
	tx->answer = NULL;
	if (refusal || !res || (tx->marking && tx->conn->warned)) {
		PQclear(res);
		doubt_retry(tx);
		return;
	}
	if (tx->marking) {
		PQclear(res);
		doubt_end(tx, true);
		return;
	}
	enum outcome outcome = doubt_outcome(tx, res);
	PQclear(res);
	switch (outcome) {
	case OUTCOME_DONE:
		doubt_mark(tx);
		return;
	case OUTCOME_NOT_DONE:
		err_again(&tx->err,
		    "the link to the database broke and nothing was changed");
		doubt_end(tx, false);
		return;
	case OUTCOME_LATER:
		doubt_retry(tx);
		return;
	case OUTCOME_UNKNOWN:
		err_in_doubt(&tx->err);
		doubt_end(tx, false);
		return;
	}
}

/* ---- from the connection ---- */

void tx_give(struct store_tx *tx, struct conn *conn)
{
	conn->tx = tx;
	tx->conn = conn;
	if (tx->state == TX_DOUBT) {
		doubt_ask(tx);
		return;
	}
	event_del(&tx->expiry);
	tx->state = TX_GIVEN;
	tx_later(tx);
}

void tx_lost(struct store_tx *tx)
{
	switch (tx->state) {
	case TX_GIVEN: /* nothing was asked yet: another connection will do */
		event_del(&tx->later);
		tx->state = TX_WAITING;
		arm(&tx->expiry, tx->store->config.wait_ms);
		pool_wait(tx->store, tx, true);
		return;
	case TX_ASKING:
		if (tx->abandoned) {
			tx_free(tx);
			return;
		}
		err_again(&tx->err, "the link to the database broke");
		tx_over(tx);
		return;
	case TX_COMMITTING:
		if (tx->xid != 0) {
			doubt_begin(tx);
			return;
		}
		if (tx->wrote)
			err_in_doubt(&tx->err);
		else
			err_again(&tx->err, "the link to the database broke");
		tx_over(tx);
		return;
	case TX_DOUBT:
		arm(&tx->retry, DOUBT_RETRY_MS);
		return;
	case TX_WAITING:
	case TX_IDLE:
	case TX_OVER:
		return;
	}
}

void tx_answered(struct store_tx *tx, enum item_kind kind, PGresult *res)
{
	if (kind == ITEM_XID) {
		if (!PQgetisnull(res, 0, 0))
			tx->xid = strtoull(PQgetvalue(res, 0, 0), NULL, 10);
	} else if (kind == ITEM_QUESTION || kind == ITEM_COMMIT ||
		   kind == ITEM_STATUS) {
		PQclear(tx->answer);
		tx->answer = res;
		return;
	}
	PQclear(res);
}

static void rollback_sent(struct store_tx *tx)
{
	const struct given nothing = {0};
	if (tx->conn && tx->begun) {
		conn_send(tx->conn, ITEM_PLAIN, &rollback_tx, &nothing);
		conn_sync(tx->conn);
	}
	tx_release(tx);
	tx_free(tx);
}

static void rows_arrived(struct store_tx *tx, const PGresult *refusal)
{
	PGresult *res = tx->answer;
	store_rows_fn *fn = tx->rows_fn;
	struct arena *arena = NULL;
	const void *rows = NULL;
	struct err err;
	bool ok = false;
	tx->answer = NULL;
	tx->rows_fn = NULL;
	tx->state = TX_IDLE;
	err_clear(&err);
	if (refusal || !res) {
		if (refusal)
			sqlstate_err(refusal, &err);
		else
			err_set(&err, ERR_INTERNAL, "no answer to a question");
	} else {
		arena = arena_new(DECODE_MAX);
		ok = rows_decode(res, tx->question->shape, arena, &rows, &err);
	}
	tx->failed = !ok;
	fn(tx->ctx, rows, ok ? (size_t)PQntuples(res) : 0, ok ? NULL : &err);
	arena_delete(arena);
	PQclear(res);
}

static void commit_arrived(struct store_tx *tx, const PGresult *refusal)
{
	PGresult *res = tx->answer;
	tx->answer = NULL;
	bool done = !refusal && res && strcmp(PQcmdStatus(res), "COMMIT") == 0;
	bool doubt = (done && tx->conn->warned) ||
		     (refusal && sqlstate_is_fatal(refusal));
	PQclear(res);
	if (doubt && tx->xid != 0) {
		tx_release(tx);
		doubt_begin(tx);
		return;
	}
	if (doubt)
		err_in_doubt(&tx->err);
	else if (refusal)
		sqlstate_err(refusal, &tx->err);
	else if (!done)
		err_set(&tx->err, ERR_INTERNAL,
		    "the database rolled a commit back");
	done = done && !doubt;
	if (refusal && tx->conn &&
	    PQtransactionStatus(tx->conn->pg) == PQTRANS_INERROR) {
		const struct given nothing = {0};
		conn_send(tx->conn, ITEM_PLAIN, &rollback_tx, &nothing);
		conn_sync(tx->conn);
	}
	tx_release(tx);
	tx->failed = !done;
	tell(tx, done);
}

void tx_synced(struct store_tx *tx, const PGresult *refusal)
{
	switch (tx->state) {
	case TX_ASKING:
		if (tx->abandoned)
			rollback_sent(tx);
		else
			rows_arrived(tx, refusal);
		return;
	case TX_COMMITTING:
		commit_arrived(tx, refusal);
		return;
	case TX_DOUBT:
		doubt_synced(tx, refusal);
		return;
	case TX_WAITING:
	case TX_GIVEN:
	case TX_IDLE:
	case TX_OVER:
		return; /* the end of whoever had the connection before */
	}
}

/* ---- from the owner ---- */

void tx_ask(struct store_tx *tx, const struct question *question,
    const struct given *given, store_rows_fn *fn, void *ctx)
{
	const struct given nothing = {0};
	assert(tx->state == TX_IDLE && !tx->rows_fn);
	tx->rows_fn = fn;
	tx->ctx = ctx;
	tx->question = question;
	if (tx->failed || !tx->conn) {
		if (tx->failed)
			err_set(&tx->err, ERR_INTERNAL,
			    "asked in a transaction that was refused");
		else
			err_again(&tx->err, "the link to the database broke");
		tx_over(tx);
		return;
	}
	tx->state = TX_ASKING;
	if (!tx->begun)
		conn_send(tx->conn, ITEM_PLAIN,
		    tx->read_only ? &begin_read : &begin_tx, &nothing);
	tx->begun = true;
	conn_send(tx->conn, ITEM_QUESTION, question, given);
	if (question->writes) {
		tx->wrote = true;
		if (tx->xid == 0)
			conn_send(tx->conn, ITEM_XID, &ask_xid, &nothing);
	}
	conn_sync(tx->conn);
}

bool tx_is_read_only(const struct store_tx *tx)
{
	return tx->read_only;
}

unsigned char *tx_claim(struct store_tx *tx)
{
	return tx->claim;
}

/* False when there is nothing to send: the owner hears of that from the loop. */
static bool commit_begin(struct store_tx *tx, store_done_fn *fn, void *ctx)
{
	const struct given nothing = {0};
	assert(tx->state == TX_IDLE && !tx->rows_fn);
	tx->done_fn = fn;
	tx->ctx = ctx;
	if (tx->failed)
		err_set(&tx->err, ERR_INTERNAL,
		    "commit of a transaction that was refused");
	else if (!tx->conn)
		err_again(&tx->err, "the link to the database broke");
	if (tx->failed || !tx->conn || !tx->begun) {
		bool good = !tx->failed && tx->conn;
		if (tx->conn && tx->begun) {
			conn_send(tx->conn, ITEM_PLAIN, &rollback_tx, &nothing);
			conn_sync(tx->conn);
		}
		tx_release(tx);
		tx_over(tx);
		tx->failed = !good;
		return false;
	}
	tx->state = TX_COMMITTING;
	tx->conn->warned = false;
	tx->life = tx->conn->life;
	return true;
}

static void commit_send(struct store_tx *tx)
{
	const struct given nothing = {0};
	conn_send(tx->conn, ITEM_COMMIT, &commit_tx, &nothing);
	conn_sync(tx->conn);
}

void store_commit(struct store_tx *tx, store_done_fn *fn, void *ctx)
{
	if (commit_begin(tx, fn, ctx))
		commit_send(tx);
}

/* When the question is refused, COMMIT is skipped behind it: commit_arrived() then finds the
 * transaction still open. */
void tx_commit_after(struct store_tx *tx, const struct question *question,
    const struct given *given, store_done_fn *fn, void *ctx)
{
	const struct given nothing = {0};
	if (!commit_begin(tx, fn, ctx))
		return;
	conn_send(tx->conn, ITEM_QUESTION, question, given);
	tx->wrote = tx->wrote || question->writes;
	if (question->writes && tx->xid == 0)
		conn_send(tx->conn, ITEM_XID, &ask_xid, &nothing);
	commit_send(tx);
}

void store_rollback(struct store_tx *tx)
{
	assert(tx->state != TX_COMMITTING && tx->state != TX_DOUBT);
	if (!tx->store) {
		tx_free(tx);
	} else if (tx->state == TX_ASKING) {
		tx->abandoned = true;
		tx->rows_fn = NULL;
	} else {
		rollback_sent(tx);
	}
}

/* Those every transaction needs are prepared while connecting, so that none of them stands
 * behind a refusal. */
const struct question *const always_prepared[] = {
    &begin_tx, &begin_read, &commit_tx, &rollback_tx, &ask_xid, NULL};
