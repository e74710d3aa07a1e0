/* SPDX-License-Identifier: MIT */
/*
 * Money in the database: what is refused, by whom, and that the books are looked over.
 */
#include <stddef.h>
#include <string.h>

#include "alloc.h"
#include "reconcile.h"
#include "invoice.h"
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

/* A booking with its legs, as they are given to the store. */
struct deed {
	struct booking_row booking;
	struct leg legs[3];
	size_t n;
};

static struct deed deed(
    const struct books *b, enum booking_kind kind, int64_t settlement_id)
{
	return (struct deed){.booking = {.studio_id = b->s.studio,
				 .kind = kind,
				 .workshop_id = b->s.workshop,
				 .currency = "EUR",
				 .settlement_id = settlement_id,
				 .reason = "because",
				 .created_by = b->s.owner}};
}

static void add_leg(
    struct deed *d, enum account_kind account, int64_t member_id, money amount)
{
	d->legs[d->n++] =
	    (struct leg){account, member_id, d->booking.workshop_id, amount};
}

static struct deed payment(const struct books *b, int64_t member, money amount)
{
	struct deed d = deed(b, BOOKING_PAYMENT, 0);
	add_leg(&d, ACCOUNT_PAYEE, 0, amount);
	add_leg(&d, ACCOUNT_MEMBER, member, -amount);
	return d;
}

/* One transaction; the first member's entry when it went in. */
static bool book(
    struct desk *desk, const struct deed *d, struct err *err, int64_t *id)
{
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(struct entry_row)};
	store_booking_add(tx, &d->booking, d->legs, d->n, desk_reply, &r);
	if (!desk_wait(desk, &r)) {
		*err = r.err;
		store_rollback(tx);
		return false;
	}
	if (id && r.n)
		*id = ((struct entry_row *)r.rows)->entry_id;
	reply_free(&r);
	return desk_commit(desk, tx, err);
}

static bool reverse(
    struct desk *desk, const struct books *b, int64_t booking, struct err *err)
{
	struct booking_row row = {.studio_id = b->s.studio,
	    .reverses_id = booking,
	    .reason = "wrong",
	    .created_by = b->s.owner};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_booking_reverse(tx, &row, desk_reply, &r);
	if (!desk_wait(desk, &r)) {
		*err = r.err;
		store_rollback(tx);
		return false;
	}
	return desk_commit(desk, tx, err);
}

/* The booking behind an entry. */
static int64_t booking_of(struct desk *desk, const struct books *b, int64_t id)
{
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {.size = sizeof(struct entry_row)};
	ASK(desk, r, store_entry(tx, b->s.studio, id, desk_reply, &r));
	int64_t booking = r.n ? ((struct entry_row *)r.rows)->booking_id : 0;
	store_rollback(tx);
	reply_free(&r);
	return booking;
}

/* A settlement of estimates with two shares, and what of them is charged now; false when it
 * was refused, with the reason in err. */
static bool settle(struct desk *desk, const struct books *b, money invoice,
    money charged, money first, money second, struct err *err, int64_t *id)
{
	struct settlement_row row = settlement(b, invoice, charged);
	int64_t members[2] = {b->s.student, b->second};
	struct share_given shares[2] = {
	    {members[0], first * invoice / (first + second), NULL},
	    {members[1], 0, "{\"of\":1}"}};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(row)}, c = {0};
	shares[1].share_minor = invoice - shares[0].share_minor;
	row.estimated_minor = invoice;
	bool ok = (store_settlement_add(tx, &row, shares, 2, desk_reply, &r),
	    desk_wait(desk, &r));
	struct err why = r.err;
	if (ok) {
		int64_t made = ((struct settlement_row *)r.rows)->settlement_id;
		struct deed d = deed(b, BOOKING_CHARGE, made);
		add_leg(&d, ACCOUNT_MEMBER, members[0], first);
		add_leg(&d, ACCOUNT_MEMBER, members[1], second);
		add_leg(&d, ACCOUNT_COST, 0, -first - second);
		if (id)
			*id = made;
		ok = (store_booking_add(
			  tx, &d.booking, d.legs, d.n, desk_reply, &c),
		    desk_wait(desk, &c));
		why = c.err;
	}
	reply_free(&r);
	if (!ok) {
		store_rollback(tx);
		*err = why;
		return false;
	}
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
	struct deed late = deed(&b, BOOKING_CHARGE, id);
	add_leg(&late, ACCOUNT_MEMBER, b.second, 1);
	add_leg(&late, ACCOUNT_COST, 0, -1);
	CHECK(!book(desk, &late, &err, NULL));
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
	struct deed p = payment(&b, b.second, 500);
	p.booking.method = "cash";
	p.booking.paid_on = "2026-11-21";
	CHECK(book(desk, &p, &err, &id));
	int64_t booking = booking_of(desk, &b, id);
	struct deed odd = payment(&b, b.second, 499);
	odd.booking.kind = BOOKING_REVERSAL; /* names no original */
	CHECK(!book(desk, &odd, &err, NULL));
	CHECK(reverse(desk, &b, booking, &err));
	CHECK(!reverse(desk, &b, booking, &err));
	CHECK(strstr(err.text, "reversed already"));
	struct store_tx *tx = desk_begin_read(desk);
	struct reply e = {.size = sizeof(struct entry_row)},
		     l = {.size = sizeof(struct balance_row)}, k = {0},
		     all = {.size = sizeof(struct entry_row)};
	ASK(desk, e, store_entry(tx, b.s.studio, id, desk_reply, &e));
	int64_t reversal = ((struct entry_row *)e.rows)->reversed_by_id;
	CHECK(reversal > id);
	ASK(desk, l,
	    store_balances(
		tx, b.s.studio, b.s.workshop, b.second, desk_reply, &l));
	CHECK_INT(((struct balance_row *)l.rows)->paid_minor, 0);
	ASK(desk, k,
	    store_entries(tx, b.s.studio, 0, b.second, BOOKING_PAYMENT,
		(struct page){0, 10}, desk_reply, &k));
	CHECK_INT(k.n, 1);
	ASK(desk, all,
	    store_entries(tx, b.s.studio, b.s.workshop, b.second, -1,
		(struct page){id, 10}, desk_reply, &all));
	CHECK_INT(all.n, 1);
	CHECK_INT(((struct entry_row *)all.rows)->amount_minor, -500);
	CHECK_INT(((struct entry_row *)all.rows)->reverses_id, id);
	store_rollback(tx);
	CHECK(!reverse(desk, &b, booking_of(desk, &b, reversal), &err));
	reply_free(&e);
	reply_free(&l);
	reply_free(&all);
}

static void a_line_of_the_bank_is_booked_once(struct desk *desk)
{
	struct books b = open_books(desk), other = open_books(desk);
	struct err err;
	int64_t id = 0, again = 0;
	char first[60];
	struct deed p = payment(&b, b.second, 500);
	p.booking.bank_reference = "2026-11-20/17";
	CHECK(book(desk, &p, &err, &id));
	CHECK(!book(desk, &p, &err, NULL));
	CHECK_INT(err.kind, ERR_CONFLICT);
	snprintf(first, sizeof(first), "as booking %lld",
	    (long long)booking_of(desk, &b, id));
	CHECK(strstr(err.text, first));
	struct deed theirs = payment(&other, other.second, 500);
	theirs.booking.bank_reference = p.booking.bank_reference;
	CHECK(book(desk, &theirs, &err, NULL)); /* another studio's bank */
	CHECK(reverse(desk, &b, booking_of(desk, &b, id), &err));
	p.legs[1].member_id = b.s.student; /* it was the other one's */
	CHECK(book(desk, &p, &err, &again));
	CHECK(!book(desk, &p, &err, NULL));
	struct store_tx *tx = desk_begin_read(desk);
	struct reply r = {.size = sizeof(struct entry_row)};
	ASK(desk, r,
	    store_bank_line(
		tx, b.s.studio, p.booking.bank_reference, desk_reply, &r));
	CHECK_INT(r.n, 1);
	CHECK_INT(((struct entry_row *)r.rows)->entry_id, again);
	store_rollback(tx);
	reply_free(&r);
}

static void bookings_that_break_a_rule_are_refused(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	int64_t id = 0;
	CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, &id));
	struct deed rows[12];
	size_t n = 0;
	rows[n++] = payment(&b, b.second, 0);
	rows[n++] = payment(&b, b.second, -5);
	rows[n++] = payment(&b, b.second, INT64_C(1000000000000001));
	rows[n++] = payment(&b, b.s.owner, 5); /* takes no part */
	rows[n] = payment(&b, b.second, 5);    /* of a settlement */
	rows[n++].booking.settlement_id = id;
	rows[n] = payment(&b, b.second, 5); /* a charge of none */
	rows[n++].booking.kind = BOOKING_CHARGE;
	rows[n] = payment(&b, b.second, 5); /* does not balance */
	rows[n++].legs[0].amount_minor = 6;
	rows[n] = payment(&b, b.second, 5); /* one leg */
	rows[n++].n = 1;
	rows[n] = payment(&b, b.second, 5); /* against the wrong account */
	rows[n++].legs[0].account = ACCOUNT_COST;
	rows[n] = payment(&b, b.second, 5); /* a payment is no refund */
	rows[n++].booking.kind = BOOKING_REFUND;
	rows[n] = payment(&b, b.second, 5); /* a reason is missing */
	rows[n].booking.kind = BOOKING_WRITE_OFF;
	rows[n].legs[0].account = ACCOUNT_WRITE_OFF;
	rows[n++].booking.reason = " ";
	for (size_t i = 0; i < n; i++) {
		bool ok = book(desk, &rows[i], &err, NULL);
		if (ok)
			printf("row %zu went in\n", i);
		CHECK(!ok);
	}
	struct settlement_row s = settlement(&b, 2000, 1000);
	s.currency = "USD";
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_settlement_add(tx, &s, NULL, 0, desk_reply, &r);
	CHECK(!desk_wait(desk, &r));
	CHECK(strstr(r.err.text, "one currency"));
	store_rollback(tx);
	struct books other = open_books(desk);
	struct deed cross = deed(&other, BOOKING_CHARGE, id);
	add_leg(&cross, ACCOUNT_MEMBER, other.second, 5);
	add_leg(&cross, ACCOUNT_COST, 0, -5);
	CHECK(
	    !book(desk, &cross, &err, NULL)); /* another studio's settlement */
}

/* A leg for a booking that is over, and two that balance. */
static void legs_come_with_their_booking(struct desk *desk)
{
	struct books b = open_books(desk);
	struct err err;
	int64_t id = 0;
	struct deed p = payment(&b, b.second, 500);
	CHECK(book(desk, &p, &err, &id));
	char sql[500];
	snprintf(sql, sizeof(sql),
	    "INSERT INTO tearshare.ledger_entry (studio_id, booking_id, "
	    "account_id, account_kind, workshop_id, currency, amount_minor) "
	    "SELECT studio_id, booking_id, account_id, account_kind, "
	    "workshop_id, 'EUR', x FROM tearshare.ledger_entry, "
	    "unnest(ARRAY[5, -5]) x WHERE account_kind = 'payee' AND "
	    "studio_id = %lld",
	    (long long)b.s.studio);
	static const char *const roles[] = {
	    "tearshare_daemon", "tearshare_owner", "postgres"};
	for (size_t i = 0; i < 3; i++) {
		char *why = NULL, *done = desk_sql(desk, roles[i], sql, &why);
		CHECK(!done && why && strstr(why, "no more can be added"));
		free(done);
		free(why);
	}
}

/* An invoice of two lines, booked, and a settlement made of it. */
static void put_invoice(struct desk *desk, const struct books *b, money total)
{
	struct invoice_row row = {.studio_id = b->s.studio,
	    .workshop_id = b->s.workshop,
	    .number = "R \"17\" \\ 3",
	    .currency = "EUR",
	    .total_minor = total,
	    .n_lines = 2,
	    .created_by = b->s.owner};
	struct invoice_line_row lines[2] = {
	    {.kind = LINE_ROLLS,
		.paper_id = b->s.paper,
		.count = 1,
		.unit_minor = total - 100,
		.amount_minor = total - 100,
		.tax_rate_ppm = -1},
	    {.kind = LINE_SHIPPING,
		.description = "by post",
		.amount_minor = 100,
		.tax_rate_ppm = -1},
	};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {.size = sizeof(row)}, k = {0}, s = {0};
	char ids[40];
	ASK(desk, r, store_invoice_add(tx, &row, lines, desk_reply, &r));
	int64_t id = ((struct invoice_row *)r.rows)->invoice_id;
	struct deed d = deed(b, BOOKING_INVOICE, 0);
	d.booking.invoice_id = id;
	add_leg(&d, ACCOUNT_COST, 0, total);
	add_leg(&d, ACCOUNT_SUPPLIER, 0, -total);
	ASK(desk, k,
	    store_booking_add(tx, &d.booking, d.legs, d.n, desk_reply, &k));
	struct settlement_row settled =
	    settlement(b, 1000, 0); /* all of it was charged before */
	struct share_given shares[2] = {
	    {b->s.student, 400, NULL}, {b->second, 600, NULL}};
	snprintf(ids, sizeof(ids), "[%lld]", (long long)id);
	settled.invoices = ids;
	settled.estimated_minor = 1000 - total;
	ASK(desk, s,
	    store_settlement_add(tx, &settled, shares, 2, desk_reply, &s));
	CHECK(desk_commit(desk, tx, NULL));
	reply_free(&r);
}

/* Both roles, with rows in the table: a row trigger would be silent on an empty one. */
static void what_is_only_added_to_cannot_be_changed(struct desk *desk)
{
	static const char *const tables[] = {"ledger_entry", "booking",
	    "account", "settlement", "share", "settlement_invoice", "invoice",
	    "invoice_line", "accepted_plan", "event"};
	enum { TABLES = sizeof(tables) / sizeof(tables[0]) };
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
	put_invoice(desk, &b, 700);
	struct event_row event = {.studio_id = b.s.studio, .kind = "tested"};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r, store_event_add(tx, &event, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
	for (size_t t = 0; t < TABLES; t++) {
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
	struct share_given share = {b.second, 1000, NULL};
	row.number = 1;
	row.estimated_minor = 1000;
	for (int i = 0; i < MANY; i++)
		tx[i] = desk_begin(desk);
	for (int i = 0; i < MANY; i++) {
		r[i].size = sizeof(row);
		store_settlement_add(tx[i], &row, &share, 1, desk_reply, &r[i]);
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
			struct deed d = deed(&b, BOOKING_CHARGE,
			    ((struct settlement_row *)r[i].rows)
				->settlement_id);
			add_leg(&d, ACCOUNT_MEMBER, b.second, 1000);
			add_leg(&d, ACCOUNT_COST, 0, -1000);
			ASK(desk, c,
			    store_booking_add(tx[i], &d.booking, d.legs, d.n,
				desk_reply, &c));
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

/* Roll-ends, by the owner's hand. */
static void put_on_shelf(
    struct desk *desk, const struct books *b, int64_t count, money price)
{
	struct stock_row end = {.studio_id = b->s.studio,
	    .paper_id = b->s.paper,
	    .kind = STOCK_ROLL_END,
	    .name = "end",
	    .width_u = 45 * INCH,
	    .length_u = 72 * INCH,
	    .price_minor = price,
	    .available = count,
	    .moved_by = b->s.owner};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	ASK(desk, r, store_stock_add(tx, &end, desk_reply, &r));
	CHECK(desk_commit(desk, tx, NULL));
}

static void what_lies_on_the_shelf_is_booked(struct desk *desk)
{
	struct books b = open_books(desk);
	char sql[200];
	put_on_shelf(desk, &b, 2, 30);
	snprintf(sql, sizeof(sql),
	    "SELECT string_agg(account_kind || amount_minor, ' ' ORDER BY "
	    "account_kind) FROM tearshare.ledger_entry WHERE studio_id = %lld",
	    (long long)b.s.studio);
	char *legs = desk_sql(desk, "postgres", sql, NULL);
	CHECK_TEXT(legs, "capital-60 shelf60");
	free(legs);
	struct stock_row nobody = {.studio_id = b.s.studio,
	    .paper_id = b.s.paper,
	    .kind = STOCK_OFFCUT,
	    .name = "offcut",
	    .width_u = INCH,
	    .length_u = INCH,
	    .price_minor = 1,
	    .available = 1};
	struct store_tx *tx = desk_begin(desk);
	struct reply r = {0};
	store_stock_add(tx, &nobody, desk_reply, &r);
	CHECK(!desk_wait(desk, &r)); /* by nobody */
	store_rollback(tx);
}

/* Damage as only a superuser can do it, who switches the triggers off for the session. */
static void a_damaged_row_is_named(struct desk *desk)
{
	static const struct {
		const char *sql, *what;
	} rows[] = {
	    {"UPDATE tearshare.ledger_entry SET amount_minor = 401 WHERE "
	     "amount_minor = 400",
		"does not balance: 1 EUR"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = 401 WHERE "
	     "amount_minor = 400",
		"its entries add up to 1001"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = 401 WHERE "
	     "amount_minor = 400",
		"the share is 400, charged was 401"},
	    {"DELETE FROM tearshare.ledger_entry WHERE amount_minor = 600",
		"has 2 legs and says 3"},
	    {"DELETE FROM tearshare.booking WHERE kind = 'payment'",
		"has no booking"},
	    {"UPDATE tearshare.ledger_entry SET account_kind = 'supplier' "
	     "WHERE account_kind = 'payee'",
		"is not a supplier account"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = -amount_minor "
	     "WHERE amount_minor IN (-500, 500)",
		"is not more than zero"},
	    {"UPDATE tearshare.settlement SET invoice_minor = 5 WHERE true",
		"5 is to be shared, charged was 1000"},
	    {"UPDATE tearshare.share SET share_minor = 399 WHERE share_minor "
	     "= 400",
		"add up to 999, 1000 is to be shared"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = -7 WHERE "
	     "amount_minor = -500",
		"does not match it"},
	    {"DELETE FROM tearshare.settlement WHERE true",
		"has no settlement"},
	    {"DELETE FROM tearshare.enrolment WHERE true",
		"does not take part"},
	    {"UPDATE tearshare.invoice_line SET amount_minor = 99 WHERE "
	     "amount_minor = 100",
		"add up to 699, it says 2 lines and 700"},
	    {"DELETE FROM tearshare.invoice_line WHERE line = 2",
		"the 1 lines of invoice"},
	    {"DELETE FROM tearshare.settlement_invoice WHERE true",
		"its invoices and estimates are 1000, they are 300"},
	    {"UPDATE tearshare.ledger_entry SET amount_minor = -701 WHERE "
	     "account_kind = 'supplier'",
		"the invoices add up to 700, the ledger has 701"},
	    {"UPDATE tearshare.stock SET price_minor = 31 WHERE kind = "
	     "'roll-end'",
		"is worth 62 "},
	    {"UPDATE tearshare.workshop SET state = 'settled' WHERE state = "
	     "'torn'; UPDATE tearshare.ledger_entry SET amount_minor = 699 "
	     "WHERE account_kind = 'cost' AND amount_minor = 700",
		"of the costs of the workshop"},
	};
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		struct books b = open_books(desk);
		struct err err;
		int64_t id = 0;
		char sql[400];
		CHECK(settle(desk, &b, 1000, 1000, 400, 600, &err, NULL));
		put_invoice(desk, &b, 700);
		struct deed p = payment(&b, b.second, 500);
		CHECK(book(desk, &p, &err, &id));
		CHECK(reverse(desk, &b, booking_of(desk, &b, id), &err));
		put_on_shelf(desk, &b, 2, 30);
		CHECK_INT(troubles(desk, b.s.studio, ""), 0);
		snprintf(sql, sizeof(sql),
		    "SET session_replication_role = replica; %s AND studio_id "
		    "= "
		    "%lld",
		    rows[i].sql, (long long)b.s.studio);
		free(desk_sql(desk, "postgres", sql, NULL));
		if (troubles(desk, b.s.studio, rows[i].what) == 0)
			printf("row %zu: not named: %s\n", i, rows[i].what);
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
	    T(a_line_of_the_bank_is_booked_once),
	    T(bookings_that_break_a_rule_are_refused),
	    T(legs_come_with_their_booking),
	    T(what_is_only_added_to_cannot_be_changed),
	    T(sixteen_settlements_at_once_are_one),
	    T(what_lies_on_the_shelf_is_booked),
	    T(a_damaged_row_is_named),
	};
	return desk_run(tests, sizeof(tests) / sizeof(tests[0]), argc, argv);
}
