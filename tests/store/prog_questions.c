/* SPDX-License-Identifier: MIT */
/*
 * Every question of the store, asked of a real PostgreSQL.
 */
#include <inttypes.h>
#include <stddef.h>
#include <string.h>

#include "desk.h"
#include "journal.h"
#include "ledger.h"
#include "people.h"
#include "planning.h"
#include "schema.h"
#include "shelf.h"
#include "workshop.h"

/* One question: r holds the reply; the error is printed when it was not expected. */
#define ASK(desk, r, call)                                                     \
	do {                                                                   \
		call;                                                          \
		if (!desk_wait(desk, &(r))) {                                  \
			failures++;                                            \
			printf("%s:%d: %s: %s\n", __FILE__, __LINE__, running, \
			    (r).err.text);                                     \
		}                                                              \
	} while (0)

struct scene { /* a studio with what most tests need */
	int64_t studio, owner, student, paper, other_paper, workshop;
};

static void secret(unsigned char hash[32], int n)
{
	memset(hash, 0, 32);
	memcpy(hash, &n, sizeof(n));
}

static int64_t new_studio(struct desk *desk)
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

static int64_t new_member(
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

static int64_t new_paper(struct desk *desk, int64_t studio, const char *name)
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

static struct scene new_scene(struct desk *desk)
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

/* ---- people ---- */

static void a_studio_is_changed_by_version(struct desk *desk)
{
	static const size_t strings[] = {offsetof(struct studio, name),
	    offsetof(struct studio, currency),
	    offsetof(struct studio, time_zone), NO_MORE};
	int64_t id = new_studio(desk);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(struct studio), .strings = strings};
	ASK(desk, r, store_studio(tx, id, desk_reply, &r));
	struct studio studio = *(struct studio *)r.rows;
	CHECK_TEXT(studio.name, "Quiet Brush");
	CHECK_INT(studio.ruler_u, 508);
	studio.currency = "EUR";
	studio.time_zone = "Europe/Lisbon";
	studio.measure = MEASURE_CM;
	studio.side_up = "felt";
	struct reply c = {.size = sizeof(struct studio), .strings = strings};
	ASK(desk, c, store_studio_change(tx, &studio, desk_reply, &c));
	CHECK_INT(c.n, 1);
	CHECK_TEXT(((struct studio *)c.rows)->currency, "EUR");
	CHECK_INT(((struct studio *)c.rows)->measure, MEASURE_CM);
	CHECK_INT(((struct studio *)c.rows)->version, studio.version + 1);
	struct reply stale = {.size = sizeof(struct studio)};
	ASK(desk, stale, store_studio_change(tx, &studio, desk_reply, &stale));
	CHECK_INT(stale.n, 0);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&r);
	reply_free(&c);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    {"a studio is changed by version", a_studio_is_changed_by_version},
	};
	(void)new_scene;
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
