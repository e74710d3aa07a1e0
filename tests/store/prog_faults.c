/* SPDX-License-Identifier: MIT */
/*
 * What the store does when PostgreSQL dies, hangs, or the wire is cut: what was acknowledged is
 * there, what was not is told, and nobody waits for ever.
 */
#include <signal.h>
#include <stddef.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "alloc.h"
#include "proxy.h"
#include "scene.h"

/* ---- a wire that is cut at COMMIT ---- */

struct wired {
	struct proxy *proxy;
	char *folder, *conninfo;
	struct store_config before;
};

static struct wired wire(struct desk *desk, int connections, int wait_ms)
{
	struct wired w = {.before = desk->config};
	const char *info = cluster_daemon_conninfo(desk->cluster);
	char to[108] = "";
	sscanf(info, "host='%107[^']'", to);
	w.folder = xstrdup("/tmp/wire-XXXXXX");
	if (!mkdtemp(w.folder))
		abort();
	w.proxy = proxy_new(desk->base, w.folder, to);
	if (asprintf(&w.conninfo,
		"host=%s port=5433 user=tearshare_daemon dbname=tearshare",
		w.folder) < 0)
		abort();
	struct store_config config = desk->config;
	struct err err;
	config.conninfo = w.conninfo;
	config.connections = connections;
	config.wait_ms = wait_ms;
	store_delete(desk->store);
	CHECK(store_new(desk->base, &config, &desk->store, &err));
	/* all are connected before anything is cut */
	struct store_tx *all[2];
	for (int i = 0; i < connections; i++)
		all[i] = desk_begin(desk);
	for (int i = 0; i < connections; i++)
		store_rollback(all[i]);
	return w;
}

static void unwire(struct desk *desk, struct wired *w)
{
	desk_reopen(desk, &w->before);
	proxy_delete(w->proxy);
	rmdir(w->folder);
	free(w->folder);
	free(w->conninfo);
}

/* A member of this name, not yet committed. */
static struct store_tx *write_one(
    struct desk *desk, int64_t studio, const char *name)
{
	struct member member = {
	    .studio_id = studio, .name = name, .roles = ROLE_STUDENT};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r, store_member_add(tx, &member, desk_reply, &r));
	return tx;
}

static void count_is(struct desk *desk, const char *name, const char *want)
{
	char sql[200];
	snprintf(sql, sizeof(sql),
	    "SELECT count(*) FROM tearshare.member WHERE name = '%s'", name);
	char *got = desk_sql(desk, "postgres", sql, NULL);
	CHECK_TEXT(got, want);
	free(got);
}

static void a_commit_whose_answer_is_lost_is_looked_up(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct wired w = wire(desk, 2, 20000);
	struct err err;
	struct store_tx *tx = write_one(desk, studio, "answer lost");
	proxy_cut(w.proxy, PROXY_SWALLOW_ANSWER);
	CHECK(desk_commit(desk, tx, &err));
	CHECK_INT(proxy_cuts(w.proxy), 1);
	count_is(desk, "answer lost", "1");
	unwire(desk, &w);
}

static void a_commit_that_never_arrived_is_told_as_not_done(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct wired w =
	    wire(desk, 1, 20000); /* it has to connect again to look */
	struct err err;
	struct store_tx *tx = write_one(desk, studio, "commit lost");
	proxy_cut(w.proxy, PROXY_SWALLOW_QUESTION);
	CHECK(!desk_commit(desk, tx, &err));
	CHECK_INT(err.kind, ERR_BUSY);
	CHECK(strstr(err.text, "nothing was changed"));
	CHECK_INT(proxy_cuts(w.proxy), 1);
	count_is(desk, "commit lost", "0");
	unwire(desk, &w);
}

static void a_commit_that_cannot_be_looked_up_is_in_doubt(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct wired w = wire(desk, 2, 300);
	struct err err;
	struct store_tx *tx = write_one(desk, studio, "doubt");
	struct store_tx *other = desk_begin(desk); /* could look otherwise */
	proxy_cut(w.proxy, PROXY_SWALLOW_ANSWER);
	proxy_refuse(w.proxy, 1);
	CHECK(!desk_commit(desk, tx, &err));
	CHECK_INT(err.kind, ERR_BUSY);
	CHECK(strstr(err.text, "could not find out"));
	CHECK(strstr(err.hint, "same key"));
	store_rollback(other);
	unwire(desk, &w);
	count_is(desk, "doubt", "1");
}

static void a_question_whose_link_breaks_is_told_so(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct wired w = wire(desk, 1, 20000);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0}, again = {0};
	proxy_cut(w.proxy, PROXY_SWALLOW_QUESTION);
	store_studio(tx, studio, desk_reply, &r);
	CHECK(!desk_wait(desk, &r));
	CHECK_INT(r.err.kind, ERR_BUSY);
	store_rollback(tx);
	tx = desk_begin(desk); /* the connection is made anew */
	ASK(desk, again, store_studio(tx, studio, desk_reply, &again));
	CHECK_INT(again.n, 1);
	store_rollback(tx);
	unwire(desk, &w);
}

/* ---- PostgreSQL dies ---- */

static void kill_postgres(struct desk *desk)
{
	pid_t pid = cluster_pid(desk->cluster);
	kill(pid, SIGKILL);
	waitpid(pid, NULL, 0);
	CHECK(cluster_reap(desk->cluster, pid));
	CHECK(!cluster_reap(desk->cluster, 1));
}

/* A restart that met the memory of the one before has ended by itself: once more, as the daemon
 * does when it hears of it. */
static void wait_for_postgres(struct desk *desk)
{
	struct err err;
	while (PQping(cluster_daemon_conninfo(desk->cluster)) != PQPING_OK) {
		pid_t pid = cluster_pid(desk->cluster);
		if (waitpid(pid, NULL, WNOHANG) == pid) {
			CHECK(cluster_reap(desk->cluster, pid));
			CHECK(cluster_restart(desk->cluster, &err));
		}
		usleep(10000);
	}
}

static void restart_postgres(struct desk *desk)
{
	struct err err;
	CHECK(cluster_restart(desk->cluster, &err));
	wait_for_postgres(desk);
}

static void after_kill_9_of_postgres_all_acknowledged_is_there(
    struct desk *desk)
{
	int64_t studio = new_studio(desk);
	unsigned seed = 20261121;
	int acknowledged = 0, told = 0;
	char want[16];
	for (int round = 0; round < 3; round++) {
		int n = 5 + rand_r(&seed) % 20;
		for (int i = 0; i < n; i++) {
			struct store_tx *tx =
			    write_one(desk, studio, "durable");
			acknowledged += desk_commit(desk, tx, NULL);
		}
		struct store_tx *open = write_one(desk, studio, "durable");
		struct store_tx *idle = desk_begin(desk);
		kill_postgres(desk);
		/* up again before the loop turns, so that the commit can be looked
		 * up; and others commit, with ids that the crash gave out again */
		restart_postgres(desk);
		for (int i = 0; i < 20; i++)
			free(desk_sql(desk, "postgres",
			    round == 0 ? "SELECT 1"
				       : "SELECT pg_current_xact_id()",
			    NULL));
		struct reply r = {0};
		struct err err;
		if (desk_commit(desk, open, &err))
			acknowledged++;
		else
			CHECK_INT(err.kind, ERR_BUSY);
		store_studio(idle, studio, desk_reply, &r);
		if (!desk_wait(desk, &r)) {
			CHECK_INT(r.err.kind, ERR_BUSY);
			told++;
		}
		store_rollback(idle);
		struct store_tx *up = desk_begin(desk); /* waits for it */
		store_rollback(up);
	}
	CHECK(told <= 3);
	snprintf(want, sizeof(want), "%d", acknowledged);
	count_is(desk, "durable", want);
}

static void without_a_database_a_begin_ends_in_time(struct desk *desk)
{
	struct store_config before = desk->config, quick = before;
	struct err err;
	struct store_tx *tx = NULL;
	quick.wait_ms = 50;
	quick.connections = 1; /* a second one may still be on its way in */
	desk_reopen(desk, &quick);
	struct store_tx *up = NULL;
	while (!desk_try_begin(
	    desk, &up, &err)) /* 50 ms may be short for the first */
		;
	store_rollback(up);
	CHECK(store_is_up(desk->store));
	kill_postgres(desk);
	while (store_is_up(desk->store))
		event_base_loop(desk->base, EVLOOP_ONCE);
	CHECK(!desk_try_begin(desk, &tx, &err));
	CHECK_INT(err.kind, ERR_BUSY);
	CHECK_TEXT(err.text, "could not reach the database");
	restart_postgres(desk);
	desk_reopen(desk, &before);
	store_rollback(desk_begin(desk));
}

static void the_first_host_that_is_dead_is_passed(struct desk *desk)
{
	struct store_config before = desk->config, two = before;
	const char *info = cluster_daemon_conninfo(desk->cluster);
	struct err err;
	char to[108] = "", hosts[400];
	sscanf(info, "host='%107[^']'", to);
	snprintf(hosts, sizeof(hosts),
	    "host=/nowhere,%s port=5432,5432 user=tearshare_daemon "
	    "dbname=tearshare",
	    to);
	two.conninfo = hosts;
	store_delete(desk->store);
	CHECK(store_new(desk->base, &two, &desk->store, &err));
	store_rollback(desk_begin(desk));
	desk_reopen(desk, &before);
	two.conninfo = "host='";
	struct store *none = NULL;
	CHECK(!store_new(desk->base, &two, &none, &err));
	CHECK_INT(err.kind, ERR_INPUT);
}

/* ---- PostgreSQL says no ---- */

static void what_is_locked_is_waited_for_and_then_told(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct store_config before = desk->config, quick = before;
	quick.statement_ms = 200;
	desk_reopen(desk, &quick);
	struct store_tx *a = desk_begin(desk), *b = desk_begin(desk);
	struct reply ra = {0}, rb = {0};
	ASK(desk, ra,
	    store_workshop_lock(
		a, s.studio, s.workshop, false, desk_reply, &ra));
	store_workshop_lock(b, s.studio, s.workshop, true, desk_reply, &rb);
	CHECK(!desk_wait(desk, &rb));
	CHECK_INT(rb.err.kind, ERR_BUSY);
	CHECK(strstr(rb.err.text, "holds what this needs"));
	store_rollback(b);
	store_rollback(a);
	desk_reopen(desk, &before);
}

static void two_that_wait_for_each_other_are_parted(struct desk *desk)
{
	struct scene s = new_scene(desk), t = new_scene(desk);
	struct store_tx *a = desk_begin(desk), *b = desk_begin(desk);
	struct reply r[4] = {0};
	ASK(desk, r[0],
	    store_workshop_lock(
		a, s.studio, s.workshop, false, desk_reply, &r[0]));
	ASK(desk, r[1],
	    store_workshop_lock(
		b, t.studio, t.workshop, false, desk_reply, &r[1]));
	store_workshop_lock(a, t.studio, t.workshop, false, desk_reply, &r[2]);
	store_workshop_lock(b, s.studio, s.workshop, false, desk_reply, &r[3]);
	/* The server drops the loser's locks with its error, so both answers
	   come, in either order. */
	while (!r[2].called || !r[3].called)
		event_base_loop(desk->base, EVLOOP_ONCE);
	CHECK(r[2].ok != r[3].ok);
	struct reply *loser = r[2].ok ? &r[3] : &r[2];
	CHECK_INT(loser->err.kind, ERR_BUSY);
	CHECK_TEXT(loser->err.text, "two changes met");
	store_rollback(a);
	store_rollback(b);
}

static void a_full_queue_says_so_at_once(struct desk *desk)
{
	struct store_config before = desk->config, small = before;
	struct err err;
	struct store_tx *tx = NULL;
	small.connections = 1;
	small.queue_max = 0;
	desk_reopen(desk, &small);
	while (!store_is_up(desk->store))
		event_base_loop(desk->base, EVLOOP_ONCE);
	struct store_tx *only = desk_begin(desk);
	CHECK(!desk_try_begin(desk, &tx, &err));
	CHECK_INT(err.kind, ERR_BUSY);
	CHECK_TEXT(err.text, "too many are waiting for the database");
	store_rollback(only);
	CHECK(desk_try_begin(desk, &tx, &err));
	store_rollback(tx);
	desk_reopen(desk, &before);
}

static void refusals_do_not_cost_the_connection(struct desk *desk)
{
	static const char sql[] =
	    "SELECT string_agg(pid::text, ',' ORDER BY pid) FROM "
	    "pg_stat_activity WHERE application_name = 'tearshared'";
	struct scene s = new_scene(desk);
	char *before = desk_sql(desk, "postgres", sql, NULL);
	for (int i = 0; i < 20; i++) {
		struct request_row bad = sample_request(&s, 0);
		struct store_tx *tx = desk_begin(desk);
		struct reply r = {0}, after = {0};
		store_request_add(tx, &bad, desk_reply, &r);
		CHECK(!desk_wait(desk, &r));
		/* nothing but a rollback is left */
		store_studio(tx, s.studio, desk_reply, &after);
		CHECK(!desk_wait(desk, &after));
		CHECK_INT(after.err.kind, ERR_INTERNAL);
		if (i % 2) {
			store_rollback(tx);
		} else {
			struct err err;
			CHECK(!desk_commit(desk, tx, &err));
			CHECK_INT(err.kind, ERR_INTERNAL);
		}
	}
	char *after = desk_sql(desk, "postgres", sql, NULL);
	CHECK_TEXT(after, before);
	CHECK(strlen(before) > 0);
	free(before);
	free(after);
}

static void a_schema_that_changed_below_is_found_out(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct store_config before = desk->config, one = before;
	one.connections = 1;
	desk_reopen(desk, &one);
	for (int i = 0; i < 2; i++) {
		struct store_tx *tx = desk_begin(desk);
		struct reply r = {0};
		ASK(desk, r, store_studio(tx, studio, desk_reply, &r));
		store_rollback(tx);
	}
	free(desk_sql(desk, "postgres",
	    "ALTER TABLE tearshare.studio ADD COLUMN later integer", NULL));
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0}, again = {0};
	store_studio(tx, studio, desk_reply, &r);
	CHECK(!desk_wait(desk, &r));
	CHECK_INT(r.err.kind, ERR_BUSY);
	store_rollback(tx);
	tx = desk_begin(desk);
	ASK(desk, again, store_studio(tx, studio, desk_reply, &again));
	store_rollback(tx);
	free(desk_sql(desk, "postgres",
	    "ALTER TABLE tearshare.studio DROP COLUMN later", NULL));
	desk_reopen(desk, &before);
}

/* ---- a standby that does not answer ---- */

static void set_standby(struct desk *desk, const char *name)
{
	char sql[200];
	snprintf(sql, sizeof(sql),
	    "ALTER SYSTEM SET synchronous_standby_names = '%s'", name);
	free(desk_sql(desk, "postgres", sql, NULL));
	free(desk_sql(desk, "postgres", "SELECT pg_reload_conf()", NULL));
	/* the reload has reached every session that begins from now on */
	char *now = NULL;
	do {
		free(now);
		now = desk_sql(
		    desk, "postgres", "SHOW synchronous_standby_names", NULL);
	} while (strcmp(now, name) != 0);
	free(now);
}

/* A cancelled wait looks like a commit: only a warning tells that the standby lacks it. */
static void a_commit_that_stopped_waiting_for_its_standby_is_in_doubt(
    struct desk *desk)
{
	int64_t studio = new_studio(desk);
	struct store_config before = desk->config, quick = before;
	set_standby(desk, "nobody");
	quick.wait_ms = 1000;
	desk_reopen(desk, &quick);
	struct err err;
	struct store_tx *tx = NULL;
	while (!desk_try_begin(desk, &tx, &err))
		;
	struct member member = {
	    .studio_id = studio, .name = "alone", .roles = ROLE_STUDENT};
	struct reply r = {0};
	ASK(desk, r, store_member_add(tx, &member, desk_reply, &r));
	pid_t canceller = fork();
	if (canceller ==
	    0) { /* cancels whatever waits for a standby, until told to stop */
		for (;;) {
			free(desk_sql(desk, "postgres",
			    "SELECT pg_cancel_backend(pid) FROM "
			    "pg_stat_activity WHERE wait_event = 'SyncRep'",
			    NULL));
			usleep(20000);
		}
	}
	CHECK(!desk_commit(desk, tx, &err));
	CHECK_INT(err.kind, ERR_BUSY);
	CHECK(strstr(err.text, "could not find out"));
	kill(canceller, SIGKILL);
	waitpid(canceller, NULL, 0);
	set_standby(desk, "");
	count_is(desk, "alone", "1");
	desk_reopen(desk, &before);
}

/* ---- leaving in the middle ---- */

static void a_question_under_way_may_be_left(struct desk *desk)
{
	struct scene s = new_scene(desk);
	for (int i = 0; i < 20; i++) {
		struct store_tx *tx = desk_begin(desk);
		struct reply r = {0};
		store_workshop_lock(
		    tx, s.studio, s.workshop, false, desk_reply, &r);
		store_rollback(tx);
		CHECK(!r.called);
	}
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_workshop_lock(
		tx, s.studio, s.workshop, false, desk_reply, &r));
	store_rollback(tx);
}

struct ending {
	int begun, refused;
};

static void on_begun_late(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct ending *ending = ctx;
	ending->begun += tx != NULL;
	ending->refused += err != NULL && err->kind == ERR_BUSY;
}

static void deleting_the_store_answers_everybody(struct desk *desk)
{
	struct store_config before = desk->config, small = before;
	struct ending ending = {0};
	int64_t studio = new_studio(desk);
	small.connections = 1;
	desk_reopen(desk, &small);
	struct store_tx *asking = desk_begin(desk);
	struct reply r = {0};
	for (int i = 0; i < 5; i++)
		store_begin(desk->store, on_begun_late, &ending);
	store_studio(asking, studio, desk_reply, &r);
	store_delete(desk->store);
	desk->store = NULL;
	CHECK_INT(ending.refused, 5);
	CHECK_INT(ending.begun, 0);
	CHECK(r.called && !r.ok && r.err.kind == ERR_BUSY);
	store_rollback(asking);
	desk_reopen(desk, &before);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(a_commit_whose_answer_is_lost_is_looked_up),
	    T(a_commit_that_never_arrived_is_told_as_not_done),
	    T(a_commit_that_cannot_be_looked_up_is_in_doubt),
	    T(a_question_whose_link_breaks_is_told_so),
	    T(after_kill_9_of_postgres_all_acknowledged_is_there),
	    T(without_a_database_a_begin_ends_in_time),
	    T(the_first_host_that_is_dead_is_passed),
	    T(what_is_locked_is_waited_for_and_then_told),
	    T(two_that_wait_for_each_other_are_parted),
	    T(a_full_queue_says_so_at_once),
	    T(refusals_do_not_cost_the_connection),
	    T(a_schema_that_changed_below_is_found_out),
	    T(a_commit_that_stopped_waiting_for_its_standby_is_in_doubt),
	    T(a_question_under_way_may_be_left),
	    T(deleting_the_store_answers_everybody),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
