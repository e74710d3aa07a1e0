/* SPDX-License-Identifier: MIT */
/*
 * cmd_owner_key.c - another key for a studio's owner, when all of theirs are lost.
 *
 * Whoever can run this can read the database anyway.  The old keys stay good: the owner
 * revokes the lost one when signed in again.  The key goes into a file and is not printed,
 * for the same reason as in cmd_studio.c.
 */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "ask.h"
#include "cmds.h"
#include "people.h"
#include "web.h"

#define PATH_SIZE 4096
#define PAGE 100

struct renewal {
	struct ask ask;
	struct store_tx *tx;
	int64_t studio_id;
	int64_t after; /* members up to this id have been looked at */
	unsigned char hash[SECRET_HASH_SIZE];
};

static void fail(struct renewal *r, const struct err *err)
{
	ask_stop(&r->ask, err);
	store_rollback(r->tx);
}

static void on_committed(void *ctx, const struct err *err)
{
	struct renewal *r = ctx;

	ask_stop(&r->ask, err);
}

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct renewal *r = ctx;

	(void)rows, (void)n;
	if (err)
		fail(r, err);
	else
		store_commit(r->tx, on_committed, r);
}

static void on_members(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	const struct member *m = rows;
	struct key key = {.name = "made on the machine"};
	struct renewal *r = ctx;
	struct err none;

	for (size_t i = 0; !err && i < n; i++) {
		r->after = m[i].member_id;
		if (!m[i].active || !(m[i].roles & ROLE_OWNER))
			continue;
		key.studio_id = r->studio_id;
		key.member_id = m[i].member_id;
		store_key_add(r->tx, &key, r->hash, on_added, r);
		return;
	}
	if (!err && n > 0) {
		store_members(r->tx, r->studio_id,
		    (struct page){.after = r->after, .limit = PAGE}, on_members,
		    r);
		return;
	}
	err_set(&none, ERR_MISSING, "studio %" PRId64 " has no owner",
	    r->studio_id);
	err_hint(&none, "Give the number of a studio; the first one is 1.");
	fail(r, err ? err : &none);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct renewal *r = ctx;

	r->tx = tx;
	if (err)
		ask_stop(&r->ask, err);
	else
		store_members(tx, r->studio_id,
		    (struct page){.after = 0, .limit = PAGE}, on_members, r);
}

static void begin(struct store *store, void *ctx)
{
	store_begin(store, on_begun, ctx);
}

static bool read_words(struct renewal *r, int argc, char **argv)
{
	char *end = NULL;

	r->studio_id = 1;
	if (argc == 0)
		return true;
	errno = 0;
	r->studio_id = strtoll(argv[0], &end, 10);
	return argc == 1 && !*end && !errno && r->studio_id > 0;
}

static bool renew(const struct options *o, struct renewal *r,
    const struct database *db, char *path, size_t size, struct err *err)
{
	char key[WEB_KEY_TEXT];
	bool ok;

	web_key_make(key, r->hash);
	snprintf(path, size, "%s/owner-%lld-%ld.key", o->data,
	    (long long)time(NULL), (long)getpid());
	ok = database_write_key(path, key, err);
	explicit_bzero(key, sizeof(key));
	if (!ok || ask_run(&r->ask, db, begin, r, err))
		return ok;
	unlink(path);
	return false;
}

enum exit_status cmd_owner_key(const struct options *o, int argc, char **argv)
{
	struct renewal r = {.studio_id = 0};
	struct database db;
	char path[PATH_SIZE];
	struct err err;
	bool ok;

	if (!read_words(&r, argc, argv)) {
		fputs(
		    "usage: tearshared [-c FILE] owner-key [STUDIO]\n", stderr);
		return EXIT_USAGE_LINE;
	}
	if (!log_open(NULL, LOG_WARN, &err) || !database_attach(o, &db, &err)) {
		complain(&err);
		return exit_status_of(&err);
	}
	ok = renew(o, &r, &db, path, sizeof(path), &err);
	database_close(&db);
	if (!ok) {
		complain(&err);
		return exit_status_of(&err);
	}
	puts(path);
	return EXIT_OK;
}
