/* SPDX-License-Identifier: MIT */
/*
 * The daemon's options: one table of them, and everything drawn from it.
 *
 * An option has one name everywhere: `--listen ADDRESS` on the command line, `listen =
 * ADDRESS` in the configuration file, an item in tearshared(8).  --help and
 * --sample-config are printed from the table.  The command line goes before the file, the
 * file before the default.
 */
#ifndef DAEMON_OPTIONS_H
#define DAEMON_OPTIONS_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "err.h"
#include "log.h"

#define LIST_MAX 32

struct list { /* words, NULL-terminated; words is NULL when the list is empty */
	char *text;
	const char **words;
};

struct options {
	/* where we are asked */
	char *listen;
	char *certificate, *private_key;
	bool tls_at_proxy;
	struct list names, trusted_proxies;
	char *origin;
	/* the database */
	char *data, *database, *owner_database, *studio;
	int64_t db_connections, db_queue, db_statement_ms, db_wait_ms;
	/* work */
	int64_t loops, workers, plan_seconds, plan_memory;
	int64_t plans_running, plans_waiting;
	/* limits */
	int64_t body_max, connections_max, per_address_max, failures_a_minute;
	int64_t head_seconds, body_seconds, idle_seconds;
	/* the log */
	char *log, *pidfile;
	enum log_level log_level;
};

/* All defaults. */
void options_init(struct options *o);
void options_free(struct options *o);

/* What one run was asked for besides options. */
struct call {
	bool foreground, check_only, help, sample, version;
	const char *config; /* NULL: none */
	int n_rest; /* words that are no options, from argv[first_rest] on */
	int first_rest;
};

/*
 * Read the command line, then the file it names.  ERR_UNKNOWN: the command line is wrong
 * (exit 64); ERR_INPUT: the configuration is (exit 78), with file and line.
 */
bool options_read(struct options *o, int argc, char **argv, struct call *call,
    struct err *err) MUST_USE;

/* What can be checked without starting anything: values that do not go together, files
 * that cannot be read, addresses that are none. */
bool options_check(const struct options *o, struct err *err) MUST_USE;

void options_print_help(FILE *out);
void options_print_sample(FILE *out);

#endif
