/* SPDX-License-Identifier: MIT */
/*
 * ledger.c - questions about money.
 *
 * Nothing here computes a share: that is daemon/share.  The sums below only add what was
 * written, for a balance.  A booking and its legs go out as one message, the legs as JSON
 * of whole numbers, so that charging a thousand members is one statement.
 *
 * A list of entries is asked for by workshop, by member or by both; each has a question of
 * its own, since "or everything" in one question would hide the index from the planner.
 */
#include "ledger.h"

#include <inttypes.h>
#include <stddef.h>

#include "question.h"
#include "text.h"

#define LEGS_TEXT_MAX (8 * 1024 * 1024)

/* ---- settlements ---- */

/* clang-format off */
static const struct column settlement_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct settlement_row, studio_id), NULL, 0},
	{"settlement_id", COLUMN_INT, offsetof(struct settlement_row, settlement_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct settlement_row, workshop_id), NULL, 0},
	{"plan_id", COLUMN_INT, offsetof(struct settlement_row, plan_id), NULL, 0},
	{"number", COLUMN_INT, offsetof(struct settlement_row, number), NULL, 0},
	{"currency", COLUMN_TEXT, offsetof(struct settlement_row, currency), NULL, 0},
	{"invoice_minor", COLUMN_INT, offsetof(struct settlement_row, invoice_minor), NULL, 0},
	{"charged_minor", COLUMN_INT, offsetof(struct settlement_row, charged_minor), NULL, 0},
	{"estimated_minor", COLUMN_INT, offsetof(struct settlement_row, estimated_minor), NULL, 0},
	{"used_minor", COLUMN_INT, offsetof(struct settlement_row, used_minor), NULL, 0},
	{"kept_minor", COLUMN_INT, offsetof(struct settlement_row, kept_minor), NULL, 0},
	{"parts", COLUMN_TEXT, offsetof(struct settlement_row, parts), NULL, 0},
	{"policy", COLUMN_TEXT, offsetof(struct settlement_row, policy), NULL, 0},
	{"derivation", COLUMN_TEXT, offsetof(struct settlement_row, derivation), NULL, 0},
	{"invoices", COLUMN_TEXT, offsetof(struct settlement_row, invoices), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct settlement_row, created_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct settlement_row, created_by), NULL, 0},
};
/* clang-format on */
static const struct shape settlement_shape =
    SHAPE(struct settlement_row, settlement_columns);

/* Number 0: the next one. */
static const struct question settlement_add = {
    "WITH s AS (INSERT INTO settlement (studio_id, workshop_id, plan_id, "
    "number, currency, invoice_minor, charged_minor, estimated_minor, "
    "used_minor, kept_minor, parts, policy, derivation, created_by) VALUES "
    "($1, $2, $3, coalesce($4::integer, (SELECT coalesce(max(number), 0) + 1 "
    "FROM settlement WHERE studio_id = $1 AND workshop_id = $2)), $5, $6, $7, "
    "$8, $9, $10, $11, $12, $13, $14) RETURNING *), made_of AS (INSERT INTO "
    "settlement_invoice (studio_id, settlement_id, invoice_id) SELECT "
    "s.studio_id, s.settlement_id, i::bigint FROM s, "
    "json_array_elements_text($15::json) i), shared AS (INSERT INTO share "
    "(studio_id, settlement_id, member_id, share_minor, derivation) SELECT "
    "s.studio_id, s.settlement_id, g.member_id, g.share_minor, g.derivation "
    "FROM s, json_to_recordset($16::json) AS g (member_id bigint, share_minor "
    "bigint, derivation json)) SELECT s.*, $15::json AS invoices FROM s",
    &settlement_shape, true};

static void shares_text(
    struct text *out, const struct share_given *shares, size_t n)
{
	text_add(out, "[");
	for (size_t i = 0; i < n; i++)
		text_addf(out,
		    "%s{\"member_id\":%" PRId64 ",\"share_minor\":%" PRId64
		    ",\"derivation\":%s}",
		    i ? "," : "", shares[i].member_id, shares[i].share_minor,
		    shares[i].derivation ? shares[i].derivation : "{}");
	text_add(out, "]");
}

void store_settlement_add(struct store_tx *tx,
    const struct settlement_row *settlement, const struct share_given *shares,
    size_t n_shares, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	struct text list;
	text_init(&list, LEGS_TEXT_MAX);
	shares_text(&list, shares, n_shares);
	give_int(&given, settlement->studio_id);
	give_int(&given, settlement->workshop_id);
	give_int(&given, settlement->plan_id);
	give_int_or_null(&given, settlement->number);
	give_text(&given, settlement->currency);
	give_int(&given, settlement->invoice_minor);
	give_int(&given, settlement->charged_minor);
	give_int(&given, settlement->estimated_minor);
	give_int(&given, settlement->used_minor);
	give_int(&given, settlement->kept_minor);
	give_text(&given, settlement->parts ? settlement->parts : "[]");
	give_text(&given, settlement->policy ? settlement->policy : "{}");
	give_text(
	    &given, settlement->derivation ? settlement->derivation : "[]");
	give_int(&given, settlement->created_by);
	give_text(&given, settlement->invoices ? settlement->invoices : "[]");
	give_text(&given, list.data);
	tx_ask(tx, &settlement_add, &given, fn, ctx);
	text_free(&list);
}

static const struct question settlements_all = {
    "SELECT s.*, coalesce((SELECT json_agg(u.invoice_id ORDER BY u.invoice_id) "
    "FROM settlement_invoice u WHERE u.studio_id = s.studio_id AND "
    "u.settlement_id = s.settlement_id), '[]') AS invoices FROM settlement s "
    "WHERE s.studio_id = $1 AND s.workshop_id = $2 ORDER BY s.number",
    &settlement_shape, false};

void store_settlements(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, &settlements_all, &given, fn, ctx);
}

/* clang-format off */
static const struct column share_columns[] = {
	{"member_id", COLUMN_INT, offsetof(struct share_given, member_id), NULL, 0},
	{"share_minor", COLUMN_INT, offsetof(struct share_given, share_minor), NULL, 0},
	{"derivation", COLUMN_TEXT, offsetof(struct share_given, derivation), NULL, 0},
};
/* clang-format on */
static const struct shape share_shape =
    SHAPE(struct share_given, share_columns);

static const struct question shares_all = {
    "SELECT * FROM share WHERE studio_id = $1 AND settlement_id = $2 ORDER BY "
    "member_id",
    &share_shape, false};

void store_shares(struct store_tx *tx, int64_t studio_id, int64_t settlement_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, settlement_id);
	tx_ask(tx, &shares_all, &given, fn, ctx);
}

/* ---- entries ---- */

static const char *const account_kinds[] = {"member", "payee", "supplier",
    "cost", "shelf", "write-off", "capital", NULL};
static const char *const booking_kinds[] = {"charge", "adjustment", "payment",
    "refund", "reversal", "correction", "write-off", "transfer", "carry",
    "invoice", "stock-in", "stock-out", NULL};

const char *account_kind_name(int64_t kind)
{
	return kind >= 0 && kind <= ACCOUNT_CAPITAL ? account_kinds[kind]
						    : NULL;
}

const char *booking_kind_name(int64_t kind)
{
	return kind >= 0 && kind <= BOOKING_STOCK_OUT ? booking_kinds[kind]
						      : NULL;
}

/* clang-format off */
static const struct column entry_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct entry_row, studio_id), NULL, 0},
	{"entry_id", COLUMN_INT, offsetof(struct entry_row, entry_id), NULL, 0},
	{"booking_id", COLUMN_INT, offsetof(struct entry_row, booking_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct entry_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct entry_row, member_id), NULL, 0},
	{"kind", COLUMN_WORD, offsetof(struct entry_row, kind), booking_kinds, 0},
	{"amount_minor", COLUMN_INT, offsetof(struct entry_row, amount_minor), NULL, 0},
	{"settlement_id", COLUMN_INT, offsetof(struct entry_row, settlement_id), NULL, 0},
	{"reverses_id", COLUMN_INT, offsetof(struct entry_row, reverses_id), NULL, 0},
	{"reversed_by_id", COLUMN_INT, offsetof(struct entry_row, reversed_by_id), NULL, 0},
	{"payer_id", COLUMN_INT, offsetof(struct entry_row, payer_id), NULL, 0},
	{"account_member_id", COLUMN_INT, offsetof(struct entry_row, account_member_id), NULL, 0},
	{"payee_id", COLUMN_INT, offsetof(struct entry_row, payee_id), NULL, 0},
	{"currency", COLUMN_TEXT, offsetof(struct entry_row, currency), NULL, 0},
	{"method", COLUMN_TEXT, offsetof(struct entry_row, method), NULL, 0},
	{"reference", COLUMN_TEXT, offsetof(struct entry_row, reference), NULL, 0},
	{"reason", COLUMN_TEXT, offsetof(struct entry_row, reason), NULL, 0},
	{"bank_reference", COLUMN_TEXT, offsetof(struct entry_row, bank_reference), NULL, 0},
	{"paid_on", COLUMN_TEXT, offsetof(struct entry_row, paid_on), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct entry_row, created_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct entry_row, created_by), NULL, 0},
	{"key_id", COLUMN_INT, offsetof(struct entry_row, key_id), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct entry_row, member_name), NULL, 0},
	{"payer_name", COLUMN_TEXT, offsetof(struct entry_row, payer_name), NULL, 0},
};
/* clang-format on */
static const struct shape entry_shape = SHAPE(struct entry_row, entry_columns);

/* Of entries e and their bookings b; what was added in the same statement is seen in its own
 * rows only. */
#define ENTRY_COLUMNS_AMONG(entries)                                           \
	"e.studio_id, e.entry_id, e.booking_id, e.workshop_id, e.member_id, "  \
	"b.kind, CASE WHEN b.settlement_id IS NULL THEN -e.amount_minor ELSE " \
	"e.amount_minor END AS amount_minor, e.currency, b.settlement_id, "    \
	"(SELECT o.entry_id FROM ledger_entry o WHERE o.studio_id = "          \
	"e.studio_id AND o.booking_id = b.reverses_id AND o.member_id = "      \
	"e.member_id AND o.workshop_id = e.workshop_id AND o.amount_minor = "  \
	"-e.amount_minor LIMIT 1) AS reverses_id, (SELECT o.entry_id FROM "    \
	"booking r JOIN ledger_entry o ON o.studio_id = r.studio_id AND "      \
	"o.booking_id = r.booking_id WHERE r.studio_id = b.studio_id AND "     \
	"r.reverses_id = b.booking_id AND o.member_id = e.member_id AND "      \
	"o.workshop_id = e.workshop_id AND o.amount_minor = -e.amount_minor "  \
	"LIMIT 1) AS reversed_by_id, b.payer_id, a.member_id AS "              \
	"account_member_id, (SELECT pa.member_id FROM " entries " pe JOIN "    \
	"account pa ON pa.studio_id = pe.studio_id AND pa.account_id = "       \
	"pe.account_id WHERE pe.studio_id = e.studio_id AND pe.booking_id = "  \
	"e.booking_id AND pe.account_kind = 'payee' LIMIT 1) AS payee_id, "    \
	"b.method, b.reference, b.reason, b.bank_reference, b.paid_on, "       \
	"b.created_at, b.created_by, b.key_id, m.name AS member_name, p.name " \
	"AS payer_name"
#define ENTRY_COLUMNS ENTRY_COLUMNS_AMONG("ledger_entry")
#define ENTRY_NAMES                                                            \
	" JOIN account a ON a.studio_id = e.studio_id AND a.account_id = "     \
	"e.account_id JOIN member m ON m.studio_id = e.studio_id AND "         \
	"m.member_id = e.member_id LEFT JOIN member p ON p.studio_id = "       \
	"b.studio_id AND p.member_id = b.payer_id "
#define ENTRY_JOIN                                                             \
	" FROM ledger_entry e JOIN booking b ON b.studio_id = e.studio_id "    \
	"AND b.booking_id = e.booking_id" ENTRY_NAMES

/* ---- bookings ---- */

/* Members' accounts are looked up one by one, the studio's few together: a join over both
 * would compare every leg with every account. */
static const struct question booking_add = {
    "WITH b AS (INSERT INTO booking (studio_id, kind, workshop_id, "
    "settlement_id, invoice_id, plan_id, stock_id, payer_id, method, "
    "reference, bank_reference, reason, paid_on, legs, created_by, key_id) "
    "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, "
    "$15, $16) RETURNING *), g AS (SELECT * FROM json_to_recordset($18::json) "
    "AS l (n integer, account text, member_id bigint, workshop_id bigint, "
    "amount_minor bigint)), legs AS (SELECT g.n, a.account_id, a.kind, "
    "g.workshop_id, g.member_id, g.amount_minor FROM g JOIN member m ON "
    "m.studio_id = $1 AND m.member_id = g.member_id JOIN account a ON "
    "a.studio_id = $1 AND a.kind = 'member' AND a.member_id = "
    "coalesce(m.payer_id, m.member_id) WHERE g.account = 'member' UNION ALL "
    "SELECT g.n, a.account_id, a.kind, g.workshop_id, NULL, g.amount_minor "
    "FROM g JOIN account a ON a.studio_id = $1 AND a.kind = g.account AND "
    "a.member_id IS NOT DISTINCT FROM g.member_id WHERE g.account <> "
    "'member'), e AS (INSERT INTO ledger_entry (studio_id, booking_id, "
    "account_id, account_kind, workshop_id, member_id, currency, "
    "amount_minor) SELECT b.studio_id, b.booking_id, l.account_id, l.kind, "
    "l.workshop_id, l.member_id, $17, l.amount_minor FROM b CROSS JOIN legs l "
    "ORDER BY l.n RETURNING *) SELECT " ENTRY_COLUMNS_AMONG(
	"e") " FROM e CROSS JOIN b" ENTRY_NAMES "ORDER BY e.entry_id",
    &entry_shape, true};

static void legs_text(struct text *out, const struct leg *legs, size_t n)
{
	text_add(out, "[");
	for (size_t i = 0; i < n; i++) {
		text_addf(out,
		    "%s{\"n\":%zu,\"account\":\"%s\",\"amount_minor\":%" PRId64,
		    i ? "," : "", i, word_of(account_kinds, legs[i].account),
		    legs[i].amount_minor);
		if (legs[i].member_id)
			text_addf(
			    out, ",\"member_id\":%" PRId64, legs[i].member_id);
		if (legs[i].workshop_id)
			text_addf(out, ",\"workshop_id\":%" PRId64,
			    legs[i].workshop_id);
		text_add(out, "}");
	}
	text_add(out, "]");
}

void store_booking_add(struct store_tx *tx, const struct booking_row *booking,
    const struct leg *legs, size_t n_legs, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	struct text list;
	text_init(&list, LEGS_TEXT_MAX);
	legs_text(&list, legs, n_legs);
	give_int(&given, booking->studio_id);
	give_text(&given, word_of(booking_kinds, booking->kind));
	give_int_or_null(&given, booking->workshop_id);
	give_int_or_null(&given, booking->settlement_id);
	give_int_or_null(&given, booking->invoice_id);
	give_int_or_null(&given, booking->plan_id);
	give_int_or_null(&given, booking->stock_id);
	give_int_or_null(&given, booking->payer_id);
	give_text_or_empty(&given, booking->method);
	give_text_or_empty(&given, booking->reference);
	give_text(&given, booking->bank_reference);
	give_text_or_empty(&given, booking->reason);
	give_text(&given, booking->paid_on);
	give_int(&given, (int64_t)n_legs);
	give_int(&given, booking->created_by);
	give_int_or_null(&given, booking->key_id);
	give_text(&given, booking->currency);
	give_text(&given, list.data);
	tx_ask(tx, &booking_add, &given, fn, ctx);
	text_free(&list);
}

static const struct question booking_reverse = {
    "WITH b AS (INSERT INTO booking (studio_id, kind, workshop_id, invoice_id, "
    "reverses_id, payer_id, method, reference, reason, paid_on, legs, "
    "created_by, key_id) SELECT studio_id, 'reversal', workshop_id, "
    "invoice_id, booking_id, payer_id, method, reference, $3, paid_on, legs, "
    "$4, $5 FROM booking WHERE studio_id = $1 AND booking_id = $2 RETURNING "
    "*), e AS (INSERT INTO ledger_entry (studio_id, booking_id, account_id, "
    "account_kind, workshop_id, member_id, currency, amount_minor) SELECT "
    "b.studio_id, b.booking_id, l.account_id, l.account_kind, l.workshop_id, "
    "l.member_id, l.currency, -l.amount_minor FROM b JOIN ledger_entry l ON "
    "l.studio_id = b.studio_id AND l.booking_id = b.reverses_id ORDER BY "
    "l.entry_id RETURNING *) SELECT " ENTRY_COLUMNS_AMONG(
	"e") " FROM e CROSS JOIN b" ENTRY_NAMES "ORDER BY e.entry_id",
    &entry_shape, true};

void store_booking_reverse(struct store_tx *tx,
    const struct booking_row *booking, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, booking->studio_id);
	give_int(&given, booking->reverses_id);
	give_text_or_empty(&given, booking->reason);
	give_int(&given, booking->created_by);
	give_int_or_null(&given, booking->key_id);
	tx_ask(tx, &booking_reverse, &given, fn, ctx);
}

/* ---- lists of entries ---- */

static const struct question entry_one = {
    "SELECT " ENTRY_COLUMNS ENTRY_JOIN
    "WHERE e.studio_id = $1 AND e.entry_id = $2 AND e.member_id IS NOT NULL",
    &entry_shape, false};

void store_entry(struct store_tx *tx, int64_t studio_id, int64_t entry_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, entry_id);
	tx_ask(tx, &entry_one, &given, fn, ctx);
}

#define ENTRIES(which)                                                         \
	{                                                                      \
		"SELECT " ENTRY_COLUMNS ENTRY_JOIN                             \
		"WHERE e.studio_id = $1 AND e.member_id IS NOT NULL AND "      \
		"e.entry_id > $2 AND ($4::text IS NULL OR b.kind = $4)" which  \
		" ORDER BY e.entry_id LIMIT $3",                               \
		    &entry_shape, false                                        \
	}
static const struct question entries_of_studio = ENTRIES("");
static const struct question entries_of_workshop =
    ENTRIES(" AND e.workshop_id = $5");
static const struct question entries_of_member =
    ENTRIES(" AND e.member_id = $5");
static const struct question entries_of_member_there =
    ENTRIES(" AND e.workshop_id = $5 AND e.member_id = $6");

void store_entries(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, int64_t kind, struct page page, store_rows_fn *fn,
    void *ctx)
{
	struct given given = {0};
	const struct question *question =
	    workshop_id
		? member_id ? &entries_of_member_there : &entries_of_workshop
	    : member_id ? &entries_of_member
			: &entries_of_studio;
	give_int(&given, studio_id);
	give_page(&given, page);
	give_text(&given, kind < 0 ? NULL : word_of(booking_kinds, kind));
	if (workshop_id)
		give_int(&given, workshop_id);
	if (member_id)
		give_int(&given, member_id);
	tx_ask(tx, question, &given, fn, ctx);
}

static const struct question bank_line = {
    "SELECT " ENTRY_COLUMNS ENTRY_JOIN
    "WHERE b.studio_id = $1 AND b.bank_reference = $2 AND e.member_id IS NOT "
    "NULL AND NOT EXISTS (SELECT 1 FROM booking r WHERE r.studio_id = "
    "b.studio_id AND r.reverses_id = b.booking_id) ORDER BY e.entry_id",
    &entry_shape, false};

void store_bank_line(struct store_tx *tx, int64_t studio_id,
    const char *bank_reference, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_text(&given, bank_reference);
	tx_ask(tx, &bank_line, &given, fn, ctx);
}

/* ---- balances ---- */

/* clang-format off */
static const struct column balance_columns[] = {
	{"member_id", COLUMN_INT, offsetof(struct balance_row, member_id), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct balance_row, member_name), NULL, 0},
	{"charged_minor", COLUMN_INT, offsetof(struct balance_row, charged_minor), NULL, 0},
	{"paid_minor", COLUMN_INT, offsetof(struct balance_row, paid_minor), NULL, 0},
};
/* clang-format on */
static const struct shape balance_shape =
    SHAPE(struct balance_row, balance_columns);

/* What is charged names a settlement, everything else names none. */
#define BALANCES(which)                                                        \
	{                                                                      \
		"SELECT m.member_id, m.name AS member_name, "                  \
		"coalesce(sum(e.amount_minor) FILTER (WHERE b.settlement_id "  \
		"IS NOT NULL), 0) AS charged_minor, -coalesce(sum("            \
		"e.amount_minor) FILTER (WHERE b.settlement_id IS NULL), 0) "  \
		"AS paid_minor FROM enrolment n JOIN member m ON m.studio_id " \
		"= n.studio_id AND m.member_id = n.member_id LEFT JOIN "       \
		"(ledger_entry e JOIN booking b ON b.studio_id = e.studio_id " \
		"AND b.booking_id = e.booking_id) ON e.studio_id = "           \
		"n.studio_id AND e.workshop_id = n.workshop_id AND "           \
		"e.member_id = n.member_id WHERE n.studio_id = $1 AND "        \
		"n.workshop_id = $2" which                                     \
		" GROUP BY m.member_id, m.name ORDER BY m.member_id",          \
		    &balance_shape, false                                      \
	}
static const struct question balances_of_all = BALANCES("");
static const struct question balances_of_one =
    BALANCES(" AND n.member_id = $3");

void store_balances(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	if (member_id)
		give_int(&given, member_id);
	tx_ask(tx, member_id ? &balances_of_one : &balances_of_all, &given, fn,
	    ctx);
}

/* clang-format off */
static const struct column total_columns[] = {
	{"account", COLUMN_WORD, offsetof(struct total_row, account), account_kinds, 0},
	{"member_id", COLUMN_INT, offsetof(struct total_row, member_id), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct total_row, member_name), NULL, 0},
	{"currency", COLUMN_TEXT, offsetof(struct total_row, currency), NULL, 0},
	{"debit_minor", COLUMN_INT, offsetof(struct total_row, debit_minor), NULL, 0},
	{"credit_minor", COLUMN_INT, offsetof(struct total_row, credit_minor), NULL, 0},
};
/* clang-format on */
static const struct shape total_shape = SHAPE(struct total_row, total_columns);

static const struct question totals = {
    "SELECT a.kind AS account, a.member_id, m.name AS member_name, t.currency, "
    "t.debit_minor, t.credit_minor FROM (SELECT account_id, currency, "
    "coalesce(sum(amount_minor) FILTER (WHERE amount_minor > 0), 0) AS "
    "debit_minor, -coalesce(sum(amount_minor) FILTER (WHERE amount_minor < "
    "0), 0) AS credit_minor FROM ledger_entry WHERE studio_id = $1 AND "
    "workshop_id = $2 GROUP BY account_id, currency) t JOIN account a ON "
    "a.studio_id = $1 AND a.account_id = t.account_id LEFT JOIN member m ON "
    "m.studio_id = $1 AND m.member_id = a.member_id ORDER BY a.account_id, "
    "t.currency",
    &total_shape, false};

void store_totals(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, &totals, &given, fn, ctx);
}

/* ---- what a plan moved off and onto the shelf ---- */

/* clang-format off */
static const struct column shelf_columns[] = {
	{"paper_id", COLUMN_INT, offsetof(struct shelf_row, paper_id), NULL, 0},
	{"used_minor", COLUMN_INT, offsetof(struct shelf_row, used_minor), NULL, 0},
	{"kept_minor", COLUMN_INT, offsetof(struct shelf_row, kept_minor), NULL, 0},
};
/* clang-format on */
static const struct shape shelf_shape = SHAPE(struct shelf_row, shelf_columns);

static const struct question shelf_moves = {
    "SELECT s.paper_id, coalesce(sum(e.amount_minor) FILTER (WHERE "
    "s.from_plan_id IS DISTINCT FROM $3), 0) AS used_minor, "
    "-coalesce(sum(e.amount_minor) FILTER (WHERE s.from_plan_id = $3), 0) AS "
    "kept_minor FROM booking b JOIN ledger_entry e ON e.studio_id = "
    "b.studio_id AND e.booking_id = b.booking_id AND e.account_kind = 'cost' "
    "JOIN stock s ON s.studio_id = b.studio_id AND s.stock_id = b.stock_id "
    "WHERE b.studio_id = $1 AND b.workshop_id = $2 AND b.plan_id = $3 GROUP BY "
    "s.paper_id ORDER BY s.paper_id",
    &shelf_shape, false};

void store_shelf_moves(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t plan_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, plan_id);
	tx_ask(tx, &shelf_moves, &given, fn, ctx);
}

/* ---- reminders ---- */

/* clang-format off */
static const struct column owing_columns[] = {
	{"workshop_id", COLUMN_INT, offsetof(struct owing_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct owing_row, member_id), NULL, 0},
	{"workshop_name", COLUMN_TEXT, offsetof(struct owing_row, workshop_name), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct owing_row, member_name), NULL, 0},
	{"contact", COLUMN_TEXT, offsetof(struct owing_row, contact), NULL, 0},
	{"owed_minor", COLUMN_INT, offsetof(struct owing_row, owed_minor), NULL, 0},
	{"since_on", COLUMN_TEXT, offsetof(struct owing_row, since_on), NULL, 0},
	{"due_on", COLUMN_TEXT, offsetof(struct owing_row, due_on), NULL, 0},
	{"late_days", COLUMN_INT, offsetof(struct owing_row, late_days), NULL, 0},
};
/* clang-format on */
static const struct shape owing_shape = SHAPE(struct owing_row, owing_columns);

/* Owed since the first entry after the last moment at which nothing was. */
static const struct question owing = {
    "WITH run AS (SELECT e.workshop_id, e.member_id, e.entry_id, b.created_at, "
    "b.settlement_id, sum(e.amount_minor) OVER (PARTITION BY e.workshop_id, "
    "e.member_id ORDER BY e.entry_id) AS owed FROM ledger_entry e JOIN booking "
    "b USING (studio_id, booking_id) WHERE e.studio_id = $1 AND e.member_id IS "
    "NOT NULL), last AS (SELECT workshop_id, member_id, (array_agg(owed ORDER "
    "BY entry_id DESC))[1] AS owed, coalesce(max(entry_id) FILTER (WHERE owed "
    "<= 0), 0) AS even, max(created_at) FILTER (WHERE settlement_id IS NOT "
    "NULL) AS charged_at FROM run GROUP BY workshop_id, member_id), due AS "
    "(SELECT l.*, (SELECT min(r.created_at) FROM run r WHERE r.workshop_id = "
    "l.workshop_id AND r.member_id = l.member_id AND r.entry_id > l.even) AS "
    "since, s.time_zone AS zone, CASE WHEN s.pay_within_days > 0 THEN "
    "(l.charged_at AT TIME ZONE s.time_zone)::date + s.pay_within_days END AS "
    "due_on FROM last l JOIN studio s ON s.studio_id = $1 WHERE l.owed > 0) "
    "SELECT d.workshop_id, d.member_id, w.name AS workshop_name, m.name AS "
    "member_name, m.contact, d.owed::bigint AS owed_minor, ((d.since AT TIME "
    "ZONE d.zone)::date)::text AS since_on, d.due_on::text AS due_on, "
    "coalesce(greatest(0, (now() AT TIME ZONE d.zone)::date - d.due_on), "
    "0)::bigint AS late_days FROM due d JOIN workshop w ON w.studio_id = $1 "
    "AND "
    "w.workshop_id = d.workshop_id JOIN member m ON m.studio_id = $1 AND "
    "m.member_id = d.member_id ORDER BY d.since, d.workshop_id, d.member_id",
    &owing_shape, false};

void store_owing(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};

	give_int(&given, studio_id);
	tx_ask(tx, &owing, &given, fn, ctx);
}
