/* SPDX-License-Identifier: MIT */
/*
 * What goes to the database in one message: the look at a workshop with its claim, and the
 * event, the kept answer and COMMIT.  What is refused there leaves the link as good as new.
 */
#include <stddef.h>
#include <string.h>

#include "scene.h"

static unsigned char fingerprint[32];

static struct workshop_look look(struct desk *desk, struct store_tx *tx,
    const struct scene *s, const char *key, bool lock, size_t *n)
{
	struct reply r = {.size = sizeof(struct workshop_look)};
	struct answer_claim claim = {
	    .caller = "key:1", .key = key, .fingerprint = fingerprint};
	struct workshop_look l = {.takes_part = false};

	ASK(desk, r,
	    store_workshop_look(tx, s->studio, s->workshop, s->student, lock,
		&claim, desk_reply, &r));
	*n = r.n;
	if (r.n > 0)
		l = *(struct workshop_look *)r.rows;
	reply_free(&r);
	return l;
}

struct end {
	bool called, ok;
	struct err err;
};

static void on_end(void *ctx, const struct err *err)
{
	struct end *end = ctx;

	end->called = true;
	end->ok = err == NULL;
	if (err != NULL)
		end->err = *err;
}

static struct end finish(struct desk *desk, struct store_tx *tx,
    const struct scene *s, const char *event, const char *key)
{
	struct end end = {.called = false};
	struct event_row row = {.studio_id = s->studio,
	    .workshop_id = s->workshop,
	    .by_member = s->student,
	    .kind = event,
	    .details = "{}"};
	struct answer_to_keep keep = {.caller = key == NULL ? NULL : "key:1",
	    .key = key,
	    .status = 201,
	    .fields = "{}",
	    .body = "{}",
	    .len = 2};

	store_commit_with(
	    tx, s->studio, event == NULL ? NULL : &row, &keep, on_end, &end);
	desk_until(desk, &end.called);
	return end;
}

static void count(struct desk *desk, const char *table, const char *want)
{
	char sql[128];
	char *got;

	snprintf(sql, sizeof(sql), "SELECT count(*) FROM tearshare.%s", table);
	got = desk_sql(desk, "tearshare_owner", sql, NULL);
	CHECK_TEXT(got, want);
	free(got);
}

static void a_workshop_is_looked_at_once(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct store_tx *tx = desk_begin(desk);
	size_t n = 0;
	struct workshop_look l = look(desk, tx, &s, "a", true, &n);

	CHECK_INT(n, 1);
	CHECK_INT(l.workshop.workshop_id, s.workshop);
	CHECK(l.takes_part);
	CHECK(l.kept.is_new && !l.kept.is_running && !l.kept.is_other);
	/* Another with the same key at the same time. */
	struct store_tx *other = desk_begin(desk);
	l = look(desk, other, &s, "a", false, &n);
	CHECK(n == 1 && l.kept.is_running);
	store_rollback(other);
	CHECK(finish(desk, tx, &s, "looked-at", "a").ok);
	count(desk, "kept_answer WHERE key = 'a'", "1");
	count(desk, "event WHERE kind = 'looked-at'", "1");
	/* And afterwards. */
	tx = desk_begin(desk);
	l = look(desk, tx, &s, "a", false, &n);
	CHECK(n == 1 && !l.kept.is_new && !l.kept.is_running &&
	      l.kept.status == 201);
	store_rollback(tx);
	struct scene none = s;
	none.workshop = 999999;
	tx = desk_begin(desk);
	(void)look(desk, tx, &none, "b", true, &n);
	CHECK_INT(n, 0);
	store_rollback(tx);
	struct scene outsider = s;
	outsider.student = s.owner;
	tx = desk_begin(desk);
	l = look(desk, tx, &outsider, "c", false, &n);
	CHECK(n == 1 && !l.takes_part);
	store_rollback(tx);
}

static void each_last_word_may_be_missing(struct desk *desk)
{
	struct scene s = new_scene(desk);
	static const struct {
		const char *event, *key, *events, *answers;
	} rows[] = {{"one", NULL, "1", "0"}, {NULL, "two", "1", "1"},
	    {"three", "three", "2", "2"}, {NULL, NULL, "2", "2"}};

	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		char events[64], answers[64];
		struct store_tx *tx = desk_begin(desk);
		size_t n = 0;

		(void)look(desk, tx, &s,
		    rows[i].key == NULL ? "none" : rows[i].key, false, &n);
		CHECK(finish(desk, tx, &s, rows[i].event, rows[i].key).ok);
		snprintf(events, sizeof(events),
		    "event WHERE studio_id = %lld AND kind <> 'x'",
		    (long long)s.studio);
		snprintf(answers, sizeof(answers),
		    "kept_answer WHERE studio_id = %lld", (long long)s.studio);
		count(desk, events, rows[i].events);
		count(desk, answers, rows[i].answers);
	}
}

/* COMMIT is skipped behind what was refused: nothing of the transaction stays, and its link
 * serves the next. */
static void a_refusal_before_commit_undoes_all(struct desk *desk)
{
	struct store_config one = desk->config;
	struct scene s = new_scene(desk);
	struct end end;
	size_t n = 0;

	one.connections = 1;
	desk_reopen(desk, &one);
	for (int round = 0; round < 3; round++) {
		struct store_tx *tx = desk_begin(desk);

		(void)look(desk, tx, &s, "key", false, &n);
		end = finish(desk, tx, &s, "Not a kind", "key");
		CHECK(end.called && !end.ok);
		count(desk, "kept_answer WHERE key = 'key'", "0");
		tx = desk_begin(desk);
		(void)look(desk, tx, &s, "key", false, &n);
		end = finish(desk, tx, &s, NULL, NULL);
		CHECK(end.called && end.ok);
	}
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(a_workshop_is_looked_at_once),
	    T(each_last_word_may_be_missing),
	    T(a_refusal_before_commit_undoes_all),
	};

	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
