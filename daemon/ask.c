/* SPDX-License-Identifier: MIT */
/* ask.c - one connection, one transaction at a time, and the end. */
#include "ask.h"

#include <event2/event.h>

#define WAIT_MS 10000
#define STATEMENT_MS 600000 /* the books of many years */

void ask_stop(struct ask *ask, const struct err *err)
{
	if (err)
		ask->err = *err;
	event_base_loopbreak(ask->base);
}

bool ask_run(struct ask *ask, const struct database *db, ask_begin_fn *begin,
    void *ctx, struct err *err)
{
	const struct store_config config = {.conninfo = db->conninfo,
	    .connections = 1,
	    .queue_max = 1,
	    .statement_ms = STATEMENT_MS,
	    .wait_ms = WAIT_MS};

	*ask = (struct ask){.base = event_base_new()};
	err_clear(&ask->err);
	if (!ask->base)
		return err_set(
		    err, ERR_INTERNAL, "could not make an event loop");
	if (store_new(ask->base, &config, &ask->store, &ask->err)) {
		begin(ask->store, ctx);
		event_base_loop(ask->base, EVLOOP_NO_EXIT_ON_EMPTY);
		store_delete(ask->store);
	}
	event_base_free(ask->base);
	if (ask->err.kind == ERR_NONE)
		return true;
	*err = ask->err;
	return false;
}
