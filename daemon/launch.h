/* SPDX-License-Identifier: MIT */
/*
 * How the daemon stands in the system: in the background, known to the service manager,
 * with its process number in a file.
 */
#ifndef DAEMON_LAUNCH_H
#define DAEMON_LAUNCH_H

#include <stdbool.h>

#include "err.h"

/*
 * Go into the background: returns in the new process, which has a session of its own.  The
 * old one waits until launch_ready() and exits 0, or with the status of a child that ends
 * before.  Until then standard error is the terminal's, so that reasons are seen.
 */
bool launch_detach(struct err *err) MUST_USE;
/* Let the waiting process go; standard input, output and error lead nowhere from now on. */
void launch_ready(void);

/* Tell the service manager (NOTIFY_SOCKET of sd_notify(3)); does nothing without one. */
void launch_notify(const char *state);

bool launch_write_pidfile(const char *path, struct err *err) MUST_USE;

#endif
