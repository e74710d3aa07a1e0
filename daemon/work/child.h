/* SPDX-License-Identifier: MIT */
/*
 * The planner's process: started with limits, fed, listened to, reaped.
 */
#ifndef WORK_CHILD_H
#define WORK_CHILD_H

#include <stdbool.h>
#include <stdint.h>

#include <event2/event.h>

#include "err.h"
#include "text.h"

struct child;

struct child_config {
	const char *program;
	int cpu_seconds;
	int64_t memory; /* 0: no limit */
	size_t
	    out_max; /* bytes of standard output; more: child_is_too_large() */
};

/* on_line: one line of standard error; on_end: it is dead and reaped. */
typedef void child_line_fn(void *ctx, const char *line);
typedef void child_end_fn(void *ctx);

/* input is copied. */
bool child_start(struct event_base *base, const struct child_config *config,
    const char *input, size_t len, child_line_fn *on_line, child_end_fn *on_end,
    void *ctx, struct child **out, struct err *err) MUST_USE;
void child_signal(struct child *child, int signal);
/* After on_end: as waitpid() gives it. */
int child_status(const struct child *child);
const struct text *child_output(const struct child *child);
bool child_is_too_large(const struct child *child);
/* Kills it when it still lives.  NULL is fine. */
void child_delete(struct child *child);

#endif
