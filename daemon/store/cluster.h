/* SPDX-License-Identifier: MIT */
/*
 * The private PostgreSQL: made, started and stopped by the daemon itself.
 *
 * These calls block and are made before the event loop runs and after it has ended,
 * except cluster_reap(), which is called for each child that died.
 */
#ifndef STORE_CLUSTER_H
#define STORE_CLUSTER_H

#include <stdbool.h>
#include <sys/types.h>

#include "err.h"

struct cluster;

/* data: a folder of ours (mode 0700, made when missing).  Makes the cluster on the first call. */
bool cluster_start(
    const char *data, struct cluster **out, struct err *err) MUST_USE;
/* Conninfo of the role that owns the schema, and of the one the daemon works with. */
const char *cluster_owner_conninfo(const struct cluster *cluster);
const char *cluster_daemon_conninfo(const struct cluster *cluster);
pid_t cluster_pid(const struct cluster *cluster);
/* A child of ours has died; true when it was the postmaster: call cluster_restart() then. */
bool cluster_reap(struct cluster *cluster, pid_t pid);
bool cluster_restart(struct cluster *cluster, struct err *err) MUST_USE;
/* Fast shutdown, waited for; NULL is fine. */
void cluster_stop(struct cluster *cluster);

#endif
