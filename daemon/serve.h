/* SPDX-License-Identifier: MIT */
/*
 * The daemon at work: database, event loops, worker, signals, and the orderly end.
 */
#ifndef DAEMON_SERVE_H
#define DAEMON_SERVE_H

#include "exits.h"
#include "http.h"
#include "options.h"

/* What options say about HTTP; strings are borrowed. */
struct http_config serve_http_config(const struct options *o);

/* Runs until it is told to stop.  The options have passed options_check(). */
enum exit_status serve(const struct options *o, bool foreground);

#endif
