/* SPDX-License-Identifier: MIT */
/*
 * slot.c - one job from its taking to its end.
 *
 *     FREE -> TAKING -> RUNNING -> ENDING -> FREE        (TAKING -> FREE: nothing to do)
 *
 * Once a second a job is beaten: its lease made longer, its progress written, and whether
 * somebody cancelled it read back.  A beat that finds no row means that the job was taken
 * by another while we were asleep: the child is killed and nothing is written.  An end
 * that cannot be told is told again for a while, then left: the lease runs out and another
 * takes the job, which costs time and nothing else.
 */
#include "slot.h"

#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "alloc.h"
#include "judge.h"
#include "log.h"
#include "problem.h"
#include "store.h"

#define GRACE_SECONDS 3 /* between SIGTERM and SIGKILL */
#define TELLS_MAX 30

static void slot_tell(struct slot *slot);
static void on_tick(evutil_socket_t fd, short what, void *ctx);

static void slot_enter(struct slot *slot, enum slot_state state)
{
	static const char *const names[] = {
	    "free", "taking", "running", "ending"};
	log_event(LOG_DEBUG, "worker-slot",
	    "slot=%d job=%" PRId64 " state=%s->%s", slot->number,
	    slot->job.job_id, names[slot->state], names[state]);
	slot->state = state;
}

static void arm(struct slot *slot)
{
	struct timeval second = {1, 0};
	event_add(slot->tick, &second);
}

void slot_init(struct slot *slot, struct work *work, int number)
{
	slot->work = work;
	slot->number = number;
	slot->tick = evtimer_new(work->base, on_tick, slot);
}

/* ---- the job's strings are ours ---- */

static void job_keep(struct job_row *job, const struct job_row *row)
{
	*job = *row;
	job->problem = xstrdup(row->problem);
	job->paper_name = NULL;
	job->behind = job->result = job->reason = NULL;
}

static void job_forget(struct job_row *job)
{
	free((char *)job->problem);
	memset(job, 0, sizeof(*job));
}

static void slot_is_free(struct slot *slot)
{
	if (slot->state != SLOT_TAKING)
		slot->work->look_again = true; /* it has room now */
	event_del(slot->tick);
	child_delete(slot->child);
	slot->child = NULL;
	job_forget(&slot->job);
	slot_enter(slot, SLOT_FREE);
	work_slot_changed(slot->work);
}

/* ---- stopping the child ---- */

/* The first reason counts; who only has to go gets time to write its best plan. */
static void slot_stop(struct slot *slot, enum slot_stop why)
{
	if (slot->stop != STOP_NONE || !slot->child)
		return;
	slot->stop = why;
	slot->stop_seconds = 0;
	child_signal(slot->child,
	    why == STOP_LIMIT || why == STOP_CANCEL ? SIGTERM : SIGKILL);
}

/* ---- how it ended ---- */

static void end_as(struct slot *slot, enum job_state end, const char *reason)
{
	slot->end = end;
	snprintf(slot->reason, sizeof(slot->reason), "%.*s",
	    (int)sizeof(slot->reason) - 1, reason);
}

static void end_by_result(struct slot *slot)
{
	const struct text *output = child_output(slot->child);
	struct err err;
	char reason[600];
	if (judge_result(slot->job.problem, output->data, output->len,
		slot->code, &err)) {
		slot->job.result = output->data;
		end_as(slot, JOB_DONE, "");
		return;
	}
	snprintf(reason, sizeof(reason), "the planner's result was refused: %s",
	    err.text);
	end_as(slot, JOB_QUEUED, reason);
}

static void end_by_exit(struct slot *slot, int code)
{
	char reason[600];
	if (code == 0) {
		end_by_result(slot);
		return;
	}
	if (code <=
	    2) { /* its own word on this problem: asking again gives the same */
		end_as(slot, JOB_FAILED,
		    *slot->said
			? slot->said
			: "the planner found no plan and gave no reason");
		return;
	}
	snprintf(reason, sizeof(reason),
	    "the planner ended with status %d%s%.300s", code,
	    *slot->said ? ": " : "", slot->said);
	end_as(slot, JOB_QUEUED, reason);
}

static void end_by_signal(struct slot *slot, int signal)
{
	char reason[128];
	if (child_is_too_large(slot->child))
		snprintf(reason, sizeof(reason),
		    "the planner wrote more than a plan can be");
	else if (slot->stop == STOP_LIMIT)
		snprintf(reason, sizeof(reason),
		    "the planner gave no plan within its limit of %d seconds",
		    slot->work->config.seconds);
	else
		snprintf(reason, sizeof(reason),
		    "the planner ended with signal %d", signal);
	end_as(slot, JOB_QUEUED, reason);
}

static void decide_end(struct slot *slot)
{
	int status = child_status(slot->child);
	if (slot->stop == STOP_DRAIN)
		end_as(slot, JOB_QUEUED, "");
	else if (slot->stop == STOP_CANCEL)
		end_as(slot, JOB_CANCELLED, "");
	else if (WIFEXITED(status))
		end_by_exit(slot, WEXITSTATUS(status));
	else
		end_by_signal(slot, WTERMSIG(status));
}

static void on_child_end(void *ctx)
{
	struct slot *slot = ctx;
	slot->dead = true;
	if (slot->beating)
		return; /* on_beaten goes on */
	event_del(slot->tick);
	if (slot->stop == STOP_LOST) {
		slot_is_free(slot);
		return;
	}
	decide_end(slot);
	log_event(LOG_INFO, "job-ended",
	    "job=%" PRId64 " attempt=%" PRId64 " end=%d seconds=%d",
	    slot->job.job_id, slot->job.attempt, (int)slot->end, slot->seconds);
	slot_enter(slot, SLOT_ENDING);
	slot->tells = 0;
	slot_tell(slot);
}

static void on_child_line(void *ctx, const char *line)
{
	struct slot *slot = ctx;
	char value[LOG_VALUE_MAX];
	if (progress_read(line, &slot->job))
		return;
	snprintf(slot->said, sizeof(slot->said), "%s", line);
	log_event(LOG_INFO, "planner-says", "job=%" PRId64 " text=%s",
	    slot->job.job_id, log_value(value, line));
}

/* ---- telling the database ---- */

static void tell_again(struct slot *slot)
{
	if (slot->tells++ < TELLS_MAX) {
		arm(slot);
		return;
	}
	log_event(LOG_ERROR, "job-left", "job=%" PRId64, slot->job.job_id);
	slot_is_free(slot);
}

static void on_told(void *ctx, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) {
		tell_again(slot);
		return;
	}
	if (slot->end == JOB_QUEUED)
		work_look_after(slot->work, slot->wait_ms);
	slot_is_free(slot);
}

static void on_end_row(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct slot *slot = ctx;
	(void)rows;
	if (!err && n == 1) {
		store_commit(slot->tx, on_told, slot);
		return;
	}
	store_rollback(slot->tx);
	if (!err) {
		log_event(LOG_WARN, "job-was-lost",
		    "job=%" PRId64 " attempt=%" PRId64, slot->job.job_id,
		    slot->job.attempt);
		slot_is_free(slot);
	} else if (err->kind == ERR_BUSY) {
		tell_again(slot);
	} else { /* the result itself was refused: say that instead */
		slot->tells += TELLS_MAX / 3;
		end_as(slot, JOB_QUEUED, err->text);
		tell_again(slot);
	}
}

static void on_end_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) {
		tell_again(slot);
		return;
	}
	struct job_row job = slot->job;
	job.reason = *slot->reason ? slot->reason : NULL;
	job.wait_ms = slot->work->config.retry_ms;
	if (slot->job.faults > 0)
		job.wait_ms *= 4;
	if (!job.reason) /* only given back */
		job.wait_ms = 0;
	slot->wait_ms = job.wait_ms;
	slot->tx = tx;
	store_job_end(tx, &job, slot->end, slot->code, on_end_row, slot);
}

static void slot_tell(struct slot *slot)
{
	store_begin(slot->work->store, on_end_begun, slot);
}

/* ---- beating ---- */

static void beat_is_over(struct slot *slot)
{
	slot->beating = false;
	if (slot->dead)
		on_child_end(slot);
}

static void on_beat_kept(void *ctx, const struct err *err)
{
	(void)err; /* another beat follows */
	beat_is_over(ctx);
}

static void on_beaten(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct slot *slot = ctx;
	const struct job_row *row = rows;
	if (err || n == 0) {
		store_rollback(slot->tx);
		if (!err)
			slot_stop(slot, STOP_LOST);
		beat_is_over(slot);
		return;
	}
	if (row->cancel)
		slot_stop(slot, STOP_CANCEL);
	store_commit(slot->tx, on_beat_kept, slot);
}

static void on_beat_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) {
		beat_is_over(slot);
		return;
	}
	slot->tx = tx;
	store_job_beat(
	    tx, &slot->job, slot->work->config.lease_seconds, on_beaten, slot);
}

static void on_tick(evutil_socket_t fd, short what, void *ctx)
{
	struct slot *slot = ctx;
	(void)fd;
	(void)what;
	if (slot->state == SLOT_ENDING) {
		slot_tell(slot);
		return;
	}
	slot->seconds++;
	if (slot->stop != STOP_NONE && ++slot->stop_seconds == GRACE_SECONDS)
		child_signal(slot->child, SIGKILL);
	if (slot->seconds >= slot->work->config.seconds)
		slot_stop(slot, STOP_LIMIT);
	if (!slot->beating) {
		slot->beating = true;
		store_begin(slot->work->store, on_beat_begun, slot);
	}
	arm(slot);
}

/* ---- taking ---- */

static void nothing_taken(struct slot *slot)
{
	slot->work->looking = false;
	slot_is_free(slot);
}

static void slot_start(struct slot *slot)
{
	const struct work_config *config = &slot->work->config;
	struct child_config limits = {.program = slot->work->program,
	    .cpu_seconds = config->seconds + GRACE_SECONDS,
	    .memory = config->memory,
	    .out_max = PROBLEM_TEXT_MAX};
	struct err err;
	slot->stop = STOP_NONE;
	slot->seconds = 0;
	slot->dead = slot->beating = false;
	*slot->reason = *slot->code = *slot->said = '\0';
	log_event(LOG_INFO, "job-taken", "job=%" PRId64 " attempt=%" PRId64,
	    slot->job.job_id, slot->job.attempt);
	slot_enter(slot, SLOT_RUNNING);
	if (!slot->work->draining &&
	    child_start(slot->work->base, &limits, slot->job.problem,
		strlen(slot->job.problem), on_child_line, on_child_end, slot,
		&slot->child, &err)) {
		arm(slot);
		return;
	}
	end_as(slot, JOB_QUEUED, slot->work->draining ? "" : err.text);
	slot_enter(slot, SLOT_ENDING);
	slot->tells = 0;
	slot_tell(slot);
}

static void on_taken_kept(void *ctx, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) { /* if it was taken after all, its lease runs out */
		nothing_taken(slot);
		return;
	}
	if (slot->job.job_id == 0) {
		nothing_taken(slot);
		return;
	}
	slot->work->looking = false;
	slot_start(slot);
	work_look(slot->work); /* there may be more */
}

static void on_taken(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) {
		store_rollback(slot->tx);
		nothing_taken(slot);
		return;
	}
	if (n == 1)
		job_keep(&slot->job, rows);
	store_commit(slot->tx, on_taken_kept, slot);
}

static void on_take_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct slot *slot = ctx;
	if (err) {
		nothing_taken(slot);
		return;
	}
	slot->tx = tx;
	store_job_take(tx, slot->work->name, slot->work->config.lease_seconds,
	    on_taken, slot);
}

void slot_take(struct slot *slot)
{
	slot_enter(slot, SLOT_TAKING);
	store_begin(slot->work->store, on_take_begun, slot);
}

void slot_drain(struct slot *slot)
{
	if (slot->state == SLOT_RUNNING)
		slot_stop(slot, STOP_DRAIN);
}

void slot_free(struct slot *slot)
{
	child_delete(slot->child);
	job_forget(&slot->job);
	event_free(slot->tick);
}
