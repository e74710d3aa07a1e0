/* SPDX-License-Identifier: MIT */
/*
 * bootstrap.c - roles and the rights on the database itself.
 *
 * Four roles, none a superuser: owner (migrations only), daemon (works, owns nothing),
 * planner (jobs only), backup (reads).  They belong to the cluster, so two databases of one
 * cluster share them; each step here is therefore fine to repeat.  An administrator who
 * lets nobody create roles runs the same lines by hand: the message names them.
 */
#include "bootstrap.h"

#include <string.h>

#include "log.h"

static const char make_roles[] =
    "DO $$ DECLARE r text; BEGIN"
    " FOREACH r IN ARRAY ARRAY['tearshare_owner', 'tearshare_daemon',"
    "   'tearshare_planner', 'tearshare_backup'] LOOP"
    "  IF to_regrole(r) IS NULL THEN"
    "   BEGIN EXECUTE format('CREATE ROLE %I LOGIN NOSUPERUSER NOCREATEDB"
    "    NOCREATEROLE', r);"
    "   EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END;"
    "  END IF;"
    " END LOOP;"
    " IF NOT pg_has_role('tearshare_backup', 'pg_read_all_data', 'MEMBER') THEN"
    "  GRANT pg_read_all_data TO tearshare_backup;"
    " END IF;"
    "END $$";

static const char set_rights[] =
    "DO $$ BEGIN"
    " EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC',"
    "  current_database());"
    " EXECUTE format('GRANT CREATE, CONNECT ON DATABASE %I TO"
    "  tearshare_owner', current_database());"
    " EXECUTE format('GRANT CONNECT ON DATABASE %I TO tearshare_daemon,"
    "  tearshare_planner, tearshare_backup', current_database());"
    " REVOKE ALL ON SCHEMA public FROM PUBLIC;"
    "END $$";

static const char paths[] =
    "DO $$ DECLARE r text; BEGIN"
    " FOREACH r IN ARRAY ARRAY['tearshare_owner', 'tearshare_daemon',"
    "   'tearshare_planner', 'tearshare_backup'] LOOP"
    "  EXECUTE format('ALTER ROLE %I IN DATABASE %I SET search_path ="
    "   tearshare, pg_temp', r, current_database());"
    " END LOOP;"
    "END $$";

static bool is_true(PGconn *conn, const char *sql)
{
	PGresult *res = PQexec(conn, sql);
	bool yes = PQresultStatus(res) == PGRES_TUPLES_OK &&
		   PQntuples(res) == 1 &&
		   strcmp(PQgetvalue(res, 0, 0), "t") == 0;
	PQclear(res);
	return yes;
}

static bool run(
    PGconn *conn, const char *sql, const char *what, struct err *err)
{
	PGresult *res = PQexec(conn, sql);
	bool ok = PQresultStatus(res) == PGRES_COMMAND_OK;
	PQclear(res);
	if (ok)
		return true;
	char step[LOG_VALUE_MAX], cause[LOG_VALUE_MAX];
	log_event(LOG_ERROR, "schema-failed", "what=%s cause=%s",
	    log_value(step, what), log_value(cause, PQerrorMessage(conn)));
	err_set(
	    err, ERR_CONFLICT, "cannot %s: %.300s", what, PQerrorMessage(conn));
	return err_hint(err,
	    "As a superuser: CREATE ROLE tearshare_owner LOGIN; the same for "
	    "tearshare_daemon, tearshare_planner, tearshare_backup; GRANT "
	    "CREATE ON DATABASE name TO tearshare_owner.");
}

static const char roles_there[] =
    "SELECT count(*) = 4 FROM pg_catalog.pg_roles WHERE rolname IN "
    "('tearshare_owner', 'tearshare_daemon', 'tearshare_planner', "
    "'tearshare_backup')";
static const char may_set_rights[] =
    "SELECT pg_has_role(current_user, datdba, 'USAGE') FROM "
    "pg_catalog.pg_database WHERE datname = current_database()";
static const char is_superuser[] =
    "SELECT rolsuper FROM pg_catalog.pg_roles WHERE rolname = current_user";

bool bootstrap_roles(PGconn *conn, struct err *err)
{
	if (!is_true(conn, roles_there) &&
	    !run(conn, make_roles, "make the database's roles", err))
		return false;
	if (is_true(conn, is_superuser))
		return run(conn, set_rights, "set the database's rights",
			   err) &&
		       run(conn, paths, "fix the search path", err);
	/* The owner of the database may give rights on it, but not touch schema public. */
	if (is_true(conn, may_set_rights) &&
	    !is_true(conn, "SELECT current_user = 'tearshare_owner'"))
		return run(conn,
		    "DO $$ BEGIN EXECUTE format('GRANT CREATE, CONNECT ON "
		    "DATABASE %I TO tearshare_owner', current_database()); "
		    "END $$",
		    "give tearshare_owner its rights", err);
	return true;
}
