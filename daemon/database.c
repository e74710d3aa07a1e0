/* SPDX-License-Identifier: MIT */
/*
 * database.c - the database before the event loops run.
 *
 * The data folder is locked as long as we use it, so that two daemons never start two
 * PostgreSQLs on one cluster.  Commands beside a running daemon do not start one either:
 * postmaster.pid says where its socket is (PostgreSQL's manual, "Database File Layout").
 */
#include "database.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "alloc.h"
#include "bootstrap.h"
#include "log.h"
#include "schema.h"
#include "text.h"
#include "web.h"

#define PATH_SIZE 4096
#define OWNER_KEY "owner.key"
#define STUDIO_NAME_MAX 200

/* --- the data folder ------------------------------------------------------------------ */

static void data_path(
    const struct options *o, const char *name, char *buf, size_t size)
{
	snprintf(buf, size, "%s/%s", o->data, name);
}

static bool lock_data(const struct options *o, int *lock, struct err *err)
{
	char path[PATH_SIZE];

	if (mkdir(o->data, 0700) < 0 && errno != EEXIST)
		return err_set(err, ERR_INPUT,
		    "data folder \"%s\" cannot be made: %s", o->data,
		    strerror(errno));
	data_path(o, "lock", path, sizeof(path));
	*lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
	if (*lock < 0)
		return err_set(err, ERR_INPUT,
		    "data folder \"%s\" cannot be used: %s", o->data,
		    strerror(errno));
	if (flock(*lock, LOCK_EX | LOCK_NB) == 0)
		return true;
	close(*lock);
	*lock = -1;
	err_set(err, ERR_BUSY, "data folder \"%s\" is used by another daemon",
	    o->data);
	return err_hint(err, "Stop that one, or give this one a data folder "
			     "of its own.");
}

/* --- opening -------------------------------------------------------------------------- */

static bool start_private(
    const struct options *o, struct database *db, struct err *err)
{
	if (!lock_data(o, &db->lock, err) ||
	    !cluster_start(o->data, &db->cluster, err))
		return false;
	db->conninfo = xstrdup(cluster_daemon_conninfo(db->cluster));
	db->owner_conninfo = xstrdup(cluster_owner_conninfo(db->cluster));
	return true;
}

static void use_given(const struct options *o, struct database *db)
{
	db->conninfo = xstrdup(o->database);
	db->owner_conninfo =
	    *o->owner_database ? xstrdup(o->owner_database) : NULL;
}

static bool bring_schema(const struct database *db, struct err *err)
{
	return db->owner_conninfo ? schema_migrate(db->owner_conninfo, err)
				  : schema_check(db->conninfo, err);
}

typedef bool add_studio_fn(const char *conninfo, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err);
static bool make_studio(const struct database *db, const struct options *o,
    const char *name, const char *file, char *path, size_t size,
    add_studio_fn *add, struct err *err);

static bool first_studio(
    const struct options *o, const struct database *db, struct err *err)
{
	char path[PATH_SIZE];
	bool has = false;

	if (!schema_has_studio(db->conninfo, &has, err))
		return false;
	if (has || !db->owner_conninfo)
		return true;
	/* A start that was killed between the key file and its studio left a key to nothing.  The
	 * folder of a private cluster is locked, so it is nobody else's that is being made. */
	if (db->cluster) {
		data_path(o, OWNER_KEY, path, sizeof(path));
		unlink(path);
	}
	/* Another daemon may be here too: whether it is still the first is asked again. */
	return make_studio(db, o, o->studio, OWNER_KEY, path, sizeof(path),
	    schema_add_first_studio, err);
}

bool database_open(
    const struct options *o, struct database *db, struct err *err)
{
	*db = (struct database){.lock = -1};
	if (*o->database)
		use_given(o, db);
	else if (!start_private(o, db, err))
		goto failed;
	if (!bring_schema(db, err) || !first_studio(o, db, err))
		goto failed;
	return true;
failed:
	database_close(db);
	return false;
}

/* --- beside a running daemon ------------------------------------------------------------ */

static char *conninfo_of(const char *socket, const char *port, const char *role)
{
	struct text t;

	text_init(&t, PATH_SIZE);
	text_add(&t, "host='");
	for (; *socket; socket++) {
		if (*socket == '\'' || *socket == '\\')
			text_add_char(&t, '\\');
		text_add_char(&t, *socket);
	}
	text_addf(&t, "' port=%s user=%s dbname=tearshare", port, role);
	return text_take(&t);
}

/* The first line is the process, the fourth the port, the fifth the socket's folder. */
static bool find_running(const struct options *o, struct database *db)
{
	char path[PATH_SIZE], lines[5][512] = {{0}};
	bool ok = true;
	long pid;
	FILE *f;

	data_path(o, "cluster/postmaster.pid", path, sizeof(path));
	f = fopen(path, "re");
	if (!f)
		return false;
	for (int i = 0; i < 5 && ok; i++) {
		ok = fgets(lines[i], sizeof(lines[i]), f) != NULL;
		lines[i][strcspn(lines[i], "\n")] = '\0';
	}
	fclose(f);
	pid = strtol(lines[0], NULL, 10);
	if (!ok || pid <= 1 || (kill((pid_t)pid, 0) < 0 && errno == ESRCH))
		return false;
	db->conninfo = conninfo_of(lines[4], lines[3], ROLE_NAME_DAEMON);
	db->owner_conninfo = conninfo_of(lines[4], lines[3], ROLE_NAME_OWNER);
	return true;
}

bool database_attach(
    const struct options *o, struct database *db, struct err *err)
{
	*db = (struct database){.lock = -1};
	if (*o->database)
		use_given(o, db);
	else if (!find_running(o, db) && !start_private(o, db, err))
		goto failed;
	if (!schema_check(db->conninfo, err))
		goto failed;
	return true;
failed:
	database_close(db);
	return false;
}

void database_close(struct database *db)
{
	cluster_stop(db->cluster);
	if (db->lock >= 0)
		close(db->lock);
	free(db->conninfo);
	free(db->owner_conninfo);
	*db = (struct database){.lock = -1};
}

/* --- a studio and its owner's key -------------------------------------------------------- */

static bool check_studio_name(const char *name, struct err *err)
{
	if (*name && utf8_is_line(name, strlen(name)) &&
	    utf8_length(name) <= STUDIO_NAME_MAX)
		return true;
	err_set(err, ERR_INPUT, "the studio's name cannot be used");
	return err_hint(err, "Give 1 to %d characters of UTF-8 on one line.",
	    STUDIO_NAME_MAX);
}

bool database_write_key(const char *path, const char *key, struct err *err)
{
	int fd = open(
	    path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
	size_t len = strlen(key);
	bool ok;

	if (fd < 0) {
		err_set(err, errno == EEXIST ? ERR_CONFLICT : ERR_INPUT,
		    "key file \"%s\" cannot be made: %s", path,
		    strerror(errno));
		return err_hint(err, "Move it away, or give the daemon's user "
				     "the right to write there.");
	}
	ok = write(fd, key, len) == (ssize_t)len && write(fd, "\n", 1) == 1 &&
	     fsync(fd) == 0;
	close(fd);
	if (ok)
		return true;
	unlink(path);
	return err_set(
	    err, ERR_BUSY, "key file \"%s\" could not be written", path);
}

static bool make_studio(const struct database *db, const struct options *o,
    const char *name, const char *file, char *path, size_t size,
    add_studio_fn *add, struct err *err)
{
	char key[WEB_KEY_TEXT];
	unsigned char hash[32];
	int64_t studio_id = 0;
	bool ok;

	if (!check_studio_name(name, err))
		return false;
	if (!db->owner_conninfo) {
		err_set(err, ERR_INPUT,
		    "a studio cannot be made as the role "
		    "that owns nothing");
		return err_hint(
		    err, "Set owner-database in the configuration.");
	}
	if (mkdir(o->data, 0700) < 0 && errno != EEXIST)
		return err_set(err, ERR_INPUT,
		    "data folder \"%s\" cannot be made: %s", o->data,
		    strerror(errno));
	data_path(o, file, path, size);
	web_key_make(key, hash);
	/* The file first: a key without a studio is harmless, a studio without key is not. */
	if (!database_write_key(path, key, err))
		return false;
	ok = add(db->owner_conninfo, name, hash, &studio_id, err);
	explicit_bzero(key, sizeof(key));
	if (!ok || studio_id == 0)
		unlink(path);
	else
		log_event(LOG_INFO, "studio-made", "studio=%lld",
		    (long long)studio_id);
	return ok;
}

bool database_add_studio(const struct database *db, const struct options *o,
    const char *name, const char *file, char *path, size_t size,
    struct err *err)
{
	return make_studio(
	    db, o, name, file, path, size, schema_add_studio, err);
}
