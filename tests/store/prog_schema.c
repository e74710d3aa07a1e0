/* SPDX-License-Identifier: MIT */
/*
 * Migrations and the private PostgreSQL: two at once, killed in the middle, newer than we,
 * started again after kill -9.
 */
#include <signal.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "alloc.h"
#include "cluster_files.h"
#include "desk.h"
#include "log.h"
#include "migrations.h"
#include "schema.h"

/* ---- another database of the same cluster ---- */

/* An empty database of this name; the conninfo of a role on it.  Yours to free. */
static void new_database(struct desk *desk, const char *name)
{
	char sql[200];
	snprintf(
	    sql, sizeof(sql), "DROP DATABASE IF EXISTS %s WITH (FORCE)", name);
	free(desk_sql(desk, "postgres", sql, NULL));
	snprintf(sql, sizeof(sql), "CREATE DATABASE %s", name);
	free(desk_sql(desk, "postgres", sql, NULL));
	snprintf(sql, sizeof(sql),
	    "GRANT CREATE ON DATABASE %s TO tearshare_owner", name);
	free(desk_sql(desk, "postgres", sql, NULL));
}

static char *on_database(struct desk *desk, const char *role, const char *name)
{
	char *info = NULL;
	if (asprintf(&info, "%s user=%s dbname=%s",
		cluster_daemon_conninfo(desk->cluster), role, name) < 0)
		abort();
	return info;
}

static char *value(const char *conninfo, const char *sql)
{
	PGconn *conn = PQconnectdb(conninfo);
	PQclear(PQexec(conn, "SET search_path = tearshare"));
	PGresult *res = PQexec(conn, sql);
	char *got = xstrdup(PQresultStatus(res) == PGRES_TUPLES_OK
				? PQgetvalue(res, 0, 0)
				: PQerrorMessage(conn));
	PQclear(res);
	PQfinish(conn);
	return got;
}

static void value_is(const char *conninfo, const char *sql, const char *want)
{
	char *got = value(conninfo, sql);
	CHECK_TEXT(got, want);
	free(got);
}

/* Everything that makes the schema what it is, as one hash: tables, columns, rules, triggers,
 * functions, rights. */
static const char shape_sql[] =
    "SELECT md5(string_agg(x, E'\\n' ORDER BY x)) FROM ("
    "SELECT format('%s.%s %s %s %s', table_name, column_name, data_type, "
    "is_nullable, column_default) AS x FROM information_schema.columns WHERE "
    "table_schema = 'tearshare'"
    " UNION ALL SELECT conname || pg_get_constraintdef(oid) FROM pg_constraint "
    "WHERE connamespace = 'tearshare'::regnamespace"
    " UNION ALL SELECT pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT "
    "tgisinternal"
    " UNION ALL SELECT pg_get_functiondef(oid) FROM pg_proc WHERE pronamespace "
    "= 'tearshare'::regnamespace"
    " UNION ALL SELECT relname || coalesce(relacl::text, '') FROM pg_class "
    "WHERE relnamespace = 'tearshare'::regnamespace"
    " UNION ALL SELECT pg_get_indexdef(indexrelid) FROM pg_index JOIN pg_class "
    "c ON c.oid = indexrelid WHERE c.relnamespace = 'tearshare'::regnamespace) "
    "s";

static char *whole_count(void)
{
	char *n = NULL;
	if (asprintf(&n, "%zu", n_migrations) < 0)
		abort();
	return n;
}

static void two_daemons_at_once_migrate_once(struct desk *desk)
{
	new_database(desk, "twice");
	char *owner = on_database(desk, "tearshare_owner", "twice");
	char *daemon = on_database(desk, "tearshare_daemon", "twice");
	char *n = whole_count();
	pid_t pids[4];
	struct err err;
	for (int i = 0; i < 4; i++) {
		pids[i] = fork();
		if (pids[i] == 0)
			_exit(schema_migrate(owner, &err) ? 0 : 1);
	}
	for (int i = 0; i < 4; i++) {
		int status = 1;
		waitpid(pids[i], &status, 0);
		CHECK_INT(status, 0);
	}
	value_is(owner, "SELECT count(*) FROM tearshare.schema_version", n);
	CHECK(schema_check(daemon, &err));
	CHECK(schema_migrate(owner, &err)); /* again: nothing to do */
	free(owner);
	free(daemon);
	free(n);
}

/* Killed anywhere: what is there are whole files, and the next start completes them. */
static void a_killed_migration_is_completed_by_the_next(struct desk *desk)
{
	unsigned seed = 7;
	int cut_short = 0;
	char *right = value(cluster_owner_conninfo(desk->cluster), shape_sql);
	char *n = whole_count();
	for (int round = 0; round < 12; round++) {
		struct err err;
		new_database(desk, "killed");
		char *owner = on_database(desk, "tearshare_owner", "killed");
		pid_t pid = fork();
		if (pid == 0)
			_exit(schema_migrate(owner, &err) ? 0 : 1);
		usleep((useconds_t)(rand_r(&seed) % 60000));
		kill(pid, SIGKILL);
		int status = 0;
		waitpid(pid, &status, 0);
		cut_short += WIFSIGNALED(status);
		CHECK(schema_migrate(owner, &err));
		value_is(
		    owner, "SELECT count(*) FROM tearshare.schema_version", n);
		value_is(owner, shape_sql, right);
		free(owner);
	}
	CHECK(cut_short > 0);
	free(right);
	free(n);
}

static void a_newer_or_altered_schema_is_refused_untouched(struct desk *desk)
{
	static const struct {
		const char *sql, *text;
	} rows[] = {
	    {"INSERT INTO tearshare.schema_version (number, name, hash) SELECT "
	     "max(number) + 1, 'later', decode(repeat('00', 32), 'hex') FROM "
	     "tearshare.schema_version RETURNING 1",
		"this program knows"},
	    {"UPDATE tearshare.schema_version SET hash = decode(repeat('00', "
	     "32), 'hex') WHERE number = 2 RETURNING 1",
		"002_shelf.sql differs"},
	    {"DELETE FROM tearshare.schema_version WHERE number = 2 RETURNING "
	     "1",
		"gap"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct err err;
		new_database(desk, "other");
		char *owner = on_database(desk, "tearshare_owner", "other");
		char *daemon = on_database(desk, "tearshare_daemon", "other");
		CHECK(schema_migrate(owner, &err));
		free(value(owner, rows[i].sql));
		char *before = value(owner, shape_sql);
		CHECK(!schema_migrate(owner, &err));
		CHECK_INT(err.kind, ERR_CONFLICT);
		CHECK(strstr(err.text, rows[i].text) != NULL);
		CHECK(!schema_check(daemon, &err));
		CHECK_INT(err.kind, ERR_CONFLICT);
		value_is(owner, shape_sql, before);
		free(before);
		free(owner);
		free(daemon);
	}
}

static void an_older_schema_needs_its_owner(struct desk *desk)
{
	struct err err;
	new_database(desk, "older");
	char *owner = on_database(desk, "tearshare_owner", "older");
	char *daemon = on_database(desk, "tearshare_daemon", "older");
	CHECK(!schema_check(daemon, &err));
	CHECK_INT(err.kind, ERR_CONFLICT);
	CHECK(strstr(err.hint, "owner's conninfo"));
	CHECK(
	    !schema_migrate(daemon, &err)); /* who owns nothing makes nothing */
	CHECK(schema_migrate(owner, &err));
	bool has = true;
	CHECK(schema_has_studio(daemon, &has, &err) && !has);
	int64_t id = 0;
	unsigned char hash[32] = {1};
	CHECK(schema_add_studio(daemon, "First", hash, &id, &err));
	CHECK(schema_has_studio(daemon, &has, &err) && has);
	CHECK(!schema_add_studio(
	    daemon, "First", hash, &id, &err)); /* the key's hash is there */
	CHECK(!strstr(err.text, "010000"));     /* and is not told */
	free(owner);
	free(daemon);
}

/* ---- the private PostgreSQL ---- */

/* Gone, or dead and not yet reaped by whoever inherited it. */
static bool is_gone(pid_t pid)
{
	char path[64], state = 'X';
	snprintf(path, sizeof(path), "/proc/%d/stat", (int)pid);
	FILE *file = fopen(path, "r");
	if (!file)
		return true;
	if (fscanf(file, "%*d (%*[^)]) %c", &state) != 1)
		state = 'X';
	fclose(file);
	return state == 'Z' || state == 'X';
}

static char *own_folder(const char *name)
{
	const char *tmp = getenv("TMPDIR");
	char *base = folder_join(tmp && *tmp ? tmp : "/tmp", "cluster-XXXXXX");
	if (!mkdtemp(base))
		abort();
	char *path = folder_join(base, name);
	free(base);
	return path;
}

static void remove_own(char *path)
{
	*strrchr(path, '/') = '\0';
	folder_remove(path);
	free(path);
}

static void a_killed_daemon_takes_its_postgres_along(struct desk *desk)
{
	char *data = own_folder("db");
	int pipes[2];
	pid_t postmaster = 0;
	struct err err;
	(void)desk;
	if (pipe(pipes) < 0)
		abort();
	pid_t pid = fork();
	if (pid == 0) {
		struct cluster *cluster = NULL;
		if (!cluster_start(data, &cluster, &err) ||
		    !schema_migrate(cluster_owner_conninfo(cluster), &err))
			_exit(1);
		postmaster = cluster_pid(cluster);
		if (write(pipes[1], &postmaster, sizeof(postmaster)) < 0)
			_exit(1);
		for (;;)
			pause();
	}
	CHECK(read(pipes[0], &postmaster, sizeof(postmaster)) ==
	      sizeof(postmaster));
	kill(pid, SIGKILL);
	waitpid(pid, NULL, 0);
	/* the next start waits for the old one to be gone */
	struct cluster *cluster = NULL;
	CHECK(cluster_start(data, &cluster, &err));
	CHECK(is_gone(postmaster));
	value_is(cluster_daemon_conninfo(cluster),
	    "SELECT count(*) > 0 FROM tearshare.schema_version", "t");
	cluster_stop(cluster);
	close(pipes[0]);
	close(pipes[1]);
	remove_own(data);
}

/* Both killed at once, and the number of the dead postmaster given to somebody else (us). */
static void a_stale_lock_file_stops_nobody(struct desk *desk)
{
	char *data = own_folder("db");
	char *lock = folder_join(data, "cluster/postmaster.pid");
	struct cluster *cluster = NULL;
	struct err err;
	(void)desk;
	CHECK(cluster_start(data, &cluster, &err));
	pid_t pid = cluster_pid(cluster);
	kill(pid, SIGKILL);
	waitpid(pid, NULL, 0);
	CHECK(cluster_reap(cluster, pid));
	cluster_stop(cluster);
	FILE *file = fopen(lock, "r+");
	if (!file)
		abort();
	char rest[1000] = "";
	size_t len = fread(rest, 1, sizeof(rest) - 1, file);
	CHECK(len > 0 && atoi(rest) == (int)pid);
	rewind(file);
	fprintf(file, "%d%s", (int)getpid(), strchr(rest, '\n'));
	fclose(file);
	CHECK(cluster_start(data, &cluster, &err));
	cluster_stop(cluster);
	free(lock);
	remove_own(data);
}

static void a_long_folder_gets_a_short_socket(struct desk *desk)
{
	char *data =
	    own_folder("a-folder-with-a-name-so-long-that-no-unix-socket-in-it-"
		       "could-be-reached-by-anybody-at-all");
	struct cluster *cluster = NULL;
	struct err err;
	char socket[200] = "";
	struct stat st;
	(void)desk;
	CHECK(cluster_start(data, &cluster, &err));
	sscanf(cluster_daemon_conninfo(cluster), "host='%199[^']'", socket);
	CHECK(strlen(socket) > 0 && strlen(socket) <= 92);
	value_is(cluster_owner_conninfo(cluster),
	    "SELECT current_user || current_setting('listen_addresses') || "
	    "current_setting('fsync') || current_setting('data_checksums')",
	    "tearshare_owneronon");
	cluster_stop(cluster);
	CHECK(stat(socket, &st) < 0); /* a folder made for it goes with it */
	CHECK(stat(data, &st) == 0 && (st.st_mode & 0777) == 0700);
	remove_own(data);
}

static void a_half_made_cluster_is_made_again(struct desk *desk)
{
	char *data = own_folder("db");
	char *draft = folder_join(data, "cluster.new");
	struct cluster *cluster = NULL;
	struct err err;
	(void)desk;
	mkdir(data, 0700);
	mkdir(draft, 0700);
	char *junk = folder_join(draft, "PG_VERSION");
	FILE *file = fopen(junk, "w");
	CHECK(file && fclose(file) == 0);
	CHECK(cluster_start(data, &cluster, &err));
	cluster_stop(cluster);
	free(junk);
	free(draft);
	remove_own(data);
}

static void a_folder_that_cannot_be_is_refused(struct desk *desk)
{
	struct cluster *cluster = NULL;
	struct err err;
	(void)desk;
	CHECK(!cluster_start("/dev/null/db", &cluster, &err));
	CHECK(strstr(err.text, "/dev/null/db"));
	CHECK(!cluster_start("/dev/null", &cluster, &err));
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(two_daemons_at_once_migrate_once),
	    T(a_killed_migration_is_completed_by_the_next),
	    T(a_newer_or_altered_schema_is_refused_untouched),
	    T(an_older_schema_needs_its_owner),
	    T(a_killed_daemon_takes_its_postgres_along),
	    T(a_stale_lock_file_stops_nobody),
	    T(a_long_folder_gets_a_short_socket),
	    T(a_half_made_cluster_is_made_again),
	    T(a_folder_that_cannot_be_is_refused),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
