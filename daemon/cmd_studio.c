/* SPDX-License-Identifier: MIT */
/*
 * cmd_studio.c - another studio on this database.
 *
 * The key is never printed: a terminal has a history, and whoever runs this in a script
 * has a log.
 */
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#include "cmds.h"
#include "database.h"

#define PATH_SIZE 4096

enum exit_status cmd_studio(const struct options *o, int argc, char **argv)
{
	struct database db;
	char path[PATH_SIZE], file[64];
	struct err err;
	bool ok;

	if (argc != 1) {
		fputs("usage: tearshared [-c FILE] studio NAME\n", stderr);
		return EXIT_USAGE_LINE;
	}
	if (!log_open(NULL, LOG_WARN, &err) || !database_attach(o, &db, &err)) {
		complain(&err);
		return exit_status_of(&err);
	}
	snprintf(file, sizeof(file), "owner-%lld-%ld.key",
	    (long long)time(NULL), (long)getpid());
	ok = database_add_studio(
	    &db, o, argv[0], file, path, sizeof(path), &err);
	database_close(&db);
	if (!ok) {
		complain(&err);
		return exit_status_of(&err);
	}
	printf("%s\n", path);
	return EXIT_OK;
}
