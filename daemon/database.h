/* SPDX-License-Identifier: MIT */
/*
 * Which database: the one in the options, or a private one in the data folder, started
 * here or found running.  All of it blocks and happens before or after the event loops.
 */
#ifndef DAEMON_DATABASE_H
#define DAEMON_DATABASE_H

#include <stdbool.h>

#include "cluster.h"
#include "err.h"
#include "options.h"

struct database {
	struct cluster *cluster; /* NULL: not ours, or found running */
	int lock;                /* of the data folder; -1: none */
	char *conninfo;          /* of the role that owns nothing */
	char *owner_conninfo;    /* NULL: we are not told */
};

/*
 * For the daemon: takes the data folder for itself alone, starts the private cluster,
 * migrates the schema (or checks it, when the owner's conninfo is not known) and makes the
 * first studio.
 */
bool database_open(
    const struct options *o, struct database *out, struct err *err) MUST_USE;
/* For commands beside the daemon: a cluster that runs already is used as it is. */
bool database_attach(
    const struct options *o, struct database *out, struct err *err) MUST_USE;
void database_close(struct database *db);

/* A new file of mode 0600 that holds the key and nothing else; an old one is not touched. */
bool database_write_key(
    const char *path, const char *key, struct err *err) MUST_USE;
/*
 * Make a studio; its owner's key goes to a file of mode 0600 in the data folder, the only
 * place where it is ever written.  path is filled with the file's name.
 */
bool database_add_studio(const struct database *db, const struct options *o,
    const char *name, const char *file, char *path, size_t size,
    struct err *err) MUST_USE;

#endif
