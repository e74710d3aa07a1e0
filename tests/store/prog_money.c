/* SPDX-License-Identifier: MIT */
/*
 * Money in the database: what is refused, by whom, and that the books are looked over.
 */
#include <stddef.h>
#include <string.h>

#include "alloc.h"
#include "scene.h"

struct books { /* a torn workshop and two members of it */
	struct scene s;
	int64_t plan, second;
};

static struct books open_books(struct desk *desk)
{
	struct books b = {.s = new_scene(desk)};
	b.second = new_member(desk, b.s.studio, "Ugo", ROLE_STUDENT);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r,
	    store_enrolment_add(
		tx, b.s.studio, b.s.workshop, b.second, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	b.plan = new_torn(desk, &b.s);
	return b;
}

static struct settlement_row settlement(
    const struct books *b, money invoice, money charged)
{
	return (struct settlement_row){.studio_id = b->s.studio,
	    .workshop_id = b->s.workshop,
	    .plan_id = b->plan,
	    .currency = "EUR",
	    .invoice_minor = invoice,
	    .charged_minor = charged,
	    .created_by = b->s.owner};
}

static struct entry_row entry(const struct books *b, int64_t member,
    enum entry_kind kind, money amount, int64_t settlement_id)
{
	return (struct entry_row){.studio_id = b->s.studio,
	    .workshop_id = b->s.workshop,
	    .member_id = member,
	    .kind = kind,
	    .amount_minor = amount,
	    .settlement_id = settlement_id,
	    .created_by = b->s.owner};
}

/* A settlement with two charges; false when it was refused, with the reason in err. */
static bool settle(struct desk *desk, const struct books *b, money invoice,
    money charged, money first, money second, struct err *err, int64_t *id)
{
	struct settlement_row row = settlement(b, invoice, charged);
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(row)}, c[2] = {0};
	bool ok = (store_settlement_add(tx, &row, desk_reply, &r),
	    desk_wait(desk, &r));
	struct err why = r.err;
	money amounts[2] = {first, second};
	int64_t members[2] = {b->s.student, b->second};
	if (ok && id)
		*id = ((struct settlement_row *)r.rows)->settlement_id;
	for (int i = 0; ok && i < 2; i++) {
		struct entry_row e =
		    entry(b, members[i], ENTRY_CHARGE, amounts[i],
			((struct settlement_row *)r.rows)->settlement_id);
		ok = (store_entry_add(tx, &e, desk_reply, &c[i]),
		    desk_wait(desk, &c[i]));
		why = c[i].err;
	}
	reply_free(&r);
	if (!ok) {
		store_rollback(tx);
		*err = why;
		return false;
	}
	return desk_commit(desk, tx, err);
}

static bool add(
    struct desk *desk, const struct entry_row *e, struct err *err, int64_t *id)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(struct entry_row)};
	store_entry_add(tx, e, desk_reply, &r);
	if (!desk_wait(desk, &r)) {
		*err = r.err;
		store_rollback(tx);
		return false;
	}
	if (id)
		*id = ((struct entry_row *)r.rows)->entry_id;
	reply_free(&r);
	return desk_commit(desk, tx, err);
}

static void charges_add_up_to_the_invoice_exactly(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	CHECK(!settle(desk, &b, 19200, 19200, 9600, 9599, &err, NULL));
	CHECK(strstr(err.text, "charges add up to 19199"));
	CHECK(!settle(desk, &b, 19200, 19199, 9600, 9599, &err, NULL));
	CHECK(err.kind == ERR_CONFLICT);
	CHECK(settle(desk, &b, 19200, 19200, 9600, 9600, &err, NULL));
	/* the rows of the refused ones are not there */
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {0}, e = {0};
	ASK(desk, r,
	    store_settlements(tx, b.s.studio, b.s.workshop, desk_reply, &r));
	CHECK_INT(r.n, 1);
	ASK(desk, e,
	    store_entries(tx, b.s.studio, b.s.workshop, 0, -1,
		(struct page){0, 10}, desk_reply, &e));
	CHECK_INT(e.n, 2);
	store_rollback(tx);
}

static void a_late_charge_is_refused(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	int64_t id = 0;
	CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, &id));
	struct entry_row late = entry(&b, b.second, ENTRY_CHARGE, 1, id);
	CHECK(!add(desk, &late, &err, NULL));
	CHECK(strstr(err.text, "charges add up to 1001"));
}

static void a_second_settlement_charges_the_difference(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, NULL));
	CHECK(!settle(desk, &b, 1100, 1100, 500, 600, &err, NULL));
	CHECK(err.kind == ERR_CONFLICT);
	CHECK(settle(desk, &b, 900, -100, -40, -60, &err, NULL)); /* a refund */
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {.size = sizeof(struct balance_row)};
	ASK(desk, r,
	    store_balances(tx, b.s.studio, b.s.workshop, 0, desk_reply, &r));
	struct balance_row *rows = (struct balance_row *)r.rows;
	CHECK_INT(r.n, 2);
	CHECK_INT(rows[0].charged_minor, 360);
	CHECK_INT(rows[1].charged_minor, 540);
	CHECK_INT(rows[0].paid_minor, 0);
	store_rollback(tx);
	reply_free(&r);
}

static void a_payment_is_reversed_once_and_exactly(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	int64_t id = 0;
	struct entry_row p = entry(&b, b.second, ENTRY_PAYMENT, 500, 0);
	p.method = "cash";
	p.paid_on = "2026-11-21";
	CHECK(add(desk, &p, &err, &id));
	struct entry_row r = entry(&b, b.second, ENTRY_REVERSAL, -499, 0);
	r.reverses_id = id;
	CHECK(!add(desk, &r, &err, NULL));
	CHECK(strstr(err.text, "negated entry"));
	r.amount_minor = -500;
	r.member_id = b.s.student;
	CHECK(!add(desk, &r, &err, NULL));
	r.member_id = b.second;
	int64_t reversal = 0;
	CHECK(add(desk, &r, &err, &reversal));
	CHECK(!add(desk, &r, &err, NULL));
	CHECK(strstr(err.text, "reversed already"));
	r.reverses_id = reversal;
	r.amount_minor = 500;
	CHECK(!add(desk, &r, &err, NULL)); /* a reversal of a reversal */
	struct store_tx *tx = desk_begin_read(desk);
	struct reply e = {.size = sizeof(struct entry_row)},
		     l = {.size = sizeof(struct balance_row)}, k = {0};
	ASK(desk, e, store_entry(tx, b.s.studio, id, desk_reply, &e));
	CHECK_INT(((struct entry_row *)e.rows)->reversed_by_id, reversal);
	ASK(desk, l,
	    store_balances(
		tx, b.s.studio, b.s.workshop, b.second, desk_reply, &l));
	CHECK_INT(((struct balance_row *)l.rows)->paid_minor, 0);
	ASK(desk, k,
	    store_entries(tx, b.s.studio, 0, b.second, ENTRY_PAYMENT,
		(struct page){0, 10}, desk_reply, &k));
	CHECK_INT(k.n, 1);
	store_rollback(tx);
	reply_free(&e);
	reply_free(&l);
}

static void entries_that_break_a_rule_are_refused(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	int64_t id = 0;
	CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, &id));
	struct entry_row rows[] = {
	    entry(&b, b.second, ENTRY_PAYMENT, 0, 0),
	    entry(&b, b.second, ENTRY_PAYMENT, -5, 0),
	    entry(&b, b.second, ENTRY_PAYMENT, INT64_C(1000000000000001), 0),
	    entry(&b, b.second, ENTRY_PAYMENT, 5, id),
	    entry(&b, b.second, ENTRY_CHARGE, 5, 0),
	    entry(&b, b.second, ENTRY_REVERSAL, -5, 0),
	    entry(&b, b.s.owner, ENTRY_PAYMENT, 5, 0), /* takes no part */
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		bool ok = add(desk, &rows[i], &err, NULL);
		if (ok)
			printf("row %zu went in\n", i);
		CHECK(!ok);
	}
	struct settlement_row s = settlement(&b, 2000, 1000);
	s.currency = "USD";
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_settlement_add(tx, &s, desk_reply, &r);
	CHECK(!desk_wait(desk, &r));
	CHECK(strstr(r.err.text, "one currency"));
	store_rollback(tx);
	struct books other = open_books(desk);
	struct entry_row cross =
	    entry(&other, other.second, ENTRY_CHARGE, 5, id);
	CHECK(!add(desk, &cross, &err, NULL)); /* another studio's settlement */
}

/* Both roles, with rows in the table: a row trigger would be silent on an empty one. */
static void what_is_only_added_to_cannot_be_changed(struct desk *desk)
{
	static const char *const tables[] = {
	    "ledger_entry", "settlement", "accepted_plan", "event"};
	static const struct {
		const char *before, *after;
	} forms[] = {
	    {"UPDATE", "SET studio_id = studio_id"},
	    {"DELETE FROM", ""},
	    {"TRUNCATE", "CASCADE"},
	};
	static const char *const roles[] = {
	    "tearshare_daemon", "tearshare_owner", "postgres"};
	struct books b = open_books(desk);
	struct err err;
	CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, NULL));
	struct event_row event = {.studio_id = b.s.studio, .kind = "tested"};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r, store_event_add(tx, &event, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	for (size_t t = 0; t < 4; t++) {
		char sql[200];
		snprintf(sql, sizeof(sql),
		    "SELECT count(*) > 0 FROM tearshare.%s", tables[t]);
		char *there = desk_sql(desk, "postgres", sql, NULL);
		CHECK_TEXT(there, "t");
		free(there);
		for (size_t f = 0; f < 3; f++)
			for (size_t o = 0; o < 3; o++) {
				char *why = NULL;
				snprintf(sql, sizeof(sql), "%s tearshare.%s %s",
				    forms[f].before, tables[t], forms[f].after);
				char *done =
				    desk_sql(desk, roles[o], sql, &why);
				bool said =
				    why && (strstr(why, "permission denied") ||
					       strstr(why, "are only added"));
				if (done || !said)
					printf("%s as %s: %s\n", sql, roles[o],
					    why ? why : "went through");
				CHECK(!done && said);
				CHECK(o == 0 ||
				      (why && strstr(why, "are only added")));
				free(done);
				free(why);
			}
	}
}

static void sixteen_settlements_at_once_are_one(struct desk *desk)
{
	enum { MANY = 16 };
	struct books b = open_books(desk);
	struct store_config config = desk->config, many = config;
	many.connections = MANY;
	desk_reopen(desk, &many);
	struct settlement_row row = settlement(&b, 1000, 1000);
	struct store_tx *tx[MANY];
	struct reply r[MANY] = {0};
	row.number = 1;
	for (int i = 0; i < MANY; i++)
		tx[i] = desk_begin(desk);
	for (int i = 0; i < MANY; i++) {
		r[i].size = sizeof(row);
		store_settlement_add(tx[i], &row, desk_reply, &r[i]);
	}
	/* each waits for the workshop's row: answers come one by one, as those before end */
	int won = 0, lost = 0;
	bool over[MANY] = {false};
	while (won + lost < MANY) {
		bool any = false;
		for (int i = 0; i < MANY; i++) {
			if (over[i] || !r[i].called)
				continue;
			over[i] = any = true;
			if (!r[i].ok) {
				CHECK_INT(r[i].err.kind, ERR_CONFLICT);
				store_rollback(tx[i]);
				lost++;
				continue;
			}
			struct reply c = {0};
			struct entry_row e =
			    entry(&b, b.second, ENTRY_CHARGE, 1000,
				((struct settlement_row *)r[i].rows)
				    ->settlement_id);
			ASK(desk, c,
			    store_entry_add(tx[i], &e, desk_reply, &c));
			CHECK(desk_commit(desk, tx[i], NULL));
			reply_free(&r[i]);
			won++;
		}
		if (!any)
			event_base_loop(desk->base, EVLOOP_ONCE);
	}
	CHECK_INT(won, 1);
	CHECK_INT(lost, MANY - 1);
	desk_reopen(desk, &config);
}

static size_t troubles(struct desk *desk, int64_t studio, const char *what)
{
	static const size_t strings[] = {
	    offsetof(struct trouble_row, what), NO_MORE};
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {
	    .size = sizeof(struct trouble_row), .strings = strings};
	ASK(desk, r, store_reconcile(tx, studio, desk_reply, &r));
	size_t named = 0;
	for (size_t i = 0; i < r.n; i++)
		named += strstr(((struct trouble_row *)r.rows)[i].what, what) !=
			 NULL;
	store_rollback(tx);
	reply_free(&r);
	return named;
}

/* Damage as only a superuser can do it, who switches the triggers off for the session. */
static void a_damaged_row_is_named(struct desk *desk)
{
	static const struct {
		const char *sql, *what;
	} rows[] = {
	    {"UPDATE tearshare.ledger_entry SET amount_minor = 401 WHERE kind "
	     "= "
	     "'charge' AND amount_minor = 400",
		"its entries add up to 1001"},
	    {"UPDATE tearshare.settlement SET invoice_minor = 5 WHERE true",
		"invoice is 5, charged was 1000"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = -7 WHERE kind = "
	     "'reversal'",
		"does not match it"},
	    {"DELETE FROM tearshare.settlement WHERE true",
		"has no settlement"},
	    {"DELETE FROM tearshare.enrolment WHERE true",
		"does not take part"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct books b = open_books(desk);
		struct err err;
		int64_t id = 0;
		char sql[400];
		CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, NULL));
		struct entry_row p = entry(&b, b.second, ENTRY_PAYMENT, 500, 0);
		CHECK(add(desk, &p, &err, &id));
		struct entry_row r =
		    entry(&b, b.second, ENTRY_REVERSAL, -500, 0);
		r.reverses_id = id;
		CHECK(add(desk, &r, &err, NULL));
		CHECK_INT(troubles(desk, b.s.studio, ""), 0);
		snprintf(sql, sizeof(sql),
		    "SET session_replication_role = replica; %s AND studio_id "
		    "= "
		    "%lld",
		    rows[i].sql, (long long)b.s.studio);
		free(desk_sql(desk, "postgres", sql, NULL));
		CHECK(troubles(desk, b.s.studio, rows[i].what) > 0);
		CHECK(troubles(desk, 0, rows[i].what) > 0);
	}
}

int main(int argc, char **argv)
{
	static const struct test tests[] = {
	    T(charges_add_up_to_the_invoice_exactly),
	    T(a_late_charge_is_refused),
	    T(a_second_settlement_charges_the_difference),
	    T(a_payment_is_reversed_once_and_exactly),
	    T(entries_that_break_a_rule_are_refused),
	    T(what_is_only_added_to_cannot_be_changed),
	    T(sixteen_settlements_at_once_are_one),
	    T(a_damaged_row_is_named),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
