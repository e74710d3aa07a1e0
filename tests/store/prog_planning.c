/* SPDX-License-Identifier: MIT */
/*
 * Plans and jobs in the database: who gets a job, who may write, how a plan is settled.
 */
#include <stddef.h>
#include <string.h>

#include "scene.h"

static const size_t job_strings[] = {offsetof(struct job_row, problem),
    offsetof(struct job_row, reason), NO_MORE};
/* beats and ends answer without the texts */
static const size_t short_strings[] = {
    offsetof(struct job_row, reason), NO_MORE};

static int64_t add_plan(struct desk *desk, const struct scene *s, int jobs)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply p = {.size = sizeof(struct plan_row)};
	ASK(desk, p,
	    store_plan_add(
		tx, s->studio, s->workshop, s->owner, desk_reply, &p));
	int64_t plan = ((struct plan_row *)p.rows)->plan_id;
	for (int i = 0; i < jobs; i++) {
		struct job_row job = {.studio_id = s->studio,
		    .plan_id = plan,
		    .paper_id = i == 0 ? s->paper : s->other_paper,
		    .problem = "{}",
		    .behind = "{}"};
		struct reply j = {0};
		ASK(desk, j, store_job_add(tx, &job, desk_reply, &j));
	}
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&p);
	return plan;
}

static bool take(struct desk *desk, struct job_row *job)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(*job)};
	ASK(desk, r, store_job_take(tx, "w", 60, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	if (r.n == 1) {
		*job = *(struct job_row *)r.rows;
		job->problem = job->behind = job->result = job->reason = NULL;
		job->paper_name = NULL;
	}
	reply_free(&r);
	return r.n == 1;
}

/* Nobody else's jobs are in the way: earlier tests leave none waiting. */
static void drop_all(struct desk *desk)
{
	free(desk_sql(desk, "postgres",
	    "UPDATE tearshare.job SET state = 'cancelled' WHERE state IN "
	    "('queued', 'running')",
	    NULL));
}

static size_t end(struct desk *desk, struct job_row job, enum job_state state,
    const char *reason, struct job_row *after)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(job)};
	job.reason = reason;
	job.result = state == JOB_DONE ? "{\"rolls\":[]}" : NULL;
	ASK(desk, r, store_job_end(tx, &job, state, "ABC", desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	if (r.n == 1 && after)
		*after = *(struct job_row *)r.rows;
	reply_free(&r);
	return r.n;
}

static int64_t plan_state(
    struct desk *desk, const struct scene *s, int64_t plan, char code[32])
{
	static const size_t strings[] = {
	    offsetof(struct plan_row, check_code), NO_MORE};
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {.size = sizeof(struct plan_row), .strings = strings};
	ASK(desk, r, store_plan(tx, s->studio, plan, desk_reply, &r));
	int64_t state = ((struct plan_row *)r.rows)->state;
	if (code)
		snprintf(
		    code, 32, "%s", ((struct plan_row *)r.rows)->check_code);
	store_rollback(tx);
	reply_free(&r);
	return state;
}

static void the_last_job_makes_a_plan_ready(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job[2];
	char code[32];
	drop_all(desk);
	int64_t plan = add_plan(desk, &s, 2);
	CHECK(take(desk, &job[0]) && take(desk, &job[1]));
	CHECK(job[0].job_id != job[1].job_id);
	CHECK_INT(job[0].plan_id, plan);
	CHECK_INT(job[0].attempt, 1);
	struct job_row none;
	CHECK(!take(desk, &none));
	CHECK_INT(end(desk, job[0], JOB_DONE, NULL, NULL), 1);
	CHECK_INT(plan_state(desk, &s, plan, code), PLAN_WORKING);
	CHECK_TEXT(code, "");
	CHECK_INT(end(desk, job[1], JOB_DONE, NULL, NULL), 1);
	CHECK_INT(plan_state(desk, &s, plan, code), PLAN_READY);
	/* printf ABC-ABC | sha256sum, its first five digits in our letters */
	CHECK_TEXT(code, "XTHTU");
	CHECK_INT(end(desk, job[1], JOB_DONE, NULL, NULL), 0); /* ended once */
}

static bool someone_waits(struct desk *desk)
{
	char *n = desk_sql(desk, "postgres",
	    "SELECT count(*) FROM pg_stat_activity WHERE wait_event_type = "
	    "'Lock'",
	    NULL);
	bool yes = n && strcmp(n, "0") != 0;
	free(n);
	return yes;
}

/* Two last jobs end at the same moment: neither sees the other's end, and still one of them
 * settles the plan. */
static void two_last_jobs_at_once_make_a_plan_ready(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job[2];
	drop_all(desk);
	int64_t plan = add_plan(desk, &s, 2);
	CHECK(take(desk, &job[0]) && take(desk, &job[1]));
	struct store_tx *a = desk_begin(desk), *b = desk_begin(desk);
	struct reply ra = {0}, rb = {0};
	job[0].result = job[1].result = "{}";
	ASK(desk, ra,
	    store_job_end(a, &job[0], JOB_DONE, "A", desk_reply, &ra));
	store_job_end(b, &job[1], JOB_DONE, "B", desk_reply, &rb);
	while (!rb.called && !someone_waits(desk)) /* for a, or is through */
		event_base_loop(desk->base, EVLOOP_NONBLOCK);
	CHECK(desk_commit(desk, a, NULL));
	CHECK(desk_wait(desk, &rb));
	CHECK(desk_commit(desk, b, NULL));
	CHECK_INT(plan_state(desk, &s, plan, NULL), PLAN_READY);
}

static void a_late_writer_writes_nothing(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row first, second;
	drop_all(desk);
	add_plan(desk, &s, 1);
	CHECK(take(desk, &first));
	free(desk_sql(desk, "postgres",
	    "UPDATE tearshare.job SET lease_until = now() - interval '1 s' "
	    "WHERE "
	    "state = 'running'",
	    NULL));
	CHECK(take(desk, &second));
	CHECK_INT(second.job_id, first.job_id);
	CHECK_INT(second.attempt, first.attempt + 1);
	CHECK_INT(second.faults, 1);
	struct store_tx *tx = desk_begin(desk);
	struct reply beat = {0}, good = {.size = sizeof(struct job_row)};
	ASK(desk, beat, store_job_beat(tx, &first, 60, desk_reply, &beat));
	CHECK_INT(beat.n, 0);
	second.best_rolls = 3;
	second.steps = 77;
	ASK(desk, good, store_job_beat(tx, &second, 60, desk_reply, &good));
	CHECK(good.n == 1 && ((struct job_row *)good.rows)->best_rolls == 3);
	CHECK(desk_commit(desk, tx, NULL));
	CHECK_INT(end(desk, first, JOB_DONE, NULL, NULL), 0);
	CHECK_INT(end(desk, second, JOB_DONE, NULL, NULL), 1);
	reply_free(&good);
}

static void three_bad_ends_fail_job_and_plan(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job, after = {0};
	drop_all(desk);
	int64_t plan = add_plan(desk, &s, 2);
	for (int i = 1; i <= 3; i++) {
		CHECK(take(desk, &job));
		if (job.paper_id !=
		    s.paper) { /* the other one waits its turn */
			CHECK_INT(end(desk, job, JOB_QUEUED, NULL, NULL), 1);
			i--;
			continue;
		}
		CHECK_INT(job.faults, i - 1);
		CHECK_INT(end(desk, job, JOB_QUEUED,
			      "the planner ended with signal 11", &after),
		    1);
		CHECK_INT(after.state, i < 3 ? JOB_QUEUED : JOB_FAILED);
	}
	CHECK_INT(plan_state(desk, &s, plan, NULL), PLAN_FAILED);
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {.size = sizeof(job), .strings = short_strings};
	ASK(desk, r, store_jobs(tx, s.studio, plan, false, desk_reply, &r));
	CHECK_TEXT(((struct job_row *)r.rows)[0].reason,
	    "given up after 3 attempts: the planner ended with signal 11");
	CHECK(((struct job_row *)r.rows)[1].cancel);
	store_rollback(tx);
	reply_free(&r);
	CHECK(!take(desk, &job));
}

static void three_lost_leases_fail_a_job(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job;
	drop_all(desk);
	int64_t plan = add_plan(desk, &s, 1);
	for (int i = 0; i < 3; i++) {
		CHECK(take(desk, &job));
		free(desk_sql(desk, "postgres",
		    "UPDATE tearshare.job SET lease_until = now() - interval "
		    "'1 s' "
		    "WHERE state = 'running'",
		    NULL));
	}
	CHECK(!take(desk, &job));
	CHECK_INT(plan_state(desk, &s, plan, NULL), PLAN_FAILED);
}

static void what_is_given_back_is_not_counted(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job;
	drop_all(desk);
	add_plan(desk, &s, 1);
	for (int i = 1; i <= 5; i++) {
		CHECK(take(desk, &job));
		CHECK_INT(job.attempt, i);
		CHECK_INT(job.faults, 0);
		CHECK_INT(end(desk, job, JOB_QUEUED, NULL, NULL), 1);
	}
	CHECK(take(desk, &job));
	job.wait_ms = 3600 * 1000;
	CHECK_INT(end(desk, job, JOB_QUEUED, "crashed", NULL), 1);
	CHECK(!take(desk, &job)); /* not before an hour */
}

static void one_studio_does_not_hold_up_another(struct desk *desk)
{
	struct scene a = new_scene(desk), b = new_scene(desk);
	struct job_row first, second;
	drop_all(desk);
	add_plan(desk, &a, 2);
	add_plan(desk, &b, 1);
	CHECK(take(desk, &first) && take(desk, &second));
	CHECK_INT(first.studio_id, a.studio);
	CHECK_INT(second.studio_id, b.studio);
	struct store_tx *tx = desk_begin_read(desk);
	struct reply n = {.size = sizeof(int64_t)};
	ASK(desk, n, store_jobs_waiting(tx, a.studio, desk_reply, &n));
	CHECK_INT(*(int64_t *)n.rows, 2);
	store_rollback(tx);
	reply_free(&n);
}

static size_t plan_enters(struct desk *desk, const struct scene *s,
    int64_t plan, enum plan_state from, enum plan_state to, struct err *err)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_plan_enter(
	    tx, s->studio, plan, from, to, s->owner, desk_reply, &r);
	if (!desk_wait(desk, &r)) {
		*err = r.err;
		store_rollback(tx);
		return 0;
	}
	CHECK(desk_commit(desk, tx, NULL));
	return r.n;
}

static void a_cancelled_plan_stops_its_jobs(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct job_row job, after;
	struct err err;
	drop_all(desk);
	int64_t plan = add_plan(desk, &s, 2);
	CHECK(take(desk, &job));
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_WORKING, PLAN_CANCELLED, &err), 1);
	struct job_row none;
	CHECK(!take(desk, &none)); /* the queued one is cancelled */
	struct store_tx *tx = desk_begin(desk);
	struct reply beat = {.size = sizeof(job)};
	ASK(desk, beat, store_job_beat(tx, &job, 60, desk_reply, &beat));
	CHECK(beat.n == 1 && ((struct job_row *)beat.rows)->cancel);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&beat);
	CHECK_INT(end(desk, job, JOB_QUEUED, "crashed", &after), 1);
	CHECK_INT(after.state, JOB_CANCELLED);
	CHECK_INT(plan_state(desk, &s, plan, NULL), PLAN_CANCELLED);
	add_plan(desk, &s, 1); /* and the workshop may be planned again */
}

static void a_workshop_is_planned_once_at_a_time(struct desk *desk)
{
	struct scene s = new_scene(desk);
	drop_all(desk);
	add_plan(desk, &s, 1);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_plan_add(tx, s.studio, s.workshop, s.owner, desk_reply, &r);
	CHECK(!desk_wait(desk, &r));
	CHECK(
	    r.err.kind == ERR_CONFLICT && strstr(r.err.text, "being planned"));
	store_rollback(tx);
}

static void an_accepted_plan_is_kept_for_ever(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct err err;
	char sql[200];
	drop_all(desk);
	enter(desk, &s, WORKSHOP_OPEN, WORKSHOP_CLOSED, 0);
	int64_t plan = new_plan(desk, &s);
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_WORKING, PLAN_CANCELLED, &err), 0);
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_READY, PLAN_ACCEPTED, &err), 1);
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_READY, PLAN_ACCEPTED, &err), 0);
	snprintf(sql, sizeof(sql),
	    "SELECT result::text || check_code FROM tearshare.accepted_plan "
	    "WHERE plan_id = %lld",
	    (long long)plan);
	char *kept = desk_sql(desk, "tearshare_daemon", sql, NULL);
	CHECK_TEXT(kept, "{\"rolls\": []}K7M4");
	free(kept);
	enter(desk, &s, WORKSHOP_CLOSED, WORKSHOP_PLANNED, plan);
	enter(desk, &s, WORKSHOP_PLANNED, WORKSHOP_OPEN, 0);
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_ACCEPTED, PLAN_SUPERSEDED, &err),
	    1);
	CHECK_INT(
	    plan_enters(desk, &s, plan, PLAN_SUPERSEDED, PLAN_ACCEPTED, &err),
	    0);
	CHECK(err.kind == ERR_CONFLICT);
	kept = desk_sql(desk, "tearshare_daemon", sql, NULL);
	CHECK_TEXT(kept, "{\"rolls\": []}K7M4");
	free(kept);
	struct store_tx *tx = desk_begin_read(desk);
	struct reply l = {.size = sizeof(struct plan_row)},
		     w = {.size = sizeof(struct job_row),
			 .strings = job_strings};
	ASK(desk, l,
	    store_plans(tx, s.studio, s.workshop, (struct page){0, 10},
		desk_reply, &l));
	CHECK(l.n == 1 && ((struct plan_row *)l.rows)->number == 1);
	ASK(desk, w, store_jobs(tx, s.studio, plan, true, desk_reply, &w));
	CHECK_TEXT(((struct job_row *)w.rows)->problem, "{\"stages\": 3}");
	store_rollback(tx);
	reply_free(&l);
	reply_free(&w);
}

struct heard {
	bool any;
	int n;
	char last[32];
};

static void on_heard(void *ctx, const char *payload)
{
	struct heard *heard = ctx;
	heard->any = *payload != '\0';
	heard->n++;
	snprintf(heard->last, sizeof(heard->last), "%s", payload);
}

static void a_job_is_announced_when_it_is_committed(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct heard heard = {0};
	char want[32];
	drop_all(desk);
	struct desk *other = desk_beside(desk);
	store_listen(other->store, JOB_CHANNEL, on_heard, &heard);
	while (heard.n == 0) /* once when it begins to listen */
		event_base_loop(other->base, EVLOOP_ONCE);
	CHECK_TEXT(heard.last, "");
	/* LISTEN itself is answered when its own connection answers: wait for the job */
	char *listening;
	do {
		event_base_loop(other->base, EVLOOP_NONBLOCK);
		listening = desk_sql(desk, "postgres",
		    "SELECT count(*) FROM pg_stat_activity WHERE query = "
		    "'LISTEN plan_job' AND state = 'idle'",
		    NULL);
		if (strcmp(listening, "0") != 0)
			break;
		free(listening);
	} while (true);
	free(listening);
	add_plan(desk, &s, 1);
	desk_until(other, &heard.any);
	char *id = desk_sql(
	    desk, "postgres", "SELECT max(job_id) FROM tearshare.job", NULL);
	snprintf(want, sizeof(want), "%s", id);
	free(id);
	CHECK_TEXT(heard.last, want);
	desk_close(other);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(the_last_job_makes_a_plan_ready),
	    T(two_last_jobs_at_once_make_a_plan_ready),
	    T(a_late_writer_writes_nothing),
	    T(three_bad_ends_fail_job_and_plan),
	    T(three_lost_leases_fail_a_job),
	    T(what_is_given_back_is_not_counted),
	    T(one_studio_does_not_hold_up_another),
	    T(a_cancelled_plan_stops_its_jobs),
	    T(a_workshop_is_planned_once_at_a_time),
	    T(an_accepted_plan_is_kept_for_ever),
	    T(a_job_is_announced_when_it_is_committed),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
