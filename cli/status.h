/* SPDX-License-Identifier: MIT */
/*
 * How a command can end: one table from the kind of a failure to the exit status.
 *
 * The command line knows a few kinds of failure that base/err.h has no word for; they
 * continue its numbers and are used with the same struct err.
 */
#ifndef CLI_STATUS_H
#define CLI_STATUS_H

#include <stddef.h>
#include <stdio.h>

#include "err.h"

enum cli_kind {
	CLI_USAGE = ERR_INTERNAL + 1, /* the command line itself is wrong */
	CLI_AWAY,     /* nobody answers at the server's address */
	CLI_PROTOCOL, /* somebody answers who is not to be believed or understood */
	CLI_OUTPUT,   /* a file could not be written or read */
	CLI_SETTINGS, /* settings or key file cannot be used as they are */
};

struct status {
	int kind; /* enum err_kind or enum cli_kind */
	int exit;
	const char *meaning;
};

/* Ended by an entry whose meaning is NULL. */
extern const struct status statuses[];

/* The exit status of a failure; 70 for a kind that is not in the table. */
int status_exit(const struct err *err);

/* err_set() with one of our own kinds; returns false. */
bool cli_fail(struct err *err, enum cli_kind kind, const char *fmt, ...)
    PRINTF_LIKE(3, 4);

/* The failure as a person reads it: what, then the advice, each on lines of its own. */
void status_tell(FILE *talk, const struct err *err);

#endif
