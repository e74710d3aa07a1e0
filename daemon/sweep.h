/* SPDX-License-Identifier: MIT */
/*
 * What is past its time goes: rows of the database, by the database's clock, and logs.
 */
#ifndef DAEMON_SWEEP_H
#define DAEMON_SWEEP_H

#include "store.h"

struct event_base;
struct sweep;

/* Begins at once, and again every six hours.  private_log: PostgreSQL's, or NULL; copied. */
struct sweep *sweep_new(
    struct event_base *base, struct store *store, const char *private_log);
/* After store_delete(): nothing of ours may be under way there.  NULL is fine. */
void sweep_delete(struct sweep *sweep);

#endif
