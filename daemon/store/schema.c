/* SPDX-License-Identifier: MIT */
/*
 * schema.c - bring the database to the shape this program knows.
 *
 * The files of sql/ are compiled in.  Each is applied in one transaction together with its
 * number and SHA-256 in schema_version, so a kill at any moment leaves whole files only.
 * Over several daemons one migrates at a time: a session advisory lock, which dies with
 * its connection.  A file whose hash differs, or a number we do not know, means another
 * program owns this database now: refused, nothing touched.
 *
 * Roles live in the cluster and not in the database, so they are made before the first
 * file, by whoever may make them (bootstrap).  Everything else is owned by tearshare_owner:
 * whoever connects for migrating becomes it first.
 */
#include "schema.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libpq-fe.h>
#include <openssl/sha.h>

#include "bootstrap.h"
#include "log.h"
#include "migrations.h"

#define LOCK_SCHEMA "7310271963840"
#define HASH_TEXT (2 * SHA256_DIGEST_LENGTH + 1)

/* What PostgreSQL said, on one line. */
static bool refused(PGconn *conn, const char *what, struct err *err)
{
	char step[LOG_VALUE_MAX], cause[LOG_VALUE_MAX];
	log_event(LOG_ERROR, "schema-failed", "what=%s cause=%s",
	    log_value(step, what), log_value(cause, PQerrorMessage(conn)));
	return err_set(err, ERR_INTERNAL, "database refused to %s: %.300s",
	    what, PQerrorMessage(conn));
}

/* One statement without rows to look at. */
static bool run(
    PGconn *conn, const char *sql, const char *what, struct err *err)
{
	PGresult *res = PQexec(conn, sql);
	ExecStatusType status = PQresultStatus(res);
	PQclear(res);
	if (status != PGRES_COMMAND_OK && status != PGRES_TUPLES_OK)
		return refused(conn, what, err);
	return true;
}

static void on_notice(void *ctx, const char *message)
{
	(void)ctx;
	char value[LOG_VALUE_MAX];
	log_event(
	    LOG_DEBUG, "schema-notice", "text=%s", log_value(value, message));
}

static bool schema_connect(const char *conninfo, PGconn **out, struct err *err)
{
	const char *names[] = {"dbname", "application_name", "client_encoding",
	    "target_session_attrs", NULL};
	const char *values[] = {
	    conninfo, "tearshared schema", "UTF8", "read-write", NULL};
	PGconn *conn = PQconnectdbParams(names, values, 1);
	if (PQstatus(conn) != CONNECTION_OK) {
		err_set(err, ERR_BUSY, "could not reach the database: %.300s",
		    PQerrorMessage(conn));
		err_hint(err, "Check that PostgreSQL runs and that the "
			      "conninfo names it.");
		PQfinish(conn);
		return false;
	}
	PQsetNoticeProcessor(conn, on_notice, NULL);
	PQsetErrorVerbosity(conn, PQERRORS_TERSE); /* details hold values */
	*out = conn;
	return true;
}

static void migration_hash(
    const struct migration *migration, char out[HASH_TEXT])
{
	unsigned char hash[SHA256_DIGEST_LENGTH];
	SHA256((const unsigned char *)migration->sql, migration->len, hash);
	for (size_t i = 0; i < sizeof(hash); i++)
		snprintf(out + 2 * i, 3, "%02x", hash[i]);
}

/* Compare one row of schema_version with what is compiled in. */
static bool check_applied(int number, const char *hash, struct err *err)
{
	if (number < 1 || (size_t)number > n_migrations) {
		err_set(err, ERR_CONFLICT,
		    "the database's schema is at number %d, this program knows "
		    "%zu",
		    number, n_migrations);
		return err_hint(err, "Start a program that is as new as the "
				     "database; nothing was changed.");
	}
	char ours[HASH_TEXT];
	migration_hash(&migrations[number - 1], ours);
	if (strcmp(hash, ours) == 0)
		return true;
	err_set(err, ERR_CONFLICT,
	    "schema file %s differs from the one the database was made with",
	    migrations[number - 1].name);
	return err_hint(err, "Schema files are only ever added to; start the "
			     "program that made it. Nothing was changed.");
}

/* How far the schema is: 0 when there is none. */
static bool schema_at(PGconn *conn, int *at, struct err *err)
{
	*at = 0;
	PGresult *res = PQexec(
	    conn, "SELECT to_regclass('tearshare.schema_version') IS NOT NULL");
	bool there = PQresultStatus(res) == PGRES_TUPLES_OK &&
		     strcmp(PQgetvalue(res, 0, 0), "t") == 0;
	bool ok = PQresultStatus(res) == PGRES_TUPLES_OK;
	PQclear(res);
	if (!ok)
		return refused(conn, "look for the schema", err);
	if (!there)
		return true;
	res = PQexec(conn, "SELECT number, encode(hash, 'hex') FROM "
			   "tearshare.schema_version ORDER BY number");
	ok = PQresultStatus(res) == PGRES_TUPLES_OK;
	if (!ok)
		refused(conn, "read the schema's version", err);
	for (int i = 0; ok && i < PQntuples(res); i++) {
		*at = atoi(PQgetvalue(res, i, 0));
		ok = check_applied(*at, PQgetvalue(res, i, 1), err);
	}
	if (ok && *at != PQntuples(res))
		ok = err_set(err, ERR_CONFLICT,
		    "the schema's history has a gap before number %d", *at);
	PQclear(res);
	return ok;
}

static bool apply(
    PGconn *conn, const struct migration *migration, struct err *err)
{
	char number[16], hash[HASH_TEXT];
	snprintf(number, sizeof(number), "%d", migration->number);
	migration_hash(migration, hash);
	const char *values[] = {number, migration->name, hash};

	if (!run(conn, "BEGIN", "begin a migration", err))
		return false;
	PGresult *res = NULL;
	bool ok = run(conn, migration->sql, migration->name, err);
	if (ok) {
		res = PQexecParams(conn,
		    "INSERT INTO tearshare.schema_version (number, name, hash) "
		    "VALUES ($1::text::integer, $2, decode($3, 'hex'))",
		    3, NULL, values, NULL, NULL, 0);
		ok = PQresultStatus(res) == PGRES_COMMAND_OK ||
		     refused(conn, "note a migration", err);
		PQclear(res);
	}
	ok = ok && run(conn, "COMMIT", "commit a migration", err);
	if (ok)
		log_event(
		    LOG_INFO, "schema-applied", "file=%s", migration->name);
	return ok;
}

static const char before_first[] =
    "CREATE SCHEMA IF NOT EXISTS tearshare;"
    "REVOKE ALL ON SCHEMA tearshare FROM PUBLIC;"
    "CREATE TABLE IF NOT EXISTS tearshare.schema_version ("
    " number integer CONSTRAINT schema_version_key PRIMARY KEY"
    "  CONSTRAINT schema_version_number_positive CHECK (number > 0),"
    " name text NOT NULL,"
    " hash bytea NOT NULL CONSTRAINT schema_version_hash_is_sha256 CHECK "
    "(octet_length(hash) = 32),"
    " applied_at timestamptz NOT NULL DEFAULT now())";

static bool migrate_locked(PGconn *conn, struct err *err)
{
	int at = 0;
	if (!schema_at(conn, &at, err))
		return false;
	if ((size_t)at == n_migrations)
		return true;
	if (!bootstrap_roles(conn, err) ||
	    !run(conn, "SET ROLE tearshare_owner", "become tearshare_owner",
		err) ||
	    !run(conn, "SET search_path = tearshare, pg_temp",
		"set the search path", err) ||
	    !run(conn, "SET client_min_messages = warning", "set up", err) ||
	    (at == 0 && !run(conn, before_first, "make the schema", err)))
		return false;
	for (size_t i = (size_t)at; i < n_migrations; i++)
		if (!apply(conn, &migrations[i], err))
			return false;
	return true;
}

bool schema_migrate(const char *owner_conninfo, struct err *err)
{
	PGconn *conn = NULL;
	if (!schema_connect(owner_conninfo, &conn, err))
		return false;
	bool ok = run(conn, "SELECT pg_advisory_lock(" LOCK_SCHEMA ")",
		      "wait for its turn to migrate", err) &&
		  migrate_locked(conn, err);
	PQfinish(conn); /* ends the lock */
	return ok;
}

bool schema_check(const char *conninfo, struct err *err)
{
	PGconn *conn = NULL;
	int at = 0;
	if (!schema_connect(conninfo, &conn, err))
		return false;
	bool ok = schema_at(conn, &at, err);
	if (ok && (size_t)at < n_migrations) {
		ok = err_set(err, ERR_CONFLICT,
		    "the database's schema is at number %d, this program needs "
		    "%zu",
		    at, n_migrations);
		err_hint(err, "Start once with the owner's conninfo, which "
			      "brings it up to date.");
	}
	PQfinish(conn);
	return ok;
}

/* One statement: the studio, its owner and the hash of the owner's key, or nothing. */
#define ADD_STUDIO(when)                                                       \
	"WITH s AS (INSERT INTO tearshare.studio (name) SELECT $1" when        \
	" RETURNING studio_id),"                                               \
	" m AS (INSERT INTO tearshare.member (studio_id, name, roles)"         \
	"  SELECT studio_id, 'Owner', 8 FROM s RETURNING studio_id, "          \
	"member_id),"                                                          \
	" k AS (INSERT INTO tearshare.key (studio_id, member_id, name, hash)"  \
	"  SELECT studio_id, member_id, 'first key', $2 FROM m)"               \
	" SELECT studio_id FROM s"

static bool add_studio(const char *conninfo, const char *sql, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err)
{
	PGconn *conn = NULL;
	if (!schema_connect(conninfo, &conn, err))
		return false;
	const char *values[] = {name, (const char *)hash};
	const int lengths[] = {(int)strlen(name), 32};
	const int formats[] = {0, 1};
	bool ok = run(conn, "SELECT pg_advisory_lock(" LOCK_SCHEMA ")",
	    "wait for its turn to make a studio", err);
	PGresult *res =
	    ok ? PQexecParams(conn, sql, 2, NULL, values, lengths, formats, 0)
	       : NULL;
	*studio_id = 0;
	if (ok && PQresultStatus(res) != PGRES_TUPLES_OK)
		ok = refused(conn, "make a studio", err);
	else if (ok && PQntuples(res) == 1)
		*studio_id = strtoll(PQgetvalue(res, 0, 0), NULL, 10);
	PQclear(res);
	PQfinish(conn); /* ends the lock */
	return ok;
}

bool schema_add_studio(const char *conninfo, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err)
{
	return add_studio(
	    conninfo, ADD_STUDIO("::text"), name, hash, studio_id, err);
}

bool schema_add_first_studio(const char *conninfo, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err)
{
	return add_studio(conninfo,
	    ADD_STUDIO("::text WHERE NOT EXISTS (SELECT FROM "
		       "tearshare.studio)"),
	    name, hash, studio_id, err);
}

bool schema_has_studio(const char *conninfo, bool *has, struct err *err)
{
	PGconn *conn = NULL;
	if (!schema_connect(conninfo, &conn, err))
		return false;
	PGresult *res =
	    PQexec(conn, "SELECT EXISTS (SELECT 1 FROM tearshare.studio)");
	bool ok = PQresultStatus(res) == PGRES_TUPLES_OK;
	if (ok)
		*has = strcmp(PQgetvalue(res, 0, 0), "t") == 0;
	else
		refused(conn, "look for a studio", err);
	PQclear(res);
	PQfinish(conn);
	return ok;
}
