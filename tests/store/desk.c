/* SPDX-License-Identifier: MIT */
/*
 * desk.c - the store's test harness (desk.h).
 */
#include "desk.h"

#include <string.h>
#include <unistd.h>

#include "alloc.h"
#include "cluster_files.h"
#include "log.h"
#include "schema.h"

int failures;
const char *running = "";

static void give_up(const char *what, const struct err *err)
{
	printf("%s: %s: %s %s\n", running, what, err ? err->text : "",
	    err ? err->hint : "");
	fflush(stdout);
	abort();
}

static void desk_store(struct desk *desk)
{
	struct err err;
	desk->config.conninfo = cluster_daemon_conninfo(desk->cluster);
	if (!store_new(desk->base, &desk->config, &desk->store, &err))
		give_up("store", &err);
}

struct desk *desk_open(void)
{
	struct err err;
	struct desk *desk = xcalloc(1, sizeof(*desk));
	const char *tmp = getenv("TMPDIR");
	char *path = folder_join(tmp && *tmp ? tmp : "/tmp", "store-XXXXXX");
	desk->folder = mkdtemp(path);
	if (!desk->folder)
		give_up("mkdtemp", NULL);
	char *data = folder_join(desk->folder, "db");
	if (!cluster_start(data, &desk->cluster, &err))
		give_up("cluster", &err);
	free(data);
	if (!schema_migrate(cluster_owner_conninfo(desk->cluster), &err))
		give_up("schema", &err);
	desk->base = event_base_new();
	desk->config = (struct store_config){.connections = 4,
	    .queue_max = 100,
	    .statement_ms = 20000,
	    .wait_ms = 20000};
	desk_store(desk);
	return desk;
}

struct desk *desk_beside(struct desk *desk)
{
	struct desk *other = xcalloc(1, sizeof(*other));
	*other = *desk;
	other->folder = NULL;
	other->base = event_base_new();
	desk_store(other);
	return other;
}

void desk_reopen(struct desk *desk, const struct store_config *config)
{
	store_delete(desk->store);
	desk->config = *config;
	desk_store(desk);
}

void desk_close(struct desk *desk)
{
	store_delete(desk->store);
	event_base_free(desk->base);
	if (desk->folder) {
		cluster_stop(desk->cluster);
		folder_remove(desk->folder);
		free(desk->folder);
	}
	free(desk);
}

/* The daemon's conninfo with another role. */
static char *as_role(struct desk *desk, const char *role)
{
	const char *info = cluster_daemon_conninfo(desk->cluster);
	char *out = NULL;
	if (asprintf(&out, "%s user=%s", info, role) < 0)
		abort();
	return out;
}

char *desk_sql(struct desk *desk, const char *role, const char *sql, char **err)
{
	char *info = as_role(desk, role);
	char *value = NULL;
	PGconn *conn = PQconnectdb(info);
	PGresult *res = PQexec(conn, sql);
	ExecStatusType status = PQresultStatus(res);
	bool ok = status == PGRES_COMMAND_OK || status == PGRES_TUPLES_OK;
	if (err)
		*err = ok ? NULL : xstrdup(PQerrorMessage(conn));
	else if (!ok)
		printf("%s: %s: %s\n", running, sql, PQerrorMessage(conn));
	if (ok)
		value = xstrdup(PQntuples(res) > 0 && PQnfields(res) > 0
				    ? PQgetvalue(res, 0, 0)
				    : "");
	PQclear(res);
	PQfinish(conn);
	free(info);
	return value;
}

/* ---- as if it blocked ---- */

static void on_minute(evutil_socket_t fd, short what, void *ctx)
{
	(void)fd;
	(void)what;
	(void)ctx;
	give_up("nothing came within a minute", NULL);
}

void desk_until(struct desk *desk, const bool *flag)
{
	struct timeval minute = {60, 0};
	struct event *watchdog = evtimer_new(desk->base, on_minute, NULL);
	evtimer_add(watchdog, &minute);
	while (!*flag)
		event_base_loop(desk->base, EVLOOP_ONCE);
	event_free(watchdog);
}

struct begun {
	bool called;
	struct store_tx *tx;
	struct err err;
};

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct begun *begun = ctx;
	begun->called = true;
	begun->tx = tx;
	if (err)
		begun->err = *err;
}

bool desk_try_begin(struct desk *desk, struct store_tx **tx, struct err *err)
{
	struct begun begun = {0};
	store_begin(desk->store, on_begun, &begun);
	desk_until(desk, &begun.called);
	*tx = begun.tx;
	if (err)
		*err = begun.err;
	return begun.tx != NULL;
}

struct store_tx *desk_begin(struct desk *desk)
{
	struct err err;
	struct store_tx *tx = NULL;
	for (int i = 0; i < 200;
	     i++) /* on a busy machine the wait may be short */
		if (desk_try_begin(desk, &tx, &err))
			return tx;
	give_up("begin", &err);
	return NULL;
}

struct store_tx *desk_begin_read(struct desk *desk)
{
	struct begun begun = {0};
	store_begin_read(desk->store, on_begun, &begun);
	desk_until(desk, &begun.called);
	if (!begun.tx)
		give_up("begin", &begun.err);
	return begun.tx;
}

struct done {
	bool called, ok;
	struct err err;
};

static void on_done(void *ctx, const struct err *err)
{
	struct done *done = ctx;
	done->called = true;
	done->ok = !err;
	if (err)
		done->err = *err;
}

bool desk_commit(struct desk *desk, struct store_tx *tx, struct err *err)
{
	struct done done = {0};
	store_commit(tx, on_done, &done);
	desk_until(desk, &done.called);
	if (err)
		*err = done.err;
	return done.ok;
}

static void keep_strings(struct reply *reply)
{
	for (size_t r = 0; r < reply->n; r++)
		for (size_t s = 0;
		     reply->strings && reply->strings[s] != NO_MORE; s++) {
			char *text = NULL;
			char *at =
			    reply->rows + r * reply->size + reply->strings[s];
			memcpy(&text, at, sizeof(text));
			text = text ? xstrdup(text) : NULL;
			memcpy(at, &text, sizeof(text));
		}
}

void desk_reply(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct reply *reply = ctx;
	reply->called = true;
	reply->ok = !err;
	reply->n = n;
	if (err)
		reply->err = *err;
	if (!rows || n == 0 || reply->size == 0)
		return;
	reply->rows = xcalloc(n, reply->size);
	memcpy(reply->rows, rows, n * reply->size);
	keep_strings(reply);
}

bool desk_wait(struct desk *desk, struct reply *reply)
{
	desk_until(desk, &reply->called);
	return reply->ok;
}

void reply_free(struct reply *reply)
{
	for (size_t r = 0; reply->rows && r < reply->n; r++)
		for (size_t s = 0;
		     reply->strings && reply->strings[s] != NO_MORE; s++) {
			char *text = NULL;
			memcpy(&text,
			    reply->rows + r * reply->size + reply->strings[s],
			    sizeof(text));
			free(text);
		}
	free(reply->rows);
	reply->rows = NULL;
}

/* ---- checks and the run ---- */

void check_text(const char *file, int line, const char *got, const char *want)
{
	if (got && want ? strcmp(got, want) == 0 : got == want)
		return;
	failures++;
	printf("%s:%d: %s: \"%s\" is not \"%s\"\n", file, line, running,
	    got ? got : "(null)", want ? want : "(null)");
}

void check_int(
    const char *file, int line, const char *what, long long got, long long want)
{
	if (got == want)
		return;
	failures++;
	printf("%s:%d: %s: %s is %lld, not %lld\n", file, line, running, what,
	    got, want);
}

int desk_run(const struct test tests[], size_t n, int argc, char **argv)
{
	struct err err;
	size_t ran = 0;
	if (!log_open("/dev/null", LOG_ERROR, &err))
		give_up("log", &err);
	if (getenv("DESK_LOG") && !log_open(NULL, LOG_DEBUG, &err))
		give_up("log", &err);
	struct desk *desk = desk_open();
	for (size_t i = 0; i < n; i++) {
		int before = failures;
		if (argc > 1 && !strstr(tests[i].name, argv[1]))
			continue;
		running = tests[i].name;
		tests[i].run(desk);
		ran++;
		printf(
		    "%s  %s\n", failures == before ? "ok  " : "FAIL", running);
		fflush(stdout);
	}
	running = "closing";
	desk_close(desk);
	printf("%zu run, %d checks failed\n", ran, failures);
	log_close();
	return failures == 0 && ran > 0 ? 0 : 1;
}
