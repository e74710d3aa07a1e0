/* SPDX-License-Identifier: MIT */
/* The exit statuses of tearshared, in one place; tearshared(8) explains them. */
#ifndef DAEMON_EXITS_H
#define DAEMON_EXITS_H

#include "err.h"

enum exit_status {
	EXIT_OK = 0,
	EXIT_NO_PLAN =
	    1, /* plan: a piece fits no stock.  check: the books do not agree */
	EXIT_MALFORMED = 2, /* plan: the problem breaks the format */
	EXIT_USAGE_LINE =
	    64, /* the command line (numbers from here: sysexits.h) */
	EXIT_NO_INPUT = 66,
	EXIT_FAULT = 70, /* a fault of ours */
	EXIT_NO_OUTPUT = 74,
	EXIT_TRY_LATER = 75,
	EXIT_CONFIGURATION =
	    78, /* also: the schema is newer than this program */
};

/* For errors met while starting. */
enum exit_status exit_status_of(const struct err *err);

/* "tearshared: text" and the hint, on standard error. */
void complain(const struct err *err);

#endif
