/* SPDX-License-Identifier: MIT */
/*
 * A desk for tests of the store: its own PostgreSQL, an event loop, and questions asked
 * one after the other as if they blocked.
 *
 *     struct desk *desk = desk_open();
 *     struct store_tx *tx = desk_begin(desk);
 *     struct reply r = {.size = sizeof(struct member)};
 *     store_member(tx, studio, id, desk_reply, &r);
 *     desk_wait(desk, &r);
 *
 * Plain programs and no Criterion: one cluster serves all tests of a program, and races run
 * under ThreadSanitizer.
 */
#ifndef TESTS_STORE_DESK_H
#define TESTS_STORE_DESK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <event2/event.h>
#include <libpq-fe.h>

#include "cluster.h"
#include "err.h"
#include "store.h"

struct desk {
	char *folder; /* mktemp; removed at the end */
	struct cluster *cluster;
	struct event_base *base;
	struct store *store;
	struct store_config config;
};

/* Of the rows the structs are kept; the strings in them only when strings[] names their
 * offsets (ended by NO_MORE). */
#define NO_MORE ((size_t)-1)
struct reply {
	size_t size;
	const size_t *strings;
	bool called, ok;
	struct err err;
	size_t n;
	char *rows;
};

/* A cluster with the schema and no studio; ends the program when that cannot be. */
struct desk *desk_open(void);
void desk_close(struct desk *desk);
/* The store anew with these changes of the config. */
void desk_reopen(struct desk *desk, const struct store_config *config);

/* One statement as the superuser, the owner ("tearshare_owner") or the daemon's role; its first
 * value, or NULL with the message on err (may be NULL).  Yours to free. */
char *desk_sql(
    struct desk *desk, const char *role, const char *sql, char **err);
/* A second desk on the same cluster: its own loop and store. */
struct desk *desk_beside(struct desk *desk);

struct store_tx *desk_begin(struct desk *desk);
struct store_tx *desk_begin_read(struct desk *desk);
bool desk_try_begin(struct desk *desk, struct store_tx **tx, struct err *err);
bool desk_commit(struct desk *desk, struct store_tx *tx, struct err *err);
void desk_reply(void *ctx, const void *rows, size_t n, const struct err *err);
/* Runs the loop until the reply is there; true when it came without an error. */
bool desk_wait(struct desk *desk, struct reply *reply);
void reply_free(struct reply *reply);
/* Runs the loop until *flag; ends the program after a minute. */
void desk_until(struct desk *desk, const bool *flag);

/* ---- a few checks ---- */

extern int failures;
extern const char *running; /* the name of the test */

#define CHECK(what)                                                            \
	do {                                                                   \
		if (!(what)) {                                                 \
			failures++;                                            \
			printf("%s:%d: %s: not true: %s\n", __FILE__,          \
			    __LINE__, running, #what);                         \
		}                                                              \
	} while (0)
#define CHECK_TEXT(got, want) check_text(__FILE__, __LINE__, got, want)
#define CHECK_INT(got, want)                                                   \
	check_int(__FILE__, __LINE__, #got, (long long)(got), want)
void check_text(const char *file, int line, const char *got, const char *want);
void check_int(const char *file, int line, const char *what, long long got,
    long long want);

struct test {
	const char *name; /* a sentence */
	void (*run)(struct desk *desk);
};
#define T(function)                                                            \
	{                                                                      \
#function, function                                            \
	}
/* Runs all, or those whose name holds argv[1]; the exit status for main(). */
int desk_run(const struct test tests[], size_t n, int argc, char **argv);

#endif
