/* SPDX-License-Identifier: MIT */
/*
 * scene.c - what most tests of the store begin with (scene.h).
 */
#include "scene.h"

#include <inttypes.h>
#include <string.h>

#include "schema.h"

void secret(unsigned char hash[32], int n)
{
	memset(hash, 0, 32);
	memcpy(hash, &n, sizeof(n));
}

int64_t new_studio(struct desk *desk)
{
	static int n;
	unsigned char hash[32];
	struct err err;
	int64_t id = 0;
	secret(hash, 1000 + n++);
	CHECK(schema_add_studio(cluster_daemon_conninfo(desk->cluster),
	    "Quiet Brush", hash, &id, &err));
	return id;
}

int64_t new_member(
    struct desk *desk, int64_t studio, const char *name, int64_t roles)
{
	struct member member = {
	    .studio_id = studio, .name = name, .roles = roles};
	struct reply r = {.size = sizeof(struct member)};
	struct store_tx *tx = desk_begin(desk);
	ASK(desk, r, store_member_add(tx, &member, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	int64_t id = ((struct member *)r.rows)->member_id;
	reply_free(&r);
	return id;
}

int64_t new_paper(struct desk *desk, int64_t studio, const char *name)
{
	struct paper_row paper = {.studio_id = studio,
	    .name = name,
	    .weight_gsm = 300,
	    .finish = "cold press"};
	struct reply r = {.size = sizeof(struct paper_row)};
	struct store_tx *tx = desk_begin(desk);
	ASK(desk, r, store_paper_add(tx, &paper, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	int64_t id = ((struct paper_row *)r.rows)->paper_id;
	reply_free(&r);
	return id;
}

struct scene new_scene(struct desk *desk)
{
	struct scene s = {.studio = new_studio(desk)};
	s.owner = new_member(desk, s.studio, "Ottoline", ROLE_OWNER);
	s.student = new_member(desk, s.studio, "Sefa", ROLE_STUDENT);
	s.paper = new_paper(desk, s.studio, "cold");
	s.other_paper = new_paper(desk, s.studio, "hot");
	char papers[64];
	snprintf(papers, sizeof(papers), "[%" PRId64 "]", s.paper);
	struct workshop_row w = {.studio_id = s.studio,
	    .name = "Spring",
	    .closes_at = "2999-01-02T03:04:05Z",
	    .starts_on = "2999-01-10",
	    .days = 3,
	    .stages = 3,
	    .papers = papers};
	struct reply r = {.size = sizeof(struct workshop_row)};
	struct store_tx *tx = desk_begin(desk);
	ASK(desk, r, store_workshop_add(tx, &w, desk_reply, &r));
	s.workshop = ((struct workshop_row *)r.rows)->workshop_id;
	reply_free(&r);
	struct reply e = {.size = sizeof(bool)};
	ASK(desk, e,
	    store_enrolment_add(
		tx, s.studio, s.workshop, s.student, desk_reply, &e));
	CHECK(*(bool *)e.rows);
	reply_free(&e);
	CHECK(desk_commit(desk, tx, NULL));
	return s;
}

struct request_row sample_request(const struct scene *s, int64_t count)
{
	return (struct request_row){.studio_id = s->studio,
	    .workshop_id = s->workshop,
	    .member_id = s->student,
	    .paper_id = s->paper,
	    .count = count,
	    .across_u = 12 * INCH,
	    .along_u = 16 * INCH,
	    .margin_u = INCH / 4,
	    .torn_across_u = 12 * INCH + INCH / 2,
	    .torn_along_u = 16 * INCH + INCH / 2,
	    .turn = true,
	    .across_text = "12 in",
	    .along_text = "16 in",
	    .margin_text = "1/4 in"};
}

int64_t new_request(struct desk *desk, const struct scene *s, int64_t count)
{
	struct request_row request = sample_request(s, count);
	struct reply r = {.size = sizeof(struct request_row)};
	struct store_tx *tx = desk_begin(desk);
	ASK(desk, r, store_request_add(tx, &request, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	int64_t id = ((struct request_row *)r.rows)->request_id;
	reply_free(&r);
	return id;
}

void enter(struct desk *desk, const struct scene *s, enum workshop_state from,
    enum workshop_state to, int64_t plan)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_workshop_enter(
		tx, s->studio, s->workshop, from, to, plan, desk_reply, &r));
	CHECK_INT(r.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
}

int64_t new_plan(struct desk *desk, const struct scene *s)
{
	struct job_row job = {.studio_id = s->studio,
	    .paper_id = s->paper,
	    .problem = "{\"stages\": 3}",
	    .behind = "{}",
	    .result = "{\"rolls\": []}"};
	struct store_tx *tx = desk_begin(desk);
	struct reply p = {.size = sizeof(struct plan_row)}, j = {0},
		     t = {.size = sizeof(struct job_row)}, e = {0};
	ASK(desk, p,
	    store_plan_add(
		tx, s->studio, s->workshop, s->owner, desk_reply, &p));
	job.plan_id = ((struct plan_row *)p.rows)->plan_id;
	ASK(desk, j, store_job_add(tx, &job, desk_reply, &j));
	CHECK(desk_commit(desk, tx, NULL));
	tx = desk_begin(desk);
	ASK(desk, t, store_job_take(tx, "scene", 60, desk_reply, &t));
	CHECK_INT(t.n, 1);
	struct job_row *taken = (struct job_row *)t.rows;
	CHECK_INT(taken->plan_id, job.plan_id);
	taken->result = job.result;
	taken->reason = NULL;
	ASK(desk, e,
	    store_job_end(tx, taken, JOB_DONE, "K7M4", desk_reply, &e));
	CHECK_INT(e.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&p);
	reply_free(&t);
	return job.plan_id;
}

int64_t new_torn(struct desk *desk, const struct scene *s)
{
	enter(desk, s, WORKSHOP_OPEN, WORKSHOP_CLOSED, 0);
	int64_t plan = new_plan(desk, s);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_plan_enter(tx, s->studio, plan, PLAN_READY, PLAN_ACCEPTED,
		s->owner, desk_reply, &r));
	CHECK_INT(r.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
	enter(desk, s, WORKSHOP_CLOSED, WORKSHOP_PLANNED, plan);
	enter(desk, s, WORKSHOP_PLANNED, WORKSHOP_TORN, 0);
	return plan;
}
