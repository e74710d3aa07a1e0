/* SPDX-License-Identifier: MIT */
/*
 * cmd_check.c - do the books agree?  The question is the store's (one query over all
 * studios); here it is asked and its answer printed, one line a trouble:
 *
 *     studio 1 workshop 3 member 14: charges are 1250, the settlement says 1260
 */
#include <event2/event.h>
#include <inttypes.h>
#include <stdio.h>

#include "cmds.h"
#include "database.h"
#include "ledger.h"
#include "store.h"

#define WAIT_MS 10000

struct check {
	struct event_base *base;
	struct store_tx *tx;
	struct err err;
	size_t n_troubles;
};

static void stop(struct check *c, const struct err *err)
{
	if (err)
		c->err = *err;
	event_base_loopbreak(c->base);
}

static void on_troubles(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	const struct trouble_row *row = rows;
	struct check *c = ctx;

	for (size_t i = 0; !err && i < n; i++)
		printf("studio %" PRId64 " workshop %" PRId64 " member %" PRId64
		       ": %s\n",
		    row[i].studio_id, row[i].workshop_id, row[i].member_id,
		    row[i].what);
	c->n_troubles = n;
	stop(c, err);
	store_rollback(c->tx);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct check *c = ctx;

	c->tx = tx;
	if (err)
		stop(c, err);
	else
		store_reconcile(tx, 0, on_troubles, c);
}

static void ask(struct check *c, const struct database *db)
{
	const struct store_config config = {.conninfo = db->conninfo,
	    .connections = 1,
	    .queue_max = 1,
	    .statement_ms = 600000,
	    .wait_ms = WAIT_MS};
	struct store *store = NULL;

	c->base = event_base_new();
	if (store_new(c->base, &config, &store, &c->err)) {
		store_begin_read(store, on_begun, c);
		event_base_loop(c->base, EVLOOP_NO_EXIT_ON_EMPTY);
		store_delete(store);
	}
	event_base_free(c->base);
}

enum exit_status cmd_check(const struct options *o, int argc, char **argv)
{
	struct check c = {.err = {.kind = ERR_NONE}};
	struct database db;

	(void)argv;
	if (argc != 0) {
		fputs("usage: tearshared [-c FILE] check\n", stderr);
		return EXIT_USAGE_LINE;
	}
	if (!log_open(NULL, LOG_WARN, &c.err) ||
	    !database_attach(o, &db, &c.err)) {
		complain(&c.err);
		return exit_status_of(&c.err);
	}
	ask(&c, &db);
	database_close(&db);
	if (c.err.kind != ERR_NONE) {
		complain(&c.err);
		return exit_status_of(&c.err);
	}
	if (!c.n_troubles)
		puts("the books agree");
	return c.n_troubles ? EXIT_NO_PLAN : EXIT_OK;
}
