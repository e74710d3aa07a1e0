/* SPDX-License-Identifier: MIT */
/*
 * What tearshared does besides serving: `tearshared plan`, `studio`, `owner-key`, `check`.  Each gets
 * the words after its name and returns the exit status.
 */
#ifndef DAEMON_CMDS_H
#define DAEMON_CMDS_H

#include "exits.h"
#include "options.h"

/* plan [--progress] [--sheet] [--proof FILE] FILE|-: no server, no database. */
enum exit_status cmd_plan(const struct options *o, int argc, char **argv);
/* studio NAME: another studio; its owner's key goes into a file. */
enum exit_status cmd_studio(const struct options *o, int argc, char **argv);
/* owner-key [STUDIO]: another key for its owner, into a file. */
enum exit_status cmd_owner_key(const struct options *o, int argc, char **argv);
/* check: do the books agree?  Prints what does not. */
enum exit_status cmd_check(const struct options *o, int argc, char **argv);

#endif
