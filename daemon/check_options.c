/* SPDX-License-Identifier: MIT */
/*
 * check_options.c - what -n looks at: values that do not go together, files that cannot
 * be read, addresses that are none.  Nothing is started, made or connected to.
 */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <libpq-fe.h>

#include "http.h"
#include "options.h"
#include "serve.h"

static bool check_conninfo(const char *name, const char *value, struct err *err)
{
	char *why = NULL;
	PQconninfoOption *parts = *value ? PQconninfoParse(value, &why) : NULL;
	bool ok = !*value || parts;

	if (!ok) {
		/* The reason may quote a password: only its place is told. */
		err_set(err, ERR_INPUT, "%s is no connection string", name);
		err_hint(err, "Write it as PostgreSQL's manual says: host=... "
			      "dbname=... user=...");
	}
	PQconninfoFree(parts);
	PQfreemem(why);
	return ok;
}

static bool check_origin(const char *origin, struct err *err)
{
	const char *rest = strstr(origin, "://");

	if (!*origin)
		return true;
	if ((strncmp(origin, "https://", 8) && strncmp(origin, "http://", 7)) ||
	    !rest[3] || strpbrk(rest + 3, "/?#@ ")) {
		err_set(err, ERR_INPUT, "origin is \"%s\"", origin);
		return err_hint(err, "Write https://NAME or https://NAME:PORT, "
				     "without a slash at the end.");
	}
	return true;
}

/* The folder, or where it would be made. */
static bool check_data(const char *data, struct err *err)
{
	struct stat st;
	char above[4096];
	char *slash;

	if (data[0] != '/' || strlen(data) >= sizeof(above)) {
		err_set(
		    err, ERR_INPUT, "data \"%s\" is not a whole path", data);
		return err_hint(err, "Give a folder that begins with a slash.");
	}
	if (stat(data, &st) == 0) {
		if (S_ISDIR(st.st_mode) &&
		    access(data, R_OK | W_OK | X_OK) == 0)
			return true;
		err_set(err, ERR_INPUT, "data folder \"%s\" cannot be used: %s",
		    data, S_ISDIR(st.st_mode) ? strerror(errno) : "no folder");
		return err_hint(err, "Give a folder that belongs to the "
				     "daemon's user.");
	}
	memcpy(above, data, strlen(data) + 1);
	slash = strrchr(above, '/');
	slash[slash == above] = '\0';
	if (access(above, W_OK | X_OK) == 0)
		return true;
	err_set(err, ERR_INPUT, "data folder \"%s\" cannot be made: %s", data,
	    strerror(errno));
	return err_hint(err, "Make it and give it to the daemon's user.");
}

bool options_check(const struct options *o, struct err *err)
{
	struct http_config http = serve_http_config(o);

	if (strcmp(o->listen, "none") && !http_config_check(&http, err))
		return false;
	if (!strcmp(o->listen, "none") && !o->workers) {
		err_set(err, ERR_INPUT,
		    "there is nothing to do: listen is none "
		    "and workers is 0");
		return err_hint(err, "Set one of them.");
	}
	if (!check_origin(o->origin, err) ||
	    !check_conninfo("database", o->database, err) ||
	    !check_conninfo("owner-database", o->owner_database, err))
		return false;
	if (*o->owner_database && !*o->database) {
		err_set(err, ERR_INPUT,
		    "owner-database is set and database is not");
		return err_hint(err, "Set database to the role that owns "
				     "nothing, or neither for a private one.");
	}
	return *o->database || check_data(o->data, err);
}
