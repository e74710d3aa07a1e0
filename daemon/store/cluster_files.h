/* SPDX-License-Identifier: MIT */
/*
 * The files of the private PostgreSQL: its folder, its settings, its programs.
 */
#ifndef STORE_CLUSTER_FILES_H
#define STORE_CLUSTER_FILES_H

#include <stdbool.h>
#include <sys/types.h>

#include "err.h"

/* "folder/name"; yours to free */
char *folder_join(const char *folder, const char *name);
/* Mode 0700, owned by uid:gid (when we are root); fine when it is there and ours. */
bool folder_make(
    const char *path, uid_t uid, gid_t gid, struct err *err) MUST_USE;
/* With all that is in it; never follows a link. */
void folder_remove(const char *path);
/* mode "w" or "a" */
bool folder_write(uid_t uid, gid_t gid, const char *folder, const char *name,
    const char *content, const char *mode, struct err *err) MUST_USE;

/* Is the process that wrote this lock file alive, and a postgres? */
bool postmaster_lives(const char *path);
/* A lock file whose process number now belongs to somebody else, or to a dead one that nobody
 * reaped, would stop postgres from starting: the number is made one that no process has. */
void postmaster_forget(const char *path);

/* The folder of initdb and postgres: of the version that made data/cluster, else the newest.
 * NULL with err when there is none; yours to free. */
char *postgres_find(const char *data, struct err *err) MUST_USE;

#endif
