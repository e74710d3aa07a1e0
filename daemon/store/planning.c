/* SPDX-License-Identifier: MIT */
/*
 * planning.c - questions about plans and their jobs.
 *
 * A worker holds a job by a lease and by the number of its taking (attempt), which only
 * ever grows: whatever a worker writes names both, and who was overtaken writes nothing.
 * A lease that ran out is an attempt that ended badly, as is a planner that crashed; after
 * three of those the job has failed.  A trigger settles the plan when a job ends.
 *
 * Which job is next: of the studio with the fewest jobs running, then of the one that was
 * served longest ago, then the oldest.  So one studio's queue does not hold up another's.
 */
#include "planning.h"

#include <stddef.h>

#include "question.h"

/* ---- plans ---- */

static const char *const plan_states[] = {
    "working", "ready", "failed", "cancelled", "accepted", "superseded", NULL};

/* clang-format off */
static const struct column plan_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct plan_row, studio_id), NULL, 0},
	{"plan_id", COLUMN_INT, offsetof(struct plan_row, plan_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct plan_row, workshop_id), NULL, 0},
	{"number", COLUMN_INT, offsetof(struct plan_row, number), NULL, 0},
	{"state", COLUMN_WORD, offsetof(struct plan_row, state), plan_states, 0},
	{"check_code", COLUMN_TEXT, offsetof(struct plan_row, check_code), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct plan_row, created_at), NULL, 0},
	{"accepted_at", COLUMN_INSTANT, offsetof(struct plan_row, accepted_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct plan_row, created_by), NULL, 0},
	{"version", COLUMN_INT, offsetof(struct plan_row, version), NULL, 0},
};
/* clang-format on */
static const struct shape plan_shape = SHAPE(struct plan_row, plan_columns);

static const struct question plan_add = {
    "INSERT INTO plan (studio_id, workshop_id, number, created_by) VALUES ($1, "
    "$2, (SELECT coalesce(max(number), 0) + 1 FROM plan WHERE studio_id = $1 "
    "AND workshop_id = $2), $3) RETURNING *",
    &plan_shape, true};

void store_plan_add(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t created_by, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, created_by);
	tx_ask(tx, &plan_add, &given, fn, ctx);
}

static const struct question plans_page = {
    "SELECT * FROM plan WHERE studio_id = $1 AND ($2::bigint = 0 OR "
    "workshop_id = $2) AND plan_id > $3 ORDER BY plan_id LIMIT $4",
    &plan_shape, false};

void store_plans(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_page(&given, page);
	tx_ask(tx, &plans_page, &given, fn, ctx);
}

static const struct question plan_one = {
    "SELECT * FROM plan WHERE studio_id = $1 AND plan_id = $2", &plan_shape,
    false};

void store_plan(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, plan_id);
	tx_ask(tx, &plan_one, &given, fn, ctx);
}

/* What goes with a state goes in the same statement: the copies for ever, the end of the jobs.  A
 * running job is only asked to stop; its worker writes its end. */
static const struct question plan_enter = {
    "WITH p AS (UPDATE plan SET state = $4, version = version + 1, accepted_at "
    "= CASE WHEN $4 = 'accepted' THEN now() ELSE accepted_at END, accepted_by "
    "= CASE WHEN $4 = 'accepted' THEN $5 ELSE accepted_by END WHERE studio_id "
    "= $1 AND plan_id = $2 AND state = $3 RETURNING *), kept AS (INSERT INTO "
    "accepted_plan (studio_id, plan_id, paper_id, problem, behind, result, "
    "check_code) SELECT j.studio_id, j.plan_id, j.paper_id, j.problem, "
    "j.behind, j.result, j.check_code FROM p JOIN job j USING (studio_id, "
    "plan_id) WHERE p.state = 'accepted'), stopped AS (UPDATE job j SET cancel "
    "= true, state = CASE WHEN j.state = 'queued' THEN 'cancelled' ELSE "
    "j.state END, ended_at = CASE WHEN j.state = 'queued' THEN now() END FROM "
    "p WHERE j.studio_id = p.studio_id AND j.plan_id = p.plan_id AND p.state = "
    "'cancelled' AND j.state IN ('queued', 'running') RETURNING j.job_id), "
    "told AS MATERIALIZED (SELECT pg_notify('plan_job', job_id::text) FROM "
    "stopped) SELECT p.*, (SELECT count(*) FROM told) AS told FROM p",
    &plan_shape, true};

void store_plan_enter(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    enum plan_state from, enum plan_state to, int64_t by_member,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, plan_id);
	give_text(&given, word_of(plan_states, from));
	give_text(&given, word_of(plan_states, to));
	give_int_or_null(&given, by_member);
	tx_ask(tx, &plan_enter, &given, fn, ctx);
}

/* ---- jobs ---- */

static const char *const job_states[] = {
    "queued", "running", "done", "failed", "cancelled", NULL};

/* clang-format off */
#define JOB_FIELDS \
	{"studio_id", COLUMN_INT, offsetof(struct job_row, studio_id), NULL, 0}, \
	{"job_id", COLUMN_INT, offsetof(struct job_row, job_id), NULL, 0}, \
	{"plan_id", COLUMN_INT, offsetof(struct job_row, plan_id), NULL, 0}, \
	{"paper_id", COLUMN_INT, offsetof(struct job_row, paper_id), NULL, 0}, \
	{"paper_name", COLUMN_TEXT, offsetof(struct job_row, paper_name), NULL, 0}, \
	{"state", COLUMN_WORD, offsetof(struct job_row, state), job_states, 0}, \
	{"attempt", COLUMN_INT, offsetof(struct job_row, attempt), NULL, 0}, \
	{"faults", COLUMN_INT, offsetof(struct job_row, faults), NULL, 0}, \
	{"cancel", COLUMN_BOOL, offsetof(struct job_row, cancel), NULL, 0}, \
	{"reason", COLUMN_TEXT, offsetof(struct job_row, reason), NULL, 0}, \
	{"best_rolls", COLUMN_INT, offsetof(struct job_row, best_rolls), NULL, 0}, \
	{"best_price_minor", COLUMN_INT, offsetof(struct job_row, best_price_minor), NULL, 0}, \
	{"best_length_u", COLUMN_INT, offsetof(struct job_row, best_length_u), NULL, 0}, \
	{"bound_rolls", COLUMN_INT, offsetof(struct job_row, bound_rolls), NULL, 0}, \
	{"bound_price_minor", COLUMN_INT, offsetof(struct job_row, bound_price_minor), NULL, 0}, \
	{"bound_length_u", COLUMN_INT, offsetof(struct job_row, bound_length_u), NULL, 0}, \
	{"steps", COLUMN_INT, offsetof(struct job_row, steps), NULL, 0}
static const struct column job_columns[] = {JOB_FIELDS,
	{"problem", COLUMN_TEXT, offsetof(struct job_row, problem), NULL, 0},
	{"behind", COLUMN_TEXT, offsetof(struct job_row, behind), NULL, 0},
	{"result", COLUMN_TEXT, offsetof(struct job_row, result), NULL, 0},
};
static const struct column job_short_columns[] = {JOB_FIELDS};
/* clang-format on */
static const struct shape job_shape = SHAPE(struct job_row, job_columns);
static const struct shape job_short_shape =
    SHAPE(struct job_row, job_short_columns);

#define JOB_SHORT                                                              \
	"j.studio_id, j.job_id, j.plan_id, j.paper_id, p.name AS paper_name, " \
	"j.state, j.attempt, j.faults, j.cancel, j.reason, j.best_rolls, "     \
	"j.best_price_minor, j.best_length_u, j.bound_rolls, "                 \
	"j.bound_price_minor, j.bound_length_u, j.steps"
#define JOB_COLUMNS JOB_SHORT ", j.problem, j.behind, j.result"
#define JOB_JOIN                                                               \
	" j JOIN paper p ON p.studio_id = j.studio_id AND p.paper_id = "       \
	"j.paper_id "

static const struct question job_add = {
    "WITH added AS (INSERT INTO job (studio_id, plan_id, paper_id, problem, "
    "behind) VALUES ($1, $2, $3, $4, $5) RETURNING *), told AS MATERIALIZED "
    "(SELECT pg_notify('plan_job', job_id::text) FROM added) "
    "SELECT " JOB_COLUMNS ", (SELECT count(*) FROM told) FROM added" JOB_JOIN,
    &job_shape, true};

void store_job_add(struct store_tx *tx, const struct job_row *job,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, job->studio_id);
	give_int(&given, job->plan_id);
	give_int(&given, job->paper_id);
	give_text(&given, job->problem);
	give_text(&given, job->behind);
	tx_ask(tx, &job_add, &given, fn, ctx);
}

#define JOBS_WHERE                                                             \
	"WHERE j.studio_id = $1 AND j.plan_id = $2 ORDER BY j.paper_id"

static const struct question jobs_whole = {
    "SELECT " JOB_COLUMNS " FROM job" JOB_JOIN JOBS_WHERE, &job_shape, false};
static const struct question jobs_short = {"SELECT " JOB_SHORT
					   " FROM job" JOB_JOIN JOBS_WHERE,
    &job_short_shape, false};

void store_jobs(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    bool whole, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, plan_id);
	tx_ask(tx, whole ? &jobs_whole : &jobs_short, &given, fn, ctx);
}

static const struct question jobs_waiting = {
    "SELECT count(*) AS n FROM job WHERE studio_id = $1 AND plan_id IS NOT "
    "NULL AND state IN ('queued', 'running')",
    &int_shape, false};

void store_jobs_waiting(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	tx_ask(tx, &jobs_waiting, &given, fn, ctx);
}

/* ---- estimates ---- */

/* Whoever works on the older one finds that the attempt is not its own any more. */
static const struct question estimate_put = {
    "WITH put AS (INSERT INTO job AS e (studio_id, workshop_id, paper_id, "
    "problem, behind) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (studio_id, "
    "workshop_id, paper_id) WHERE workshop_id IS NOT NULL DO UPDATE SET "
    "problem = excluded.problem, behind = excluded.behind, state = 'queued', "
    "attempt = e.attempt + 1, faults = 0, cancel = false, worker = NULL, "
    "lease_until = NULL, not_before = now(), result = NULL, check_code = '', "
    "reason = NULL, best_rolls = -1, best_price_minor = -1, best_length_u = "
    "-1, bound_rolls = -1, bound_price_minor = -1, bound_length_u = -1, steps "
    "= 0, created_at = now(), ended_at = NULL RETURNING *), told AS "
    "MATERIALIZED (SELECT pg_notify('plan_job', job_id::text) FROM put) "
    "SELECT " JOB_COLUMNS ", (SELECT count(*) FROM told) FROM put" JOB_JOIN,
    &job_shape, true};

void store_estimate_put(struct store_tx *tx, int64_t workshop_id,
    const struct job_row *job, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, job->studio_id);
	give_int(&given, workshop_id);
	give_int(&given, job->paper_id);
	give_text(&given, job->problem);
	give_text(&given, job->behind);
	tx_ask(tx, &estimate_put, &given, fn, ctx);
}

static const struct question estimates = {
    "SELECT " JOB_COLUMNS " FROM job" JOB_JOIN
    "WHERE j.studio_id = $1 AND j.workshop_id = $2 ORDER BY j.paper_id",
    &job_shape, false};

void store_estimates(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, &estimates, &given, fn, ctx);
}

/* ---- for workers ---- */

/* A job asked to stop that nobody holds any more is cancelled here, one whose lease ran out
 * for the third time has failed here. */
static const struct question job_take = {
    "WITH over AS (SELECT studio_id, job_id, cancel FROM job WHERE (state = "
    "'running' AND lease_until < now() AND (cancel OR faults + 1 >= 3)) OR "
    "(state = 'queued' AND cancel) FOR UPDATE SKIP LOCKED), ended AS (UPDATE "
    "job j SET state = CASE WHEN over.cancel THEN 'cancelled' ELSE 'failed' "
    "END, faults = CASE WHEN over.cancel THEN faults ELSE faults + 1 END, "
    "reason = CASE WHEN over.cancel THEN reason ELSE 'given up after 3 "
    "attempts: the planner was lost each time, with the machine or the "
    "process that ran it' END, ended_at = now() FROM over WHERE j.studio_id = "
    "over.studio_id AND j.job_id = over.job_id RETURNING 1), next AS (SELECT "
    "w.studio_id, w.job_id FROM job w WHERE ((w.state = 'queued' AND "
    "w.not_before <= now()) OR (w.state = 'running' AND w.lease_until < now() "
    "AND w.faults + 1 < 3)) AND NOT w.cancel ORDER BY w.plan_id IS NULL, "
    "(SELECT count(*) FROM "
    "job r WHERE r.studio_id = w.studio_id AND r.state = 'running' AND "
    "r.lease_until >= now()), (SELECT max(t.taken_at) FROM job t WHERE "
    "t.studio_id = w.studio_id) NULLS FIRST, w.job_id LIMIT 1 FOR UPDATE SKIP "
    "LOCKED), taken AS (UPDATE job j SET state = 'running', attempt = attempt "
    "+ 1, faults = faults + CASE WHEN j.state = 'running' THEN 1 ELSE 0 END, "
    "worker = $1, lease_until = now() + make_interval(secs => $2), taken_at = "
    "clock_timestamp(), reason = NULL FROM next n WHERE j.studio_id = "
    "n.studio_id AND j.job_id = n.job_id RETURNING j.*) SELECT " JOB_COLUMNS
    ", (SELECT count(*) FROM ended) FROM taken" JOB_JOIN,
    &job_shape, true};

void store_job_take(struct store_tx *tx, const char *worker, int lease_seconds,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_text(&given, worker);
	give_int(&given, lease_seconds);
	tx_ask(tx, &job_take, &given, fn, ctx);
}

static void give_progress(struct given *given, const struct job_row *job)
{
	give_int(given, job->best_rolls);
	give_int(given, job->best_price_minor);
	give_int(given, job->best_length_u);
	give_int(given, job->bound_rolls);
	give_int(given, job->bound_price_minor);
	give_int(given, job->bound_length_u);
	give_int(given, job->steps);
}

#define PROGRESS                                                               \
	"best_rolls = $4, best_price_minor = $5, best_length_u = $6, "         \
	"bound_rolls = $7, bound_price_minor = $8, bound_length_u = $9, "      \
	"steps = $10"

static const struct question job_beat = {
    "WITH beaten AS (UPDATE job SET " PROGRESS
    ", lease_until = now() + make_interval(secs => $11) WHERE studio_id = $1 "
    "AND job_id = $2 AND attempt = $3 AND state = 'running' RETURNING *) "
    "SELECT " JOB_SHORT " FROM beaten" JOB_JOIN,
    &job_short_shape, true};

void store_job_beat(struct store_tx *tx, const struct job_row *job,
    int lease_seconds, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, job->studio_id);
	give_int(&given, job->job_id);
	give_int(&given, job->attempt);
	give_progress(&given, job);
	give_int(&given, lease_seconds);
	tx_ask(tx, &job_beat, &given, fn, ctx);
}

/* Back into the queue with a reason is an attempt that ended badly; without one it was only
 * given back. */
static const struct question job_end = {
    "WITH ended AS (UPDATE job SET " PROGRESS
    ", state = CASE WHEN $11 <> 'queued' THEN $11 WHEN cancel THEN 'cancelled' "
    "WHEN $12::text IS NOT NULL AND faults + 1 >= 3 THEN 'failed' ELSE "
    "'queued' END, faults = CASE WHEN $11 = 'queued' AND $12 IS NOT NULL THEN "
    "faults + 1 ELSE faults END, reason = CASE WHEN $11 = 'queued' AND $12 IS "
    "NOT NULL AND faults + 1 >= 3 THEN 'given up after 3 attempts: ' || $12 "
    "ELSE $12 END, result = $13, check_code = $14, not_before = CASE WHEN $11 "
    "= 'queued' THEN now() + $15::bigint * interval '1 millisecond' ELSE "
    "not_before END, ended_at = CASE WHEN $11 <> 'queued' THEN now() END WHERE "
    "studio_id = $1 AND job_id = $2 AND attempt = $3 AND state = 'running' "
    "RETURNING *), told AS MATERIALIZED (SELECT pg_notify('plan_job', "
    "job_id::text) FROM ended WHERE state = 'queued') SELECT " JOB_SHORT
    ", (SELECT count(*) FROM told) FROM ended" JOB_JOIN,
    &job_short_shape, true};

void store_job_end(struct store_tx *tx, const struct job_row *job,
    enum job_state end, const char *check_code, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, job->studio_id);
	give_int(&given, job->job_id);
	give_int(&given, job->attempt);
	give_progress(&given, job);
	give_text(&given, word_of(job_states, end));
	give_text(&given, job->reason);
	give_text(&given, end == JOB_DONE ? job->result : NULL);
	give_text(&given, end == JOB_DONE && check_code ? check_code : "");
	give_int(&given, job->wait_ms);
	tx_ask(tx, &job_end, &given, fn, ctx);
}
