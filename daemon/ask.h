/* SPDX-License-Identifier: MIT */
/*
 * A short conversation with the store, for commands: on an event loop that ends with it.
 *
 *     struct ask ask;
 *     if (!ask_run(&ask, db, begin, ctx, err)) ...
 *
 * begin asks the first question; whoever gets the last answer calls ask_stop().
 */
#ifndef DAEMON_ASK_H
#define DAEMON_ASK_H

#include "database.h"
#include "store.h"

struct event_base;

struct ask {
	struct event_base *base;
	struct store *store;
	struct err err;
};

/* ctx holds the struct ask or can reach it. */
typedef void ask_begin_fn(struct store *store, void *ctx);

bool ask_run(struct ask *ask, const struct database *db, ask_begin_fn *begin,
    void *ctx, struct err *err) MUST_USE;
/* err NULL: all is well. */
void ask_stop(struct ask *ask, const struct err *err);

#endif
