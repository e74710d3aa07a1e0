/* SPDX-License-Identifier: MIT */
/*
 * ledger.c - questions about money.
 *
 * Nothing here computes a share: that is daemon/share.  The sums below only add what was
 * written, for a balance or to find where the books do not agree.
 */
#include "ledger.h"

#include <stddef.h>

#include "question.h"

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
	{"parts", COLUMN_TEXT, offsetof(struct settlement_row, parts), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct settlement_row, created_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct settlement_row, created_by), NULL, 0},
};
/* clang-format on */
static const struct shape settlement_shape =
    SHAPE(struct settlement_row, settlement_columns);

/* Number 0: the next one. */
static const struct question settlement_add = {
    "INSERT INTO settlement (studio_id, workshop_id, plan_id, number, "
    "currency, invoice_minor, charged_minor, parts, created_by) VALUES ($1, "
    "$2, $3, coalesce($4::integer, (SELECT coalesce(max(number), 0) + 1 FROM "
    "settlement WHERE studio_id = $1 AND workshop_id = $2)), $5, $6, $7, $8, "
    "$9) RETURNING *",
    &settlement_shape, true};

void store_settlement_add(struct store_tx *tx,
    const struct settlement_row *settlement, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, settlement->studio_id);
	give_int(&given, settlement->workshop_id);
	give_int(&given, settlement->plan_id);
	give_int_or_null(&given, settlement->number);
	give_text(&given, settlement->currency);
	give_int(&given, settlement->invoice_minor);
	give_int(&given, settlement->charged_minor);
	give_text(&given, settlement->parts ? settlement->parts : "[]");
	give_int(&given, settlement->created_by);
	tx_ask(tx, &settlement_add, &given, fn, ctx);
}

static const struct question settlements_all = {
    "SELECT * FROM settlement WHERE studio_id = $1 AND workshop_id = $2 ORDER "
    "BY number",
    &settlement_shape, false};

void store_settlements(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, &settlements_all, &given, fn, ctx);
}

/* ---- entries ---- */

static const char *const entry_kinds[] = {
    "charge", "payment", "reversal", NULL};

/* clang-format off */
static const struct column entry_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct entry_row, studio_id), NULL, 0},
	{"entry_id", COLUMN_INT, offsetof(struct entry_row, entry_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct entry_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct entry_row, member_id), NULL, 0},
	{"kind", COLUMN_WORD, offsetof(struct entry_row, kind), entry_kinds, 0},
	{"amount_minor", COLUMN_INT, offsetof(struct entry_row, amount_minor), NULL, 0},
	{"settlement_id", COLUMN_INT, offsetof(struct entry_row, settlement_id), NULL, 0},
	{"reverses_id", COLUMN_INT, offsetof(struct entry_row, reverses_id), NULL, 0},
	{"reversed_by_id", COLUMN_INT, offsetof(struct entry_row, reversed_by_id), NULL, 0},
	{"method", COLUMN_TEXT, offsetof(struct entry_row, method), NULL, 0},
	{"reference", COLUMN_TEXT, offsetof(struct entry_row, reference), NULL, 0},
	{"reason", COLUMN_TEXT, offsetof(struct entry_row, reason), NULL, 0},
	{"paid_on", COLUMN_TEXT, offsetof(struct entry_row, paid_on), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct entry_row, created_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct entry_row, created_by), NULL, 0},
	{"key_id", COLUMN_INT, offsetof(struct entry_row, key_id), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct entry_row, member_name), NULL, 0},
};
/* clang-format on */
static const struct shape entry_shape = SHAPE(struct entry_row, entry_columns);

#define ENTRY_COLUMNS                                                          \
	"e.*, m.name AS member_name, (SELECT b.entry_id FROM ledger_entry b "  \
	"WHERE b.studio_id = e.studio_id AND b.reverses_id = e.entry_id) AS "  \
	"reversed_by_id"
#define ENTRY_JOIN                                                             \
	" e JOIN member m ON m.studio_id = e.studio_id AND m.member_id = "     \
	"e.member_id "

static const struct question entry_add = {
    "WITH added AS (INSERT INTO ledger_entry (studio_id, workshop_id, "
    "member_id, kind, amount_minor, settlement_id, reverses_id, method, "
    "reference, reason, paid_on, created_by, key_id) VALUES ($1, $2, $3, $4, "
    "$5, $6, $7, $8, $9, $10, $11, $12, $13) RETURNING *) "
    "SELECT " ENTRY_COLUMNS " FROM added" ENTRY_JOIN,
    &entry_shape, true};

void store_entry_add(struct store_tx *tx, const struct entry_row *entry,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, entry->studio_id);
	give_int(&given, entry->workshop_id);
	give_int(&given, entry->member_id);
	give_text(&given, word_of(entry_kinds, entry->kind));
	give_int(&given, entry->amount_minor);
	give_int_or_null(&given, entry->settlement_id);
	give_int_or_null(&given, entry->reverses_id);
	give_text_or_empty(&given, entry->method);
	give_text_or_empty(&given, entry->reference);
	give_text_or_empty(&given, entry->reason);
	give_text(&given, entry->paid_on);
	give_int(&given, entry->created_by);
	give_int_or_null(&given, entry->key_id);
	tx_ask(tx, &entry_add, &given, fn, ctx);
}

static const struct question entry_one = {
    "SELECT " ENTRY_COLUMNS " FROM ledger_entry" ENTRY_JOIN
    "WHERE e.studio_id = $1 AND e.entry_id = $2",
    &entry_shape, false};

void store_entry(struct store_tx *tx, int64_t studio_id, int64_t entry_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, entry_id);
	tx_ask(tx, &entry_one, &given, fn, ctx);
}

static const struct question entries_page = {
    "SELECT " ENTRY_COLUMNS " FROM ledger_entry" ENTRY_JOIN
    "WHERE e.studio_id = $1 AND ($2::bigint = 0 OR e.workshop_id = $2) AND "
    "($3::bigint = 0 OR e.member_id = $3) AND ($4::text IS NULL OR e.kind = "
    "$4) AND e.entry_id > $5 ORDER BY e.entry_id LIMIT $6",
    &entry_shape, false};

void store_entries(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, int64_t kind, struct page page, store_rows_fn *fn,
    void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	give_text(&given, kind < 0 ? NULL : word_of(entry_kinds, kind));
	give_page(&given, page);
	tx_ask(tx, &entries_page, &given, fn, ctx);
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

/* Charges and their reversals name a settlement, payments and theirs none. */
static const struct question balances = {
    "SELECT m.member_id, m.name AS member_name, coalesce(sum(e.amount_minor) "
    "FILTER (WHERE e.settlement_id IS NOT NULL), 0) AS charged_minor, "
    "coalesce(sum(e.amount_minor) FILTER (WHERE e.settlement_id IS NULL), 0) "
    "AS paid_minor FROM enrolment n JOIN member m ON m.studio_id = n.studio_id "
    "AND m.member_id = n.member_id LEFT JOIN ledger_entry e ON e.studio_id = "
    "n.studio_id AND e.workshop_id = n.workshop_id AND e.member_id = "
    "n.member_id WHERE n.studio_id = $1 AND n.workshop_id = $2 AND ($3::bigint "
    "= 0 OR n.member_id = $3) GROUP BY m.member_id, m.name ORDER BY "
    "m.member_id",
    &balance_shape, false};

void store_balances(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	tx_ask(tx, &balances, &given, fn, ctx);
}

/* ---- do the books agree ---- */

/* clang-format off */
static const struct column trouble_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct trouble_row, studio_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct trouble_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct trouble_row, member_id), NULL, 0},
	{"what", COLUMN_TEXT, offsetof(struct trouble_row, what), NULL, 0},
};
/* clang-format on */
static const struct shape trouble_shape =
    SHAPE(struct trouble_row, trouble_columns);

/* Every rule that the schema holds when rows come in, asked again of the rows as they lie
 * there: it speaks only after somebody went around the schema. */
static const struct question reconcile = {
    "SELECT * FROM ("
    "SELECT s.studio_id, s.workshop_id, NULL::bigint AS member_id, "
    "format('settlement %s charges %s, its entries add up to %s', s.number, "
    "s.charged_minor, coalesce(sum(e.amount_minor), 0)) AS what FROM "
    "settlement s LEFT JOIN ledger_entry e ON e.studio_id = s.studio_id AND "
    "e.settlement_id = s.settlement_id GROUP BY s.studio_id, s.settlement_id "
    "HAVING coalesce(sum(e.amount_minor), 0) <> s.charged_minor "
    "UNION ALL SELECT studio_id, workshop_id, NULL, format('invoice is %s, "
    "charged was %s', invoice_minor, charged) FROM (SELECT studio_id, "
    "workshop_id, invoice_minor, sum(charged_minor) OVER w AS charged, "
    "row_number() OVER (PARTITION BY studio_id, workshop_id ORDER BY number "
    "DESC) AS back FROM settlement WINDOW w AS (PARTITION BY studio_id, "
    "workshop_id)) t WHERE back = 1 AND invoice_minor <> charged "
    "UNION ALL SELECT e.studio_id, e.workshop_id, e.member_id, format('entry "
    "%s reverses %s and does not match it', e.entry_id, e.reverses_id) FROM "
    "ledger_entry e LEFT JOIN ledger_entry o ON o.studio_id = e.studio_id AND "
    "o.entry_id = e.reverses_id WHERE e.kind = 'reversal' AND (o.entry_id IS "
    "NULL OR o.amount_minor <> -e.amount_minor OR o.member_id <> e.member_id "
    "OR o.workshop_id <> e.workshop_id OR o.kind = 'reversal' OR "
    "o.settlement_id IS DISTINCT FROM e.settlement_id) "
    "UNION ALL SELECT e.studio_id, e.workshop_id, e.member_id, format('charge "
    "%s has no settlement', e.entry_id) FROM ledger_entry e LEFT JOIN "
    "settlement s ON s.studio_id = e.studio_id AND s.settlement_id = "
    "e.settlement_id AND s.workshop_id = e.workshop_id WHERE e.kind = 'charge' "
    "AND s.settlement_id IS NULL "
    "UNION ALL SELECT e.studio_id, e.workshop_id, e.member_id, format('entry "
    "%s of a member who does not take part', e.entry_id) FROM ledger_entry e "
    "LEFT JOIN enrolment n ON n.studio_id = e.studio_id AND n.workshop_id = "
    "e.workshop_id AND n.member_id = e.member_id WHERE n.member_id IS NULL "
    "UNION ALL SELECT e.studio_id, e.workshop_id, e.member_id, "
    "format('payment %s is not more than zero', e.entry_id) FROM ledger_entry "
    "e WHERE e.kind = 'payment' AND e.amount_minor <= 0"
    ") found WHERE $1::bigint = 0 OR studio_id = $1 ORDER BY studio_id, "
    "workshop_id, member_id, what",
    &trouble_shape, false};

void store_reconcile(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	tx_ask(tx, &reconcile, &given, fn, ctx);
}
