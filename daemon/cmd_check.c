/* SPDX-License-Identifier: MIT */
/*
 * cmd_check.c - do the books agree?  The question is the store's (one query over all
 * studios); here it is asked and its answer printed, one line a trouble:
 *
 *     studio 1 workshop 3 member 14: charges are 1250, the settlement says 1260
 */
#include <inttypes.h>
#include <stdio.h>

#include "ask.h"
#include "cmds.h"
#include "reconcile.h"

struct check {
	struct ask ask;
	struct store_tx *tx;
	size_t n_troubles;
};

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
	c->n_troubles = err ? 0 : n;
	ask_stop(&c->ask, err);
	store_rollback(c->tx);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct check *c = ctx;

	c->tx = tx;
	if (err)
		ask_stop(&c->ask, err);
	else
		store_reconcile(tx, 0, on_troubles, c);
}

static void begin(struct store *store, void *ctx)
{
	store_begin_read(store, on_begun, ctx);
}

enum exit_status cmd_check(const struct options *o, int argc, char **argv)
{
	struct check c = {.n_troubles = 0};
	struct database db;
	struct err err;
	bool ok;

	(void)argv;
	if (argc != 0) {
		fputs("usage: tearshared [-c FILE] check\n", stderr);
		return EXIT_USAGE_LINE;
	}
	if (!log_open(NULL, LOG_WARN, &err) || !database_attach(o, &db, &err)) {
		complain(&err);
		return exit_status_of(&err);
	}
	ok = ask_run(&c.ask, &db, begin, &c, &err);
	database_close(&db);
	if (!ok) {
		complain(&err);
		return exit_status_of(&err);
	}
	if (!c.n_troubles)
		puts("the books agree");
	return c.n_troubles ? EXIT_NO_PLAN : EXIT_OK;
}
