/* SPDX-License-Identifier: MIT */
/*
 * The worker with planners that plan, crash, lie, hang, flood and eat: each costs its own job
 * and no other.
 */
#include <inttypes.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "alloc.h"
#include "judge.h"
#include "scene.h"
#include "work.h"

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define MEMORY 0 /* their shadows are larger than any limit */
#else
#define MEMORY (INT64_C(1) << 30)
#endif

static struct work_config config(int workers, int seconds)
{
	return (struct work_config){.program = BUILD_DIR "/fake_planner",
	    .name = "test",
	    .workers = workers,
	    .seconds = seconds,
	    .memory = MEMORY,
	    .lease_seconds = 3,
	    .poll_ms = 200,
	    .retry_ms = 20};
}

static struct work *begin_work(struct desk *desk, int workers, int seconds)
{
	struct work_config c = config(workers, seconds);
	struct work *work = NULL;
	struct err err;
	if (!work_new(desk->base, desk->store, &c, &work, &err)) {
		printf("%s\n", err.text);
		abort();
	}
	return work;
}

static void on_drained(void *ctx)
{
	*(bool *)ctx = true;
}

static void end_work(struct desk *desk, struct work *work)
{
	bool drained = false;
	struct store_config same = desk->config;
	work_drain(work, on_drained, &drained);
	desk_until(desk, &drained);
	store_delete(desk->store); /* it may still be told of announcements */
	work_delete(work);
	desk->store = NULL;
	desk_reopen(desk, &same);
}

/* A plan of a workshop of its own with one job; how is the stock's name. */
static int64_t add_job(struct desk *desk, const char *how)
{
	struct scene s = new_scene(desk);
	char problem[400];
	snprintf(problem, sizeof(problem),
	    "{\"stages\": 3, \"stock\": [{\"name\": \"%s\", \"width\": \"45 "
	    "in\", "
	    "\"length\": \"10 yd\", \"price\": 19200, \"available\": null}], "
	    "\"pieces\": [{\"name\": \"A\", \"across\": \"9 in\", \"along\": "
	    "\"12 "
	    "in\", \"count\": 3, \"turn\": true}], \"sliver\": 0, "
	    "\"oversize\": 0}",
	    how);
	struct store_tx *tx = desk_begin(desk);
	struct reply p = {.size = sizeof(struct plan_row)},
		     j = {.size = sizeof(struct job_row)};
	ASK(desk, p,
	    store_plan_add(tx, s.studio, s.workshop, s.owner, desk_reply, &p));
	struct job_row job = {.studio_id = s.studio,
	    .plan_id = ((struct plan_row *)p.rows)->plan_id,
	    .paper_id = s.paper,
	    .problem = problem,
	    .behind = "{}"};
	ASK(desk, j, store_job_add(tx, &job, desk_reply, &j));
	CHECK(desk_commit(desk, tx, NULL));
	int64_t id = ((struct job_row *)j.rows)->job_id;
	reply_free(&p);
	reply_free(&j);
	return id;
}

static char *job_value(struct desk *desk, int64_t job, const char *what)
{
	char sql[600];
	snprintf(sql, sizeof(sql),
	    "SELECT %s FROM tearshare.job WHERE job_id = %" PRId64, what, job);
	return desk_sql(desk, "postgres", sql, NULL);
}

static void job_is(
    struct desk *desk, int64_t job, const char *what, const char *want)
{
	char *got = job_value(desk, job, what);
	CHECK_TEXT(got, want);
	free(got);
}

/* Runs the loop until the job's value is this; ends the test after two minutes. */
static void until(
    struct desk *desk, int64_t job, const char *what, const char *want)
{
	const struct timeval turn = {0, 20000};
	for (int i = 0; i < 6000; i++) {
		char *got = job_value(desk, job, what);
		bool there = got && strcmp(got, want) == 0;
		free(got);
		if (there)
			break;
		event_base_loopexit(desk->base, &turn);
		event_base_dispatch(desk->base);
	}
	job_is(desk, job, what, want);
}

static void a_job_becomes_a_plan(struct desk *desk)
{
	struct work *work = begin_work(desk, 1, 20);
	int64_t job = add_job(desk, "plan");
	until(desk, job, "state", "done");
	job_is(desk, job, "attempt", "1");
	job_is(desk, job, "(result->'totals'->>'fresh_rolls')", "1");
	job_is(desk, job, "check_code ~ '^[CDFGHJKLMNPRTVWXY]{6}$'", "t");
	job_is(desk, job,
	    "(SELECT state || (check_code ~ '^[ACDEFHKLMNPRTUWX]{5}$') FROM "
	    "tearshare.plan "
	    "WHERE plan_id = job.plan_id)",
	    "readytrue");
	end_work(desk, work);
}

static void progress_is_seen_while_it_runs(struct desk *desk)
{
	struct work *work = begin_work(desk, 1, 100);
	int64_t job = add_job(desk, "slow");
	until(desk, job,
	    "best_rolls || '/' || bound_rolls || '/' || best_price_minor || "
	    "'/' || bound_length_u || '/' || (steps > 1)",
	    "2/1/38400/800/true");
	job_is(desk, job, "state", "running");
	end_work(desk, work);
	/* and the drain gave it back, uncounted */
	job_is(desk, job, "state || faults", "queued0");
	char *pid = job_value(desk, job, "steps");
	CHECK(kill(atoi(pid), 0) < 0);
	free(pid);
	work = begin_work(
	    desk, 1, 1); /* the limit: its best plan by then is taken */
	until(desk, job, "state", "done");
	job_is(desk, job, "attempt || '/' || faults", "2/0");
	end_work(desk, work);
}

static void a_cancelled_job_stops(struct desk *desk)
{
	struct work *work = begin_work(desk, 1, 100);
	int64_t job = add_job(desk, "slow");
	until(desk, job, "steps > 1", "t");
	char *plan = job_value(desk, job, "plan_id");
	char *studio = job_value(desk, job, "studio_id");
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_plan_enter(tx, atoll(studio), atoll(plan), PLAN_WORKING,
		PLAN_CANCELLED, 0, desk_reply, &r));
	CHECK_INT(r.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
	until(desk, job, "state", "cancelled");
	job_is(desk, job, "result IS NULL", "t");
	free(plan);
	free(studio);
	end_work(desk, work);
}

static void bad_planners_fail_alone(struct desk *desk)
{
	static const struct {
		const char *how, *reason;
	} rows[] = {
	    {"crash",
		"given up after 3 attempts: the planner ended with signal 11"},
	    {"spin", "given up after 3 attempts: the planner gave no plan "
		     "within its "
		     "limit of 1 seconds"},
	    {"status", "given up after 3 attempts: the planner ended with "
		       "status 7: something odd"},
	    {"garbage", "given up after 3 attempts: the planner's result was "
			"refused: %"},
	    {"wrong", "given up after 3 attempts: the planner's result was "
		      "refused: %"},
	};
	enum { N = sizeof(rows) / sizeof(rows[0]) };
	int64_t jobs[N], good[N];
	struct work *work = begin_work(desk, 2, 1);
	for (int i = 0; i < N; i++) {
		jobs[i] = add_job(desk, rows[i].how);
		good[i] = add_job(desk, "plan");
	}
	for (int i = 0; i < N; i++) {
		char like[300];
		until(desk, good[i], "state", "done");
		until(desk, jobs[i], "state", "failed");
		job_is(desk, jobs[i], "faults", "3");
		snprintf(like, sizeof(like),
		    "CASE WHEN reason LIKE $$%s$$ THEN 'as said' ELSE reason "
		    "END",
		    rows[i].reason);
		job_is(desk, jobs[i], like, "as said");
		job_is(desk, good[i], "attempt", "1");
	}
	end_work(desk, work);
}

static void a_flood_is_stopped(struct desk *desk)
{
	struct work *work = begin_work(desk, 1, 100);
	int64_t job = add_job(desk, "flood");
	until(desk, job, "state", "failed");
	job_is(desk, job, "reason",
	    "given up after 3 attempts: the planner wrote more than a plan can "
	    "be");
	end_work(desk, work);
}

/* Its own word is final: another attempt would say the same. */
static void what_cannot_be_planned_fails_once_with_its_reason(struct desk *desk)
{
	setenv("SECRET", "x", 1);
	struct work *work = begin_work(desk, 1, 20);
	int64_t job = add_job(desk, "limits");
	until(desk, job, "state", "failed");
	job_is(desk, job, "faults", "0");
	job_is(desk, job, "reason",
	    MEMORY > 0 ? "memory refused, core none, files closed, key unseen"
		       : "memory given, core none, files closed, key unseen");
	end_work(desk, work);
}

static void two_workers_do_each_job_once(struct desk *desk)
{
	enum { N = 12 };
	int64_t jobs[N];
	struct desk *other = desk_beside(desk);
	struct work *a = begin_work(desk, 2, 20);
	/* the other worker is another process, as on another machine */
	pid_t pid = fork();
	if (pid == 0) {
		struct err err;
		struct work *b = NULL;
		struct work_config c = config(2, 20);
		struct store *store = NULL;
		struct event_base *base = event_base_new();
		struct store_config sc = desk->config;
		c.name = "other";
		if (!store_new(base, &sc, &store, &err) ||
		    !work_new(base, store, &c, &b, &err))
			_exit(1);
		event_base_dispatch(base);
		_exit(0);
	}
	for (int i = 0; i < N; i++)
		jobs[i] = add_job(desk, "plan");
	for (int i = 0; i < N; i++) {
		until(desk, jobs[i], "state", "done");
		job_is(desk, jobs[i], "attempt || '/' || faults", "1/0");
	}
	kill(pid, SIGKILL);
	waitpid(pid, NULL, 0);
	end_work(desk, a);
	desk_close(other);
}

static void a_job_of_a_killed_worker_is_taken_up_again(struct desk *desk)
{
	int64_t job = add_job(desk, "slow");
	pid_t pid = fork();
	if (pid == 0) {
		struct err err;
		struct work *work = NULL;
		struct work_config c = config(1, 100);
		struct store *store = NULL;
		struct event_base *base = event_base_new();
		struct store_config sc = desk->config;
		if (!store_new(base, &sc, &store, &err) ||
		    !work_new(base, store, &c, &work, &err))
			_exit(1);
		event_base_dispatch(base);
		_exit(0);
	}
	until(desk, job, "steps > 1", "t");
	char *planner = job_value(desk, job, "steps");
	kill(pid, SIGKILL);
	waitpid(pid, NULL, 0);
	struct work *work = begin_work(desk, 1, 1);
	until(desk, job, "state", "done");
	job_is(desk, job, "attempt || '/' || faults", "2/1");
	CHECK(kill(atoi(planner), 0) < 0); /* died with its worker */
	free(planner);
	end_work(desk, work);
}

static void progress_lines_are_read(struct desk *desk)
{
	struct job_row job = {.best_rolls = -1, .bound_rolls = -1};
	(void)desk;
	CHECK(!progress_read("progressing well", &job));
	CHECK(!progress_read("fresh_rolls=1", &job));
	CHECK(progress_read("progress bound_rolls=1 steps=5", &job));
	CHECK_INT(job.best_rolls, -1);
	CHECK_INT(job.bound_rolls, 1);
	CHECK_INT(job.steps, 5);
	CHECK(progress_read("progress fresh_rolls=x price=4", &job));
	CHECK_INT(job.best_rolls, -1);
	CHECK(progress_read("progress later=9 strip_length=7 ", &job));
	CHECK_INT(job.best_length_u, 7);
	CHECK(progress_read("progress ", &job));
}

static void a_check_code_is_of_the_layout_alone(struct desk *desk)
{
	struct placed piece = {.piece = 0, .across = 10, .along = 20};
	struct segment segment = {.width = 10, .pieces = &piece, .n_pieces = 1};
	struct strip strip = {
	    .height = 20, .segments = &segment, .n_segments = 1};
	struct roll roll = {
	    .width = 100, .length = 100, .strips = &strip, .n_strips = 1};
	struct plan plan = {.rolls = &roll, .n_rolls = 1};
	char one[CHECK_CODE_SIZE], two[CHECK_CODE_SIZE];
	(void)desk;
	plan_check_code(&plan, one);
	plan.steps = 99;
	plan.bounds.price = 5;
	plan_check_code(&plan, two);
	CHECK_TEXT(two, one);
	piece.turned = true;
	plan_check_code(&plan, two);
	CHECK(strcmp(one, two) != 0);
	piece.turned = false;
	strip.at = 1;
	plan_check_code(&plan, two);
	CHECK(strcmp(one, two) != 0);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(a_job_becomes_a_plan),
	    T(progress_is_seen_while_it_runs),
	    T(a_cancelled_job_stops),
	    T(bad_planners_fail_alone),
	    T(a_flood_is_stopped),
	    T(what_cannot_be_planned_fails_once_with_its_reason),
	    T(two_workers_do_each_job_once),
	    T(a_job_of_a_killed_worker_is_taken_up_again),
	    T(progress_lines_are_read),
	    T(a_check_code_is_of_the_layout_alone),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
