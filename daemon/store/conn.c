/* SPDX-License-Identifier: MIT */
/*
 * conn.c - one connection: made, used in pipeline mode, and made again when it breaks.
 *
 * While connecting, libpq may change its socket between two polls, so the events are made
 * anew each time; its connect_timeout does not work in this mode, so there is a timer.
 * When an attempt runs into the timer the list of hosts is turned by one: otherwise a
 * first host that swallows packets would hide the second for ever.
 *
 * A statement that answers neither within its own limit nor a little later means that the
 * link or the server hangs (a commit that waits for a standby is not ended by
 * statement_timeout): the link is given up.  It is never cancelled: cancelling a commit's
 * wait would make it look done.
 */
#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "log.h"
#include "pool.h"
#include "text.h"

static void conn_start(struct conn *conn);
static void conn_break(struct conn *conn, const char *why);
static void prepare(struct conn *conn, const struct question *question);
static void on_readable(evutil_socket_t fd, short what, void *ctx);
static void on_writable(evutil_socket_t fd, short what, void *ctx);
static void on_timer(evutil_socket_t fd, short what, void *ctx);

static const struct question ask_life = {"SELECT " SERVER_LIFE, NULL, false};

void life_read(struct server_life *life, const PGresult *res, int column)
{
	snprintf(life->timeline, sizeof(life->timeline), "%s",
	    PQgetvalue(res, 0, column));
	snprintf(life->started, sizeof(life->started), "%s",
	    PQgetvalue(res, 0, column + 1));
	snprintf(life->counted, sizeof(life->counted), "%s",
	    PQgetvalue(res, 0, column + 2));
}

static void arm(struct event *event, int ms)
{
	struct timeval t = {ms / 1000, ms % 1000 * 1000};
	event_add(event, &t);
}

static void conn_enter(struct conn *conn, enum conn_state state)
{
	static const char *const names[] = {"waiting", "connecting", "ready"};
	log_event(LOG_DEBUG, "database-link", "link=%d state=%s->%s",
	    conn->number, names[conn->state], names[state]);
	conn->state = state;
}

void conn_init(struct conn *conn, struct store *store, int number, bool listens)
{
	conn->store = store;
	conn->number = number;
	conn->listens = listens;
	conn->retry_ms = RETRY_FIRST_MS;
	conn->state = CONN_WAITING;
	event_assign(&conn->timer, store->base, -1, 0, on_timer, conn);
	arm(&conn->timer, 0);
}

/* ---- connecting ---- */

/* "a,b,c" turned by one is "b,c,a"; yours to free. */
static char *turned(const char *list, int by)
{
	char *out = xstrdup(list);
	for (int i = 0; i < by; i++) {
		char *comma = strchr(out, ',');
		if (!comma)
			break;
		struct text t;
		text_init(&t, strlen(out) + 2);
		text_add(&t, comma + 1);
		text_add_char(&t, ',');
		text_add_bytes(&t, out, (size_t)(comma - out));
		free(out);
		out = text_take(&t);
	}
	return out;
}

static bool is_host_list(const char *name)
{
	return strcmp(name, "host") == 0 || strcmp(name, "hostaddr") == 0 ||
	       strcmp(name, "port") == 0;
}

/* What each session is set to; the conninfo's own options come after it and win. */
static void add_options(
    struct text *out, const struct store_config *config, const char *own)
{
	text_add(out, "-c search_path=tearshare,pg_temp -c timezone=UTC -c "
		      "datestyle=ISO,YMD -c bytea_output=hex -c "
		      "default_transaction_isolation=read\\ committed");
	text_addf(out,
	    " -c statement_timeout=%d -c lock_timeout=%d -c "
	    "idle_in_transaction_session_timeout=%d",
	    config->statement_ms, config->statement_ms / 2 + 1, 30000);
	if (own && *own)
		text_addf(out, " %s", own);
}

static const struct {
	const char *name, *value;
} defaults[] = {
    {"application_name", "tearshared"},
    {"target_session_attrs", "read-write"},
    {"keepalives_idle", "15"},
    {"keepalives_interval", "5"},
    {"keepalives_count", "3"},
    {"tcp_user_timeout", "10000"},
};
#define N_DEFAULTS (sizeof(defaults) / sizeof(defaults[0]))

static const char *default_for(const char *name)
{
	for (size_t i = 0; i < N_DEFAULTS; i++)
		if (strcmp(defaults[i].name, name) == 0)
			return defaults[i].value;
	return NULL;
}

static PGconn *start(const struct conn *conn)
{
	PQconninfoOption *parsed = PQconninfoParse(conn->store->conninfo, NULL);
	const char *names[64] = {0}, *values[64] = {0};
	char *owned[64] = {0};
	struct text options;
	text_init(&options, 4096);
	size_t n = 0;
	for (PQconninfoOption *o = parsed; o && o->keyword && n < 62; o++) {
		names[n] = o->keyword;
		values[n] = o->val ? o->val : default_for(o->keyword);
		if (is_host_list(o->keyword) && o->val && conn->rotation > 0)
			values[n] = owned[n] = turned(o->val, conn->rotation);
		if (strcmp(o->keyword, "options") == 0) {
			add_options(&options, &conn->store->config, o->val);
			values[n] = options.data;
		}
		if (strcmp(o->keyword, "client_encoding") == 0)
			values[n] = "UTF8";
		if (values[n])
			n++;
	}
	names[n] = NULL;
	PGconn *pg = PQconnectStartParams(names, values, 0);
	for (size_t i = 0; i < 64; i++)
		free(owned[i]);
	text_free(&options);
	PQconninfoFree(parsed);
	return pg;
}

/* The one warning that matters: a commit that stopped waiting for its standby. */
static void on_notice(void *ctx, const PGresult *res)
{
	struct conn *conn = ctx;
	const char *state = PQresultErrorField(res, PG_DIAG_SQLSTATE);
	const char *text = PQresultErrorField(res, PG_DIAG_MESSAGE_PRIMARY);
	const char *severity =
	    PQresultErrorField(res, PG_DIAG_SEVERITY_NONLOCALIZED);
	char value[LOG_VALUE_MAX];
	log_event(LOG_WARN, "database-notice", "link=%d sqlstate=%s text=%s",
	    conn->number, state ? state : "",
	    log_value(value, text ? text : ""));
	if (state && severity && strcmp(state, "01000") == 0 &&
	    strcmp(severity, "WARNING") == 0)
		conn->warned = true;
}

static void drop_events(struct conn *conn)
{
	if (!conn->has_events)
		return;
	event_del(&conn->readable);
	event_del(&conn->writable);
	conn->has_events = false;
}

static void make_events(struct conn *conn)
{
	drop_events(conn);
	int fd = PQsocket(conn->pg);
	event_assign(&conn->readable, conn->store->base, fd,
	    EV_READ | EV_PERSIST, on_readable, conn);
	event_assign(&conn->writable, conn->store->base, fd, EV_WRITE,
	    on_writable, conn);
	conn->has_events = true;
}

static void conn_connected(struct conn *conn)
{
	const struct given nothing = {0};
	PQsetnonblocking(conn->pg, 1);
	PQenterPipelineMode(conn->pg);
	make_events(conn);
	event_add(&conn->readable, NULL);
	conn_send(conn, ITEM_LIFE, &ask_life, &nothing);
	for (size_t i = 0; always_prepared[i]; i++)
		prepare(conn, always_prepared[i]);
	conn_sync(conn);
}

static void conn_poll(struct conn *conn)
{
	PostgresPollingStatusType status = PQconnectPoll(conn->pg);
	switch (status) {
	case PGRES_POLLING_READING:
		make_events(conn);
		event_add(&conn->readable, NULL);
		return;
	case PGRES_POLLING_WRITING:
		make_events(conn);
		event_add(&conn->writable, NULL);
		return;
	case PGRES_POLLING_OK:
		conn_connected(conn);
		return;
	case PGRES_POLLING_FAILED:
	default:
		conn_break(conn, "could not connect");
	}
}

static void conn_start(struct conn *conn)
{
	conn_enter(conn, CONN_CONNECTING);
	conn->pg = start(conn);
	if (!conn->pg)
		abort(); /* out of memory */
	if (PQstatus(conn->pg) == CONNECTION_BAD) {
		conn_break(conn, "could not connect");
		return;
	}
	PQsetNoticeReceiver(conn->pg, on_notice, conn);
	arm(&conn->timer, CONNECT_MS);
	make_events(conn);
	event_add(&conn->writable, NULL);
}

static void conn_is_ready(struct conn *conn)
{
	conn_enter(conn, CONN_READY);
	conn->retry_ms = RETRY_FIRST_MS;
	log_event(LOG_INFO, "database-up", "link=%d", conn->number);
	if (conn->listens)
		pool_listens(conn->store, conn);
	else
		pool_free_conn(conn->store, conn);
}

/* ---- breaking ---- */

static void forget(struct conn *conn)
{
	drop_events(conn);
	event_del(&conn->timer);
	PQclear(conn->refusal);
	conn->refusal = NULL;
	PQfinish(conn->pg);
	conn->pg = NULL;
	conn->n_items = 0;
	conn->doomed = false;
	conn->warned = false;
	memset(conn->prepared, 0, sizeof(conn->prepared));
}

void conn_close(struct conn *conn)
{
	struct store_tx *tx = conn->tx;
	forget(conn);
	conn->state = CONN_WAITING;
	conn->tx = NULL;
	if (tx)
		tx->conn = NULL;
}

static void conn_break(struct conn *conn, const char *why)
{
	char value[LOG_VALUE_MAX];
	struct store_tx *tx = conn->tx;
	log_event(LOG_WARN, "database-lost",
	    "link=%d again_ms=%d why=\"%s\" cause=%s", conn->number,
	    conn->retry_ms, why,
	    log_value(value, conn->pg ? PQerrorMessage(conn->pg) : ""));
	forget(conn);
	conn_enter(conn, CONN_WAITING);
	arm(&conn->timer, conn->retry_ms);
	conn->retry_ms = conn->retry_ms * 2 < RETRY_MOST_MS ? conn->retry_ms * 2
							    : RETRY_MOST_MS;
	conn->tx = NULL;
	if (tx) {
		tx->conn = NULL;
		tx_lost(tx);
	}
}

void conn_doom(struct conn *conn, const char *why)
{
	if (conn->doomed || !conn->has_events)
		return;
	log_event(LOG_DEBUG, "database-doomed", "link=%d why=\"%s\"",
	    conn->number, why);
	conn->doomed = true;
	event_active(&conn->readable, EV_READ, 0);
}

static void on_timer(evutil_socket_t fd, short what, void *ctx)
{
	struct conn *conn = ctx;
	(void)fd;
	(void)what;
	switch (conn->state) {
	case CONN_WAITING:
		conn_start(conn);
		return;
	case CONN_CONNECTING:
		conn->rotation = (conn->rotation + 1) % 16;
		conn_break(conn, "connecting took too long");
		return;
	case CONN_READY:
		conn_break(conn, "no answer within the limit");
		return;
	}
}

/* ---- sending ---- */

/* Whether the question is prepared on this connection. */
static bool *is_prepared(struct conn *conn, const struct question *question)
{
	size_t at = (uintptr_t)question / sizeof(*question);
	for (size_t i = 0; i < PREPARED_MAX; i++) {
		size_t slot = (at + i) % PREPARED_MAX;
		if (!conn->prepared[slot].question)
			conn->prepared[slot].question = question;
		if (conn->prepared[slot].question == question)
			return &conn->prepared[slot].ready;
	}
	assert(!"more questions than slots");
	return NULL;
}

static void push(
    struct conn *conn, enum item_kind kind, const struct question *question)
{
	assert(conn->n_items < ITEMS_MAX);
	conn->items[(conn->first_item + conn->n_items++) % ITEMS_MAX] =
	    (struct item){kind, question};
}

static void statement_name(char out[32], const struct question *question)
{
	snprintf(out, 32, "q%jx", (uintmax_t)(uintptr_t)question);
}

static void prepare(struct conn *conn, const struct question *question)
{
	char name[32];
	bool *ready = is_prepared(conn, question);
	if (*ready)
		return;
	statement_name(name, question);
	if (!PQsendPrepare(conn->pg, name, question->sql, 0, NULL))
		conn_doom(conn, "could not send");
	push(conn, ITEM_PREPARE, question);
	*ready = true; /* or the answer says otherwise */
}

void conn_send(struct conn *conn, enum item_kind kind,
    const struct question *question, const struct given *given)
{
	char name[32];
	statement_name(name, question);
	prepare(conn, question);
	if (!PQsendQueryPrepared(conn->pg, name, given->n, given->values,
		given->lengths, given->formats, 0))
		conn_doom(conn, "could not send");
	push(conn, kind, question);
}

static void flush(struct conn *conn)
{
	int left = PQflush(conn->pg);
	if (left > 0)
		event_add(&conn->writable, NULL);
	else if (left < 0)
		conn_doom(conn, "could not send");
}

void conn_sync(struct conn *conn)
{
	if (!PQpipelineSync(conn->pg))
		conn_doom(conn, "could not send");
	push(conn, ITEM_SYNC, NULL);
	flush(conn);
	if (conn->state == CONN_READY &&
	    !event_pending(&conn->timer, EV_TIMEOUT, NULL))
		arm(&conn->timer,
		    conn->store->config.statement_ms + ANSWER_SLACK_MS);
}

/* ---- receiving ---- */

static void pop(struct conn *conn)
{
	conn->first_item = (conn->first_item + 1) % ITEMS_MAX;
	conn->n_items--;
}

static bool is_refusal(const PGresult *res)
{
	ExecStatusType status = PQresultStatus(res);
	return status != PGRES_COMMAND_OK && status != PGRES_TUPLES_OK &&
	       status != PGRES_EMPTY_QUERY;
}

static void item_answered(
    struct conn *conn, const struct item *item, PGresult *res)
{
	bool refused = is_refusal(res);
	if (refused && item->kind == ITEM_PREPARE) /* or skipped behind one */
		*is_prepared(conn, item->question) = false;
	if (refused && sqlstate_is_outdated(res))
		conn_doom(conn, "prepared statements are outdated");
	if (refused && !conn->refusal) {
		conn->refusal = res;
		return;
	}
	if (!refused && item->kind == ITEM_LIFE) {
		life_read(&conn->life, res, 0);
	} else if (!refused && conn->tx) {
		tx_answered(conn->tx, item->kind, res);
		return;
	}
	PQclear(res);
}

static void synced(struct conn *conn)
{
	PGresult *refusal = conn->refusal;
	conn->refusal = NULL;
	event_del(&conn->timer);
	if (conn->n_items > 0)
		arm(&conn->timer,
		    conn->store->config.statement_ms + ANSWER_SLACK_MS);
	if (conn->state == CONN_CONNECTING && refusal)
		conn_doom(conn, "the database is not ready");
	else if (conn->state == CONN_CONNECTING)
		conn_is_ready(conn);
	else if (conn->tx && conn->n_items == 0)
		tx_synced(conn->tx, refusal);
	PQclear(refusal);
}

static void take_answers(struct conn *conn)
{
	while (conn->n_items > 0 && !conn->doomed && !PQisBusy(conn->pg)) {
		struct item item = conn->items[conn->first_item];
		PGresult *res = PQgetResult(conn->pg);
		if (PQstatus(conn->pg) == CONNECTION_BAD) {
			PQclear(res);
			conn_doom(conn, "the link broke");
			return;
		}
		if (!res)
			continue; /* closes the answer before */
		pop(conn);
		if (PQresultStatus(res) != PGRES_PIPELINE_SYNC) {
			item_answered(conn, &item, res);
			continue;
		}
		assert(item.kind == ITEM_SYNC);
		PQclear(res);
		synced(conn);
	}
}

static void take_notices(struct conn *conn)
{
	PGnotify *notify;
	while (conn->pg && (notify = PQnotifies(conn->pg)) != NULL) {
		pool_notified(conn->store, notify->relname, notify->extra);
		PQfreemem(notify);
	}
}

static void on_readable(evutil_socket_t fd, short what, void *ctx)
{
	struct conn *conn = ctx;
	(void)fd;
	(void)what;
	if (!conn->doomed && conn->state == CONN_CONNECTING &&
	    conn->n_items == 0) {
		conn_poll(conn);
		return;
	}
	if (!conn->doomed && PQconsumeInput(conn->pg))
		take_answers(conn);
	else
		conn->doomed = true;
	if (conn->doomed) {
		conn_break(conn, "link is broken");
		return;
	}
	take_notices(conn);
}

static void on_writable(evutil_socket_t fd, short what, void *ctx)
{
	struct conn *conn = ctx;
	(void)fd;
	(void)what;
	if (conn->state == CONN_CONNECTING && conn->n_items == 0)
		conn_poll(conn);
	else
		flush(conn);
}
