/* SPDX-License-Identifier: MIT */
/*
 * Questions about people, papers, workshops, requests and the journal, asked of a real
 * PostgreSQL.
 */
#include <stddef.h>
#include <string.h>

#include "privacy.h"
#include "scene.h"

/* ---- people ---- */

static void a_studio_is_changed_by_version(struct desk *desk)
{
	static const size_t strings[] = {offsetof(struct studio, name),
	    offsetof(struct studio, currency),
	    offsetof(struct studio, time_zone),
	    offsetof(struct studio, language), NO_MORE};
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
	studio.language = "de";
	studio.rules = "no children at the blades";
	studio.label_grid = "";
	studio.payee_name = "";
	studio.payee_account = "";
	studio.locale = "en";
	studio.both_measures = true;
	struct reply c = {.size = sizeof(struct studio), .strings = strings};
	ASK(desk, c, store_studio_change(tx, &studio, desk_reply, &c));
	CHECK_INT(c.n, 1);
	CHECK_TEXT(((struct studio *)c.rows)->currency, "EUR");
	CHECK_INT(((struct studio *)c.rows)->measure, MEASURE_CM);
	CHECK_TEXT(((struct studio *)c.rows)->language, "de");
	CHECK(((struct studio *)c.rows)->both_measures);
	CHECK_INT(((struct studio *)c.rows)->version, studio.version + 1);
	struct reply stale = {.size = sizeof(struct studio)};
	ASK(desk, stale, store_studio_change(tx, &studio, desk_reply, &stale));
	CHECK_INT(stale.n, 0);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&r);
	reply_free(&c);
}

static bool refused(struct desk *desk, struct store_tx *tx, struct reply *r,
    enum err_kind kind, const char *text)
{
	bool ok = desk_wait(desk, r);
	bool right = !ok && r->err.kind == kind && strstr(r->err.text, text);
	if (!right)
		printf("%s: got %s (kind %d) \"%s\"\n", running,
		    ok ? "an answer" : "a refusal", (int)r->err.kind,
		    r->err.text);
	store_rollback(tx);
	return right;
}

static void a_studio_refuses_what_is_none(struct desk *desk)
{
	static const struct {
		const char *name, *currency, *zone;
		int64_t stages;
		const char *text;
	} rows[] = {
	    {"   ", "EUR", "UTC", 3, "name is empty"},
	    {"a\nb", "EUR", "UTC", 3, "control characters"},
	    {"ok", "eur", "UTC", 3, "ISO 4217"},
	    {"ok", "EUR", "Mars/Olympus", 3, "time zone is not known"},
	    {"ok", "EUR", "'; DROP", 3, "time zone is not known"},
	    {"ok", "EUR", "UTC", 4, "stages are 2 or 3"},
	};
	int64_t id = new_studio(desk);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct studio s = {.studio_id = id,
		    .name = rows[i].name,
		    .currency = rows[i].currency,
		    .time_zone = rows[i].zone,
		    .ruler_u = 508,
		    .stages = rows[i].stages,
		    .language = "en",
		    .locale = "en",
		    .count_max = 10,
		    .version = 1};
		struct store_tx *tx = desk_begin(desk);
		struct reply r = {0};
		store_studio_change(tx, &s, desk_reply, &r);
		CHECK(refused(desk, tx, &r, ERR_INPUT, rows[i].text));
	}
}

static void members_come_in_pages(struct desk *desk)
{
	int64_t studio = new_studio(desk);
	for (int i = 0; i < 4; i++)
		new_member(desk, studio, "M", ROLE_STUDENT);
	struct store_tx *tx = desk_begin_read(desk);
	struct page page = {0, 3};
	int64_t last = 0, seen = 0;
	for (int i = 0; i < 3; i++) {
		struct reply r = {.size = sizeof(struct member)};
		ASK(desk, r, store_members(tx, studio, page, desk_reply, &r));
		for (size_t m = 0; m < r.n; m++) {
			struct member *row = &((struct member *)r.rows)[m];
			CHECK(row->member_id > last);
			CHECK_INT(row->studio_id, studio);
			last = row->member_id;
			seen++;
		}
		page.after = last;
		reply_free(&r);
	}
	CHECK_INT(seen, 5);
	store_rollback(tx);
}

static void the_last_owner_cannot_go(struct desk *desk)
{
	int64_t studio = new_studio(desk); /* has one owner */
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(struct member)};
	ASK(desk, r,
	    store_members(tx, studio, (struct page){0, 10}, desk_reply, &r));
	struct member owner = ((struct member *)r.rows)[0];
	owner.name = "Owner";
	owner.contact = "";
	owner.active = false;
	struct reply no = {0};
	store_member_change(tx, &owner, desk_reply, &no);
	CHECK(refused(desk, tx, &no, ERR_CONFLICT, "last active owner"));
	owner.active = true;
	owner.roles = ROLE_STUDENT;
	tx = desk_begin(desk);
	struct reply also = {0};
	store_member_change(tx, &owner, desk_reply, &also);
	CHECK(refused(desk, tx, &also, ERR_CONFLICT, "last active owner"));
	new_member(desk, studio, "Second", ROLE_OWNER);
	tx = desk_begin(desk);
	struct reply yes = {0};
	ASK(desk, yes, store_member_change(tx, &owner, desk_reply, &yes));
	CHECK_INT(yes.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&r);
}

static size_t callers_by_key(
    struct desk *desk, const unsigned char hash[32], struct caller *caller)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(struct caller)};
	ASK(desk, r, store_caller_by_key(tx, hash, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	size_t n = r.n;
	if (n > 0 && caller)
		*caller = *(struct caller *)r.rows;
	reply_free(&r);
	return n;
}

static void a_key_signs_in_until_it_is_revoked(struct desk *desk)
{
	struct scene s = new_scene(desk);
	unsigned char hash[32], other[32];
	struct caller caller;
	struct key key = {
	    .studio_id = s.studio, .member_id = s.student, .name = "phone"};
	secret(hash, 1);
	secret(other, 2);
	struct store_tx *tx = desk_begin(desk);
	struct reply a = {.size = sizeof(struct key)},
		     l = {.size = sizeof(struct key)}, v = {0}, w = {0};
	ASK(desk, a, store_key_add(tx, &key, hash, desk_reply, &a));
	CHECK(desk_commit(desk, tx, NULL));
	int64_t id = ((struct key *)a.rows)->key_id;
	CHECK_INT(callers_by_key(desk, hash, &caller), 1);
	CHECK_INT(caller.member_id, s.student);
	CHECK_INT(caller.studio_id, s.studio);
	CHECK_INT(caller.key_id, id);
	CHECK_INT(caller.session_id, 0);
	CHECK_INT(caller.studio.studio_id, s.studio);
	CHECK_INT(caller.studio.count_max, 100);
	CHECK_INT(callers_by_key(desk, other, NULL), 0);
	tx = desk_begin(desk);
	ASK(desk, l,
	    store_keys(
		tx, s.studio, s.student, (struct page){0, 10}, desk_reply, &l));
	CHECK_INT(l.n, 1);
	CHECK(((struct key *)l.rows)->last_used_at != NULL);
	ASK(desk, v, store_key_revoke(tx, s.studio, id, desk_reply, &v));
	CHECK_INT(v.n, 1);
	ASK(desk, w, store_key_revoke(tx, s.studio, id, desk_reply, &w));
	CHECK_INT(w.n, 0);
	CHECK(desk_commit(desk, tx, NULL));
	CHECK_INT(callers_by_key(desk, hash, NULL), 0);
	reply_free(&a);
	reply_free(&l);
}

static void an_expired_key_signs_nobody_in(struct desk *desk)
{
	struct scene s = new_scene(desk);
	unsigned char hash[32];
	secret(hash, 3);
	struct key key = {.studio_id = s.studio,
	    .member_id = s.student,
	    .name = "",
	    .expires_at = "2001-01-01T00:00:00Z"};
	struct store_tx *tx = desk_begin(desk);
	struct reply a = {0};
	ASK(desk, a, store_key_add(tx, &key, hash, desk_reply, &a));
	CHECK(desk_commit(desk, tx, NULL));
	CHECK_INT(callers_by_key(desk, hash, NULL), 0);
}

static void who_turns_inactive_loses_keys_and_sessions(struct desk *desk)
{
	struct scene s = new_scene(desk);
	unsigned char hash[32], session[32];
	secret(hash, 4);
	secret(session, 5);
	struct key key = {.studio_id = s.studio, .member_id = s.student};
	struct store_tx *tx = desk_begin(desk);
	struct reply a = {0}, b = {0}, c = {0}, d = {0},
		     t = {.size = sizeof(struct caller)};
	ASK(desk, a, store_key_add(tx, &key, hash, desk_reply, &a));
	ASK(desk, b,
	    store_session_add(tx, s.studio, s.student, session, "a\tbrowser",
		desk_reply, &b));
	CHECK(desk_commit(desk, tx, NULL));
	tx = desk_begin(desk);
	ASK(desk, t, store_caller_by_session(tx, session, desk_reply, &t));
	CHECK_INT(t.n, 1);
	struct member m = {.studio_id = s.studio,
	    .member_id = s.student,
	    .name = "Sefa",
	    .roles = ROLE_STUDENT,
	    .active = false,
	    .version = 1};
	ASK(desk, c, store_member_change(tx, &m, desk_reply, &c));
	m.active = true;
	m.version = 2;
	ASK(desk, d, store_member_change(tx, &m, desk_reply, &d));
	CHECK_INT(d.n, 1);
	CHECK(desk_commit(desk, tx, NULL));
	CHECK_INT(callers_by_key(desk, hash, NULL), 0);
	tx = desk_begin(desk);
	struct reply u = {0};
	ASK(desk, u, store_caller_by_session(tx, session, desk_reply, &u));
	CHECK_INT(u.n, 0);
	store_rollback(tx);
	reply_free(&t);
}

/* The database's clock is moved by moving what it compares with. */
static void sessions_end_by_age_and_role(struct desk *desk)
{
	static const struct {
		const char *name;
		int64_t roles;
		const char *seen, *created;
		int64_t n;
	} rows[] = {
	    {"a student idle 29 days", ROLE_STUDENT, "29 days", "29 days", 1},
	    {"a student idle 31 days", ROLE_STUDENT, "31 days", "31 days", 0},
	    {"a student after 181 days", ROLE_STUDENT, "1 hour", "181 days", 0},
	    {"a treasurer idle 23 hours", ROLE_TREASURER, "23 hours",
		"23 hours", 1},
	    {"a treasurer idle 25 hours", ROLE_TREASURER, "25 hours",
		"25 hours", 0},
	    {"an instructor after 31 days", ROLE_INSTRUCTOR | ROLE_STUDENT,
		"1 hour", "31 days", 0},
	};
	int64_t studio = new_studio(desk);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		unsigned char hash[32];
		char sql[300];
		secret(hash, 100 + (int)i);
		int64_t member = new_member(desk, studio, "M", rows[i].roles);
		struct store_tx *tx = desk_begin(desk);
		struct reply a = {.size = sizeof(struct session)}, b = {0};
		ASK(desk, a,
		    store_session_add(
			tx, studio, member, hash, "", desk_reply, &a));
		CHECK(desk_commit(desk, tx, NULL));
		snprintf(sql, sizeof(sql),
		    "UPDATE tearshare.session SET last_seen_at = now() - "
		    "interval '%s', created_at = now() - interval '%s' WHERE "
		    "session_id = %lld",
		    rows[i].seen, rows[i].created,
		    (long long)((struct session *)a.rows)->session_id);
		free(desk_sql(desk, "postgres", sql, NULL));
		tx = desk_begin(desk);
		ASK(desk, b, store_caller_by_session(tx, hash, desk_reply, &b));
		if ((int64_t)b.n != rows[i].n)
			printf("%s\n", rows[i].name);
		CHECK_INT(b.n, rows[i].n);
		store_rollback(tx);
		reply_free(&a);
	}
}

static void sessions_end_one_by_one_and_all_others(struct desk *desk)
{
	struct scene s = new_scene(desk);
	int64_t ids[3];
	struct store_tx *tx = desk_begin(desk);
	for (int i = 0; i < 3; i++) {
		unsigned char hash[32];
		secret(hash, 200 + i);
		struct reply a = {.size = sizeof(struct session)};
		ASK(desk, a,
		    store_session_add(
			tx, s.studio, s.student, hash, "b", desk_reply, &a));
		ids[i] = ((struct session *)a.rows)->session_id;
		reply_free(&a);
	}
	struct reply e = {0}, o = {0}, l = {.size = sizeof(struct session)};
	ASK(desk, e, store_session_end(tx, s.studio, ids[0], desk_reply, &e));
	CHECK_INT(e.n, 1);
	ASK(desk, o,
	    store_sessions_end_others(
		tx, s.studio, s.student, ids[2], desk_reply, &o));
	CHECK_INT(o.n, 1);
	ASK(desk, l,
	    store_sessions(
		tx, s.studio, s.student, (struct page){0, 10}, desk_reply, &l));
	CHECK_INT(l.n, 1);
	CHECK_INT(((struct session *)l.rows)->session_id, ids[2]);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&l);
}

static void an_invitation_is_found_by_link_and_code_and_used_up(
    struct desk *desk)
{
	struct scene s = new_scene(desk);
	unsigned char hash[32], code[32], other[32];
	secret(hash, 300);
	secret(code, 301);
	secret(other, 302);
	struct invitation i = {
	    .studio_id = s.studio, .workshop_id = s.workshop, .uses_max = 1};
	static const size_t strings[] = {
	    offsetof(struct invitation, expires_at), NO_MORE};
	struct store_tx *tx = desk_begin(desk);
	struct reply a = {.size = sizeof(struct invitation),
			 .strings = strings},
		     b = {.size = sizeof(struct invitation)}, c = b, d = b,
		     e = b, f = {0}, g = {0}, h = {0};
	ASK(desk, a, store_invitation_add(tx, &i, hash, code, desk_reply, &a));
	CHECK_TEXT(
	    ((struct invitation *)a.rows)->expires_at, "2999-01-02T03:04:05Z");
	int64_t id = ((struct invitation *)a.rows)->invitation_id;
	ASK(desk, b, store_invitation_by_code(tx, hash, desk_reply, &b));
	CHECK(b.n == 1 && ((struct invitation *)b.rows)->good);
	ASK(desk, c, store_invitation_by_code(tx, code, desk_reply, &c));
	CHECK(c.n == 1 && ((struct invitation *)c.rows)->invitation_id == id);
	ASK(desk, g, store_invitation_by_code(tx, other, desk_reply, &g));
	CHECK_INT(g.n, 0);
	ASK(desk, d, store_invitation_use(tx, s.studio, id, desk_reply, &d));
	CHECK(d.n == 1 && !((struct invitation *)d.rows)->good);
	CHECK(desk_commit(desk, tx, NULL));
	tx = desk_begin(desk);
	store_invitation_use(tx, s.studio, id, desk_reply, &f);
	CHECK(refused(desk, tx, &f, ERR_CONFLICT, "used up"));
	tx = desk_begin(desk);
	ASK(desk, h, store_invitation_revoke(tx, s.studio, id, desk_reply, &h));
	CHECK_INT(h.n, 1);
	ASK(desk, e,
	    store_invitations(tx, s.studio, s.workshop, (struct page){0, 10},
		desk_reply, &e));
	CHECK_INT(e.n, 1);
	store_rollback(tx);
	reply_free(&a);
	reply_free(&b);
	reply_free(&c);
	reply_free(&d);
	reply_free(&e);
}

/* ---- shelf ---- */

static void stock_is_taken_once_and_given_back(struct desk *desk)
{
	struct scene s = new_scene(desk);
	enter(desk, &s, WORKSHOP_OPEN, WORKSHOP_CLOSED, 0);
	int64_t plan = new_plan(desk, &s);
	struct stock_row end = {.studio_id = s.studio,
	    .paper_id = s.paper,
	    .kind = STOCK_ROLL_END,
	    .name = "end",
	    .width_u = 45 * INCH,
	    .length_u = 2 * YARD,
	    .available = 2,
	    .spoiled = "[[320, 640]]"};
	struct stock_row fresh = end;
	fresh.kind = STOCK_FRESH;
	fresh.name = "roll";
	fresh.available = -1;
	fresh.price_minor = 19200;
	static const size_t strings[] = {
	    offsetof(struct stock_row, spoiled), NO_MORE};
	struct store_tx *tx = desk_begin(desk);
	struct reply a = {.size = sizeof(struct stock_row), .strings = strings},
		     b = {.size = sizeof(struct stock_row)}, c = {0}, d = b,
		     e = b, f = b, g = b, h = {0};
	ASK(desk, a, store_stock_add(tx, &end, desk_reply, &a));
	ASK(desk, b, store_stock_add(tx, &fresh, desk_reply, &b));
	struct stock_row *row = (struct stock_row *)a.rows;
	CHECK_TEXT(row->spoiled, "[[320, 640]]");
	CHECK_INT(row->kind, STOCK_ROLL_END);
	CHECK_INT(((struct stock_row *)b.rows)->available, -1);
	ASK(desk, c,
	    store_stock_take(
		tx, s.studio, row->stock_id, 3, plan, s.owner, desk_reply, &c));
	CHECK_INT(c.n, 0);
	ASK(desk, d,
	    store_stock_take(
		tx, s.studio, row->stock_id, 2, plan, s.owner, desk_reply, &d));
	CHECK(d.n == 1 && ((struct stock_row *)d.rows)->available == 0);
	ASK(desk, e, store_stock_usable(tx, s.studio, s.paper, desk_reply, &e));
	CHECK(e.n == 1 && ((struct stock_row *)e.rows)->kind == STOCK_FRESH);
	ASK(desk, f,
	    store_stock_give_back(tx, s.studio, plan, s.owner, desk_reply, &f));
	CHECK(f.n == 1 && ((struct stock_row *)f.rows)->available == 2);
	ASK(desk, h,
	    store_stock_give_back(tx, s.studio, plan, s.owner, desk_reply, &h));
	CHECK_INT(h.n, 0);
	ASK(desk, g,
	    store_stocks(
		tx, s.studio, 0, (struct page){0, 10}, desk_reply, &g));
	CHECK_INT(g.n, 2);
	CHECK(desk_commit(desk, tx, NULL));
	end.stock_id = row->stock_id;
	end.version = 3;
	end.available = -1;
	struct reply no = {0};
	tx = desk_begin(desk);
	store_stock_change(tx, &end, desk_reply, &no);
	CHECK(refused(desk, tx, &no, ERR_INPUT, "are counted"));
	reply_free(&a);
	reply_free(&b);
	reply_free(&d);
	reply_free(&e);
	reply_free(&f);
	reply_free(&g);
}

static void two_papers_have_two_names(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct paper_row paper = {.studio_id = s.studio,
	    .name = "cold",
	    .weight_gsm = 300,
	    .finish = "rough"};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0}, q = {0}, c = {0};
	store_paper_add(tx, &paper, desk_reply, &r);
	CHECK(refused(desk, tx, &r, ERR_CONFLICT, "of this name"));
	paper.name = "other";
	paper.finish = "shiny";
	tx = desk_begin(desk);
	store_paper_add(tx, &paper, desk_reply, &q);
	CHECK(
	    refused(desk, tx, &q, ERR_INPUT, "hot press, cold press or rough"));
	paper.finish = "rough";
	paper.paper_id = s.paper;
	paper.version = 1;
	tx = desk_begin(desk);
	ASK(desk, c, store_paper_change(tx, &paper, desk_reply, &c));
	CHECK_INT(c.n, 1);
	struct reply all = {0}, one = {0};
	ASK(desk, all,
	    store_papers(
		tx, s.studio, (struct page){0, 100}, desk_reply, &all));
	CHECK_INT(all.n, 2);
	ASK(desk, one, store_paper(tx, s.studio, s.paper, desk_reply, &one));
	CHECK_INT(one.n, 1);
	store_rollback(tx);
}

/* ---- workshops ---- */

static void every_state_follows_the_table(struct desk *desk)
{
	/* the drawing in workshop.h */
	static const bool may[5][5] = {
	    [WORKSHOP_OPEN] = {[WORKSHOP_CLOSED] = true},
	    [WORKSHOP_CLOSED] =
		{[WORKSHOP_OPEN] = true, [WORKSHOP_PLANNED] = true},
	    [WORKSHOP_PLANNED] = {[WORKSHOP_OPEN] = true,
		[WORKSHOP_CLOSED] = true,
		[WORKSHOP_TORN] = true},
	    [WORKSHOP_TORN] = {[WORKSHOP_SETTLED] = true},
	};
	static const char *const names[] = {
	    "open", "closed", "planned", "torn", "settled"};
	struct scene s = new_scene(desk);
	int64_t plan = new_torn(desk, &s);
	for (int from = 0; from < 5; from++)
		for (int to = 0; to < 5; to++) {
			char sql[300];
			if (from == to)
				continue;
			/* put it there behind the trigger's back */
			snprintf(sql, sizeof(sql),
			    "SET session_replication_role = replica; UPDATE "
			    "tearshare.workshop SET state = '%s', "
			    "accepted_plan_id = %s WHERE workshop_id = %lld",
			    names[from],
			    from >= WORKSHOP_PLANNED
				? "(SELECT max(plan_id) FROM "
				  "tearshare.accepted_plan)"
				: "NULL",
			    (long long)s.workshop);
			free(desk_sql(desk, "postgres", sql, NULL));
			struct store_tx *tx = desk_begin(desk);
			struct reply r = {0};
			store_workshop_enter(tx, s.studio, s.workshop,
			    (enum workshop_state)from, (enum workshop_state)to,
			    to == WORKSHOP_PLANNED ? plan : 0, desk_reply, &r);
			bool ok = desk_wait(desk, &r);
			if (ok != may[from][to])
				printf("%s -> %s: %s\n", names[from], names[to],
				    r.err.text);
			CHECK(ok == may[from][to]);
			CHECK(ok || r.err.kind == ERR_CONFLICT);
			store_rollback(tx);
		}
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_workshop_enter(tx, s.studio, s.workshop, WORKSHOP_OPEN,
		WORKSHOP_CLOSED, 0, desk_reply, &r));
	CHECK_INT(r.n, 0); /* it is not in that state */
	store_rollback(tx);
}

static void a_workshop_shows_its_papers_and_closing(struct desk *desk)
{
	static const size_t strings[] = {
	    offsetof(struct workshop_row, closes_at),
	    offsetof(struct workshop_row, closes_local),
	    offsetof(struct workshop_row, starts_on),
	    offsetof(struct workshop_row, flat_on),
	    offsetof(struct workshop_row, papers), NO_MORE};
	struct scene s = new_scene(desk);
	char want[64];
	free(desk_sql(desk, "postgres",
	    "UPDATE tearshare.studio SET time_zone = 'Asia/Kolkata'", NULL));
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {
	    .size = sizeof(struct workshop_row), .strings = strings};
	ASK(desk, r,
	    store_workshop_lock(
		tx, s.studio, s.workshop, false, desk_reply, &r));
	struct workshop_row *w = (struct workshop_row *)r.rows;
	CHECK_TEXT(w->closes_at, "2999-01-02T03:04:05Z");
	CHECK_TEXT(w->closes_local,
	    "Wed 2999-01-02 08:34"); /* five and a half hours later */
	CHECK_TEXT(w->starts_on, "2999-01-10");
	CHECK_TEXT(w->flat_on, NULL);
	CHECK(w->takes_requests);
	snprintf(want, sizeof(want), "[%lld]", (long long)s.paper);
	CHECK_TEXT(w->papers, want);
	struct workshop_row change = *w;
	snprintf(want, sizeof(want), "[%lld, %lld]", (long long)s.paper,
	    (long long)s.other_paper);
	change.name = "Autumn";
	change.flat_on = "2999-01-09";
	change.closes_at = "2001-01-01T00:00:00Z";
	change.papers = want;
	struct reply c = {
	    .size = sizeof(struct workshop_row), .strings = strings};
	ASK(desk, c, store_workshop_change(tx, &change, desk_reply, &c));
	w = (struct workshop_row *)c.rows;
	CHECK_TEXT(w->papers, want);
	CHECK_TEXT(w->flat_on, "2999-01-09");
	CHECK(!w->takes_requests); /* open, but past its closing */
	struct reply l = {.size = sizeof(struct workshop_row)}, none = {0},
		     mine = {0};
	ASK(desk, l,
	    store_workshops(
		tx, s.studio, 0, (struct page){0, 10}, desk_reply, &l));
	CHECK_INT(l.n, 1);
	ASK(desk, mine,
	    store_workshops(tx, s.studio, s.student, (struct page){0, 10},
		desk_reply, &mine));
	CHECK_INT(mine.n, 1);
	ASK(desk, none,
	    store_workshops(tx, s.studio, s.owner, (struct page){0, 10},
		desk_reply, &none));
	CHECK_INT(none.n, 0);
	store_rollback(tx);
	reply_free(&r);
	reply_free(&c);
	reply_free(&l);
}

static void a_request_is_asked_changed_and_withdrawn(struct desk *desk)
{
	static const size_t strings[] = {
	    offsetof(struct request_row, member_name),
	    offsetof(struct request_row, paper_name),
	    offsetof(struct request_row, across_text), NO_MORE};
	struct scene s = new_scene(desk);
	int64_t id = new_request(desk, &s, 3);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {
	    .size = sizeof(struct request_row), .strings = strings};
	ASK(desk, r, store_request(tx, s.studio, id, desk_reply, &r));
	struct request_row *row = (struct request_row *)r.rows;
	CHECK_TEXT(row->member_name, "Sefa");
	CHECK_TEXT(row->paper_name, "cold");
	CHECK_TEXT(row->across_text, "12 in");
	CHECK_INT(row->torn_along_u, 16 * INCH + INCH / 2);
	struct request_row change = sample_request(&s, 5);
	change.request_id = id;
	change.version = row->version;
	struct reply c = {.size = sizeof(struct request_row)}, stale = {0},
		     o = {.size = sizeof(struct spoken_row)};
	ASK(desk, c, store_request_change(tx, &change, desk_reply, &c));
	CHECK(c.n == 1 && ((struct request_row *)c.rows)->count == 5);
	ASK(desk, stale, store_request_change(tx, &change, desk_reply, &stale));
	CHECK_INT(stale.n, 0);
	ASK(desk, o,
	    store_spoken_for(tx, s.studio, s.workshop, desk_reply, &o));
	struct spoken_row *spoken = (struct spoken_row *)o.rows;
	CHECK_INT(o.n, 1);
	CHECK_INT(spoken->members, 1);
	CHECK_INT(spoken->sheets, 5);
	CHECK_INT(spoken->area_uu,
	    5 * (12 * INCH + INCH / 2) * (16 * INCH + INCH / 2));
	struct reply w = {0}, l = {0}, again = {0}, all = {0};
	ASK(desk, w,
	    store_request_withdraw(tx, s.studio, id, 2, desk_reply, &w));
	CHECK_INT(w.n, 1);
	ASK(desk, again,
	    store_request_withdraw(tx, s.studio, id, 3, desk_reply, &again));
	CHECK_INT(again.n, 0);
	ASK(desk, l,
	    store_requests(tx, s.studio, s.workshop, 0, (struct page){0, 10},
		desk_reply, &l));
	CHECK_INT(l.n, 0);
	ASK(desk, all,
	    store_requests_all(tx, s.studio, s.workshop, desk_reply, &all));
	CHECK_INT(all.n, 0);
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&r);
	reply_free(&c);
	reply_free(&o);
}

static void a_request_that_breaks_a_rule_is_refused(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct request_row rows[8];
	static const char *const texts[] = {"1 to 10000 sheets",
	    "1 to 10000 sheets", "more than 0", "more than 0",
	    "smaller than picture", "does not take part",
	    "belong to the workshop", "control characters"};
	static const enum err_kind kinds[] = {ERR_INPUT, ERR_INPUT, ERR_INPUT,
	    ERR_INPUT, ERR_INPUT, ERR_CONFLICT, ERR_CONFLICT, ERR_INPUT};
	for (int i = 0; i < 8; i++)
		rows[i] = sample_request(&s, 1);
	rows[0].count = 0;
	rows[1].count = 10001;
	rows[2].across_u = 0;
	rows[3].torn_along_u = LENGTH_MAX + 1;
	rows[4].torn_across_u = 12 * INCH;
	rows[5].member_id = s.owner;
	rows[6].paper_id = s.other_paper;
	rows[7].note = "two\nlines";
	for (int i = 0; i < 8; i++) {
		struct store_tx *tx = desk_begin(desk);
		struct reply r = {0};
		store_request_add(tx, &rows[i], desk_reply, &r);
		CHECK(refused(desk, tx, &r, kinds[i], texts[i]));
	}
	int64_t id = new_request(desk, &s, 1);
	enter(desk, &s, WORKSHOP_OPEN, WORKSHOP_CLOSED, 0);
	struct request_row late = sample_request(&s, 1);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0}, w = {0};
	store_request_add(tx, &late, desk_reply, &r);
	CHECK(refused(desk, tx, &r, ERR_CONFLICT, "workshop is closed"));
	tx = desk_begin(desk);
	store_request_withdraw(tx, s.studio, id, 1, desk_reply, &w);
	CHECK(refused(desk, tx, &w, ERR_CONFLICT, "workshop is closed"));
}

static void nobody_joins_twice(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct store_tx *tx = desk_begin(desk);
	struct reply again = {.size = sizeof(bool)}, yes = {0}, no = {0},
		     l = {.size = sizeof(struct member)};
	ASK(desk, again,
	    store_enrolment_add(
		tx, s.studio, s.workshop, s.student, desk_reply, &again));
	CHECK(again.n == 1 && !*(bool *)again.rows);
	ASK(desk, yes,
	    store_is_enrolled(
		tx, s.studio, s.workshop, s.student, desk_reply, &yes));
	CHECK_INT(yes.n, 1);
	ASK(desk, no,
	    store_is_enrolled(
		tx, s.studio, s.workshop, s.owner, desk_reply, &no));
	CHECK_INT(no.n, 0);
	ASK(desk, l,
	    store_enrolled(tx, s.studio, s.workshop, (struct page){0, 10},
		desk_reply, &l));
	CHECK(l.n == 1 && ((struct member *)l.rows)->member_id == s.student);
	store_rollback(tx);
	reply_free(&again);
	reply_free(&l);
}

/* ---- between studios ---- */

static void no_row_points_into_another_studio(struct desk *desk)
{
	struct scene a = new_scene(desk), b = new_scene(desk);
	unsigned char hash[32];
	secret(hash, 400);
	struct reply r[10] = {0};
	struct store_tx *tx;
#define CROSS(i, kind, call)                                                   \
	do {                                                                   \
		tx = desk_begin(desk);                                         \
		call;                                                          \
		CHECK(refused(desk, tx, &r[i], kind, ""));                     \
	} while (0)
	struct key key = {.studio_id = a.studio, .member_id = b.student};
	CROSS(0, ERR_MISSING, store_key_add(tx, &key, hash, desk_reply, &r[0]));
	CROSS(1, ERR_MISSING,
	    store_session_add(
		tx, a.studio, b.student, hash, "", desk_reply, &r[1]));
	struct stock_row stock = {.studio_id = a.studio,
	    .paper_id = b.paper,
	    .kind = STOCK_FRESH,
	    .name = "x",
	    .width_u = INCH,
	    .length_u = INCH,
	    .available = -1};
	CROSS(2, ERR_MISSING, store_stock_add(tx, &stock, desk_reply, &r[2]));
	CROSS(3, ERR_MISSING,
	    store_enrolment_add(
		tx, a.studio, a.workshop, b.student, desk_reply, &r[3]));
	CROSS(4, ERR_MISSING,
	    store_enrolment_add(
		tx, a.studio, b.workshop, a.student, desk_reply, &r[4]));
	struct request_row request = sample_request(&a, 1);
	request.paper_id = b.paper;
	CROSS(5, ERR_CONFLICT,
	    store_request_add(tx, &request, desk_reply, &r[5]));
	CROSS(6, ERR_MISSING,
	    store_plan_add(
		tx, a.studio, b.workshop, a.owner, desk_reply, &r[6]));
	struct event_row event = {.studio_id = a.studio,
	    .workshop_id = b.workshop,
	    .kind = "crossing"};
	CROSS(7, ERR_MISSING, store_event_add(tx, &event, desk_reply, &r[7]));
	char papers[32];
	snprintf(papers, sizeof(papers), "[%lld]", (long long)b.paper);
	struct workshop_row w = {.studio_id = a.studio,
	    .name = "x",
	    .closes_at = "2999-01-01T00:00:00Z",
	    .starts_on = "2999-01-01",
	    .days = 1,
	    .stages = 3,
	    .papers = papers};
	CROSS(8, ERR_MISSING, store_workshop_add(tx, &w, desk_reply, &r[8]));
	/* and nothing of another studio is read or changed */
	struct reply n[6] = {0};
	tx = desk_begin(desk);
	ASK(desk, n[0],
	    store_member(tx, a.studio, b.student, desk_reply, &n[0]));
	ASK(desk, n[1],
	    store_workshop(tx, a.studio, b.workshop, desk_reply, &n[1]));
	ASK(desk, n[2], store_paper(tx, a.studio, b.paper, desk_reply, &n[2]));
	ASK(desk, n[3],
	    store_workshop_enter(tx, a.studio, b.workshop, WORKSHOP_OPEN,
		WORKSHOP_CLOSED, 0, desk_reply, &n[3]));
	ASK(desk, n[4],
	    store_requests(tx, a.studio, b.workshop, 0, (struct page){0, 10},
		desk_reply, &n[4]));
	ASK(desk, n[5],
	    store_members(tx, b.studio, (struct page){INT64_C(1) << 40, 10},
		desk_reply, &n[5]));
	for (int i = 0; i < 6; i++)
		CHECK_INT(n[i].n, 0);
	store_rollback(tx);
}

/* ---- journal ---- */

static void an_event_is_there_exactly_when_its_change_is(struct desk *desk)
{
	struct scene s = new_scene(desk);
	struct event_row event = {.studio_id = s.studio,
	    .workshop_id = s.workshop,
	    .member_id = s.student,
	    .by_member = s.owner,
	    .kind = "member-joined",
	    .details = "{\"a\": 1}"};
	static const size_t strings[] = {offsetof(struct event_row, kind),
	    offsetof(struct event_row, details), NO_MORE};
	for (int i = 0; i < 2; i++) {
		struct store_tx *tx = desk_begin(desk);
		struct reply a = {.size = sizeof(int64_t)},
			     l = {.size = sizeof(struct event_row),
				 .strings = strings};
		ASK(desk, a, store_event_add(tx, &event, desk_reply, &a));
		CHECK(a.n == 1 && *(int64_t *)a.rows > 0);
		if (i == 0) {
			store_rollback(tx);
		} else {
			CHECK(desk_commit(desk, tx, NULL));
		}
		tx = desk_begin_read(desk);
		ASK(desk, l,
		    store_events(tx, s.studio, s.workshop, (struct page){0, 10},
			desk_reply, &l));
		CHECK_INT(l.n, i);
		if (l.n == 1) {
			CHECK_TEXT(((struct event_row *)l.rows)->kind,
			    "member-joined");
			CHECK_TEXT(((struct event_row *)l.rows)->details,
			    "{\"a\": 1}");
		}
		store_rollback(tx);
		reply_free(&a);
		reply_free(&l);
	}
}

static struct kept_answer claim(struct desk *desk, struct store_tx *tx,
    int64_t studio, const char *key, int print)
{
	unsigned char fingerprint[32];
	secret(fingerprint, print);
	struct reply r = {.size = sizeof(struct kept_answer)};
	ASK(desk, r,
	    store_answer_claim(
		tx, studio, "key:1", key, fingerprint, desk_reply, &r));
	CHECK_INT(r.n, 1);
	struct kept_answer answer = *(struct kept_answer *)r.rows;
	reply_free(&r);
	return answer;
}

static void a_key_is_claimed_kept_and_answered_again(struct desk *desk)
{
	struct scene s = new_scene(desk), other = new_scene(desk);
	struct store_tx *tx = desk_begin(desk);
	struct kept_answer a = claim(desk, tx, s.studio, "k", 1);
	CHECK(a.is_new && !a.is_running && !a.is_other);
	struct store_tx *second = desk_begin(desk);
	a = claim(desk, second, s.studio, "k", 1);
	CHECK(!a.is_new && a.is_running);
	a = claim(desk, second, other.studio, "k", 1);
	CHECK(a.is_new);
	store_rollback(second);
	struct reply k = {0};
	ASK(desk, k,
	    store_answer_keep(tx, s.studio, "key:1", "k", 201,
		"{\"etag\": \"1\"}", "a\0b", 3, desk_reply, &k));
	CHECK(desk_commit(desk, tx, NULL));
	tx = desk_begin(desk);
	a = claim(desk, tx, s.studio, "k", 1);
	CHECK(!a.is_new && !a.is_running && !a.is_other);
	CHECK_INT(a.status, 201);
	CHECK_INT(a.body_len, 3);
	a = claim(desk, tx, s.studio, "k", 2);
	CHECK(a.is_other && !a.is_new);
	store_rollback(tx);
	tx = desk_begin(desk);
	a = claim(desk, tx, s.studio, "gone", 1);
	store_rollback(tx);
	tx = desk_begin(desk);
	a = claim(desk, tx, s.studio, "gone", 7);
	CHECK(a.is_new); /* went with its rollback */
	store_rollback(tx);
}

static void what_is_past_its_time_is_swept(struct desk *desk)
{
	struct scene s = new_scene(desk);
	unsigned char hash[32], code[32];
	struct reply r[4] = {{.size = sizeof(struct swept_row)}, {0}, {0}, {0}};
	struct store_tx *tx = desk_begin(desk);
	claim(desk, tx, s.studio, "old", 1);
	ASK(desk, r[1],
	    store_answer_keep(tx, s.studio, "key:1", "old", 200, NULL, "", 0,
		desk_reply, &r[1]));
	secret(hash, 500);
	secret(code, 501);
	ASK(desk, r[2],
	    store_session_add(
		tx, s.studio, s.student, hash, "", desk_reply, &r[2]));
	struct invitation i = {
	    .studio_id = s.studio, .workshop_id = s.workshop, .uses_max = 1};
	ASK(desk, r[3],
	    store_invitation_add(tx, &i, hash, code, desk_reply, &r[3]));
	CHECK(desk_commit(desk, tx, NULL));
	free(desk_sql(desk, "postgres",
	    "UPDATE tearshare.kept_answer SET created_at = now() - interval '8 "
	    "days' WHERE key = 'old'; "
	    "UPDATE tearshare.session SET ended_at = now() - interval '31 "
	    "days' WHERE hash = "
	    "'\\xf4010000000000000000000000000000000000000000000000000000000000"
	    "00'; "
	    "UPDATE tearshare.invitation SET expires_at = now() - interval '31 "
	    "days' WHERE hash = "
	    "'\\xf4010000000000000000000000000000000000000000000000000000000000"
	    "00'",
	    NULL));
	tx = desk_begin(desk);
	ASK(desk, r[0], store_sweep(tx, desk_reply, &r[0]));
	const struct swept_row *swept = (const struct swept_row *)r[0].rows;
	CHECK(swept->answers >= 1 && swept->sessions >= 1 &&
	      swept->invitations >= 1);
	CHECK_INT(swept->members, 0);
	CHECK(desk_commit(desk, tx, NULL));
	tx = desk_begin(desk);
	CHECK(claim(desk, tx, s.studio, "old", 1).is_new);
	store_rollback(tx);
	reply_free(&r[0]);
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(a_studio_is_changed_by_version),
	    T(a_studio_refuses_what_is_none),
	    T(members_come_in_pages),
	    T(the_last_owner_cannot_go),
	    T(a_key_signs_in_until_it_is_revoked),
	    T(an_expired_key_signs_nobody_in),
	    T(who_turns_inactive_loses_keys_and_sessions),
	    T(sessions_end_by_age_and_role),
	    T(sessions_end_one_by_one_and_all_others),
	    T(an_invitation_is_found_by_link_and_code_and_used_up),
	    T(stock_is_taken_once_and_given_back),
	    T(two_papers_have_two_names),
	    T(every_state_follows_the_table),
	    T(a_workshop_shows_its_papers_and_closing),
	    T(a_request_is_asked_changed_and_withdrawn),
	    T(a_request_that_breaks_a_rule_is_refused),
	    T(nobody_joins_twice),
	    T(no_row_points_into_another_studio),
	    T(an_event_is_there_exactly_when_its_change_is),
	    T(a_key_is_claimed_kept_and_answered_again),
	    T(what_is_past_its_time_is_swept),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
