/* SPDX-License-Identifier: MIT */
/*
 * The worker: takes planning jobs from the database and runs each in a child process.
 *
 * The child is `program plan --progress -`: it reads the problem (JSON) on standard input,
 * writes the plan (JSON) on standard output and progress on standard error, one line each:
 *
 *     progress fresh_rolls=2 price=38400 strip_length=1016000 bound_rolls=1 bound_price=19200
 *         bound_length=900000 steps=40000                                     (on one line)
 *
 * Names that are left out are not known yet; other lines are talk, and the last of them is
 * the reason shown when it fails.  Exit status 0: a plan.  1 and 2: there is none, the
 * reason says why; not tried again.  On SIGTERM it may write the best plan so far and exit
 * 0.  It has limits on memory, CPU and wall time and dies with us, so a crash or a runaway
 * costs one attempt at one job.
 *
 * Its result is not trusted: read, and walked by the inspector, before it is stored.
 *
 * Nobody else may wait for our children: whoever handles SIGCHLD waits for the pids that
 * are its own (waitpid(cluster_pid(...), ...)), never for -1.  SIGPIPE is ignored from
 * work_new() on.
 */
#ifndef WORK_WORK_H
#define WORK_WORK_H

#include <stdbool.h>
#include <stdint.h>

#include "err.h"

struct event_base;
struct store;
struct work;

struct work_config {
	const char *program; /* path of our own executable */
	const char *name; /* of this worker, for the jobs' table: "host:pid" */
	int workers;      /* children at once */
	int seconds; /* wall time of one attempt; then SIGTERM, then SIGKILL */
	int64_t memory;    /* bytes of address space; 0: no limit */
	int lease_seconds; /* how long a job stays ours without a sign of life */
	int poll_ms; /* between looks at the table when nothing is announced; 0: 5000 */
	int retry_ms; /* before the second attempt, four times that before the third; 0: 2000 */
};

/* The config is copied.  Begins to take jobs at once. */
bool work_new(struct event_base *base, struct store *store,
    const struct work_config *config, struct work **out,
    struct err *err) MUST_USE;

/* Take no more jobs and give back those under way, uncounted; fn is called when that is written
 * (at once when there are none). */
typedef void work_done_fn(void *ctx);
void work_drain(struct work *work, work_done_fn *fn, void *ctx);
/* Children still there are killed.  Call it after work_drain() has ended, or after
 * store_delete(): nothing of ours may be under way in the store.  NULL is fine. */
void work_delete(struct work *work);

#endif
