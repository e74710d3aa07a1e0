/* SPDX-License-Identifier: MIT */
/*
 * invoice.c - questions about invoices.
 *
 * An invoice goes out as one message with its lines, so that it is there whole or not at all.
 */
#include "invoice.h"

#include <inttypes.h>
#include <stddef.h>
#include <string.h>

#include "question.h"
#include "text.h"

#define LINES_TEXT_MAX (1024 * 1024)

static const char *const line_kinds[] = {
    "rolls", "shipping", "tax", "discount", "other", NULL};

const char *line_kind_name(int64_t kind)
{
	return kind >= 0 && kind <= LINE_OTHER ? line_kinds[kind] : NULL;
}

int64_t line_kind_from(const char *name)
{
	for (int64_t i = 0; line_kinds[i]; i++)
		if (strcmp(line_kinds[i], name) == 0)
			return i;
	return -1;
}

/* clang-format off */
static const struct column invoice_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct invoice_row, studio_id), NULL, 0},
	{"invoice_id", COLUMN_INT, offsetof(struct invoice_row, invoice_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct invoice_row, workshop_id), NULL, 0},
	{"number", COLUMN_TEXT, offsetof(struct invoice_row, number), NULL, 0},
	{"supplier", COLUMN_TEXT, offsetof(struct invoice_row, supplier), NULL, 0},
	{"dated_on", COLUMN_TEXT, offsetof(struct invoice_row, dated_on), NULL, 0},
	{"currency", COLUMN_TEXT, offsetof(struct invoice_row, currency), NULL, 0},
	{"tax_included", COLUMN_BOOL, offsetof(struct invoice_row, tax_included), NULL, 0},
	{"total_minor", COLUMN_INT, offsetof(struct invoice_row, total_minor), NULL, 0},
	{"lines", COLUMN_INT, offsetof(struct invoice_row, n_lines), NULL, 0},
	{"by_paper", COLUMN_BOOL, offsetof(struct invoice_row, by_paper), NULL, 0},
	{"withdrawn", COLUMN_BOOL, offsetof(struct invoice_row, withdrawn), NULL, 0},
	{"note", COLUMN_TEXT, offsetof(struct invoice_row, note), NULL, 0},
	{"advanced_by", COLUMN_INT, offsetof(struct invoice_row, advanced_by), NULL, 0},
	{"replaces_id", COLUMN_INT, offsetof(struct invoice_row, replaces_id), NULL, 0},
	{"replaced_by_id", COLUMN_INT, offsetof(struct invoice_row, replaced_by_id), NULL, 0},
	{"reason", COLUMN_TEXT, offsetof(struct invoice_row, reason), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct invoice_row, created_at), NULL, 0},
	{"created_by", COLUMN_INT, offsetof(struct invoice_row, created_by), NULL, 0},
	{"key_id", COLUMN_INT, offsetof(struct invoice_row, key_id), NULL, 0},
};
static const struct column line_columns[] = {
	{"invoice_id", COLUMN_INT, offsetof(struct invoice_line_row, invoice_id), NULL, 0},
	{"line", COLUMN_INT, offsetof(struct invoice_line_row, line), NULL, 0},
	{"kind", COLUMN_WORD, offsetof(struct invoice_line_row, kind), line_kinds, 0},
	{"paper_id", COLUMN_INT, offsetof(struct invoice_line_row, paper_id), NULL, 0},
	{"stock_id", COLUMN_INT, offsetof(struct invoice_line_row, stock_id), NULL, 0},
	{"description", COLUMN_TEXT, offsetof(struct invoice_line_row, description), NULL, 0},
	{"count", COLUMN_INT, offsetof(struct invoice_line_row, count), NULL, 0},
	{"unit_minor", COLUMN_INT, offsetof(struct invoice_line_row, unit_minor), NULL, 0},
	{"amount_minor", COLUMN_INT, offsetof(struct invoice_line_row, amount_minor), NULL, 0},
	{"tax_rate_ppm", COLUMN_INT, offsetof(struct invoice_line_row, tax_rate_ppm), NULL, 0},
	{"has_tax_base", COLUMN_BOOL, offsetof(struct invoice_line_row, has_tax_base), NULL, 0},
	{"tax_base_minor", COLUMN_INT, offsetof(struct invoice_line_row, tax_base_minor), NULL, 0},
};
static const struct column booking_columns[] = {{"booking_id", COLUMN_INT, 0, NULL, 0}};
/* clang-format on */
static const struct shape invoice_shape =
    SHAPE(struct invoice_row, invoice_columns);
static const struct shape line_shape =
    SHAPE(struct invoice_line_row, line_columns);
static const struct shape booking_shape = SHAPE(int64_t, booking_columns);

/* ---- adding ---- */

/* A line of text holds no control characters, so these two are all there is to escape. */
static void add_quoted(struct text *out, const char *value)
{
	text_add_char(out, '"');
	for (; value && *value; value++) {
		if (*value == '"' || *value == '\\')
			text_add_char(out, '\\');
		text_add_char(out, *value);
	}
	text_add_char(out, '"');
}

static void add_number(struct text *out, const char *name, int64_t value)
{
	text_addf(out, ",\"%s\":%" PRId64, name, value);
}

static void lines_text(
    struct text *out, const struct invoice_line_row *lines, int64_t n)
{
	text_add(out, "[");
	for (int64_t i = 0; i < n; i++) {
		const struct invoice_line_row *l = &lines[i];
		text_addf(out, "%s{\"line\":%" PRId64 ",\"kind\":\"%s\"",
		    i ? "," : "", i + 1, word_of(line_kinds, l->kind));
		add_number(out, "amount_minor", l->amount_minor);
		if (l->paper_id)
			add_number(out, "paper_id", l->paper_id);
		if (l->stock_id)
			add_number(out, "stock_id", l->stock_id);
		if (l->count) {
			add_number(out, "count", l->count);
			add_number(out, "unit_minor", l->unit_minor);
		}
		if (l->tax_rate_ppm >= 0 && l->kind == LINE_TAX)
			add_number(out, "tax_rate_ppm", l->tax_rate_ppm);
		if (l->has_tax_base)
			add_number(out, "tax_base_minor", l->tax_base_minor);
		text_add(out, ",\"description\":");
		add_quoted(out, l->description);
		text_add(out, "}");
	}
	text_add(out, "]");
}

static const struct question invoice_add = {
    "WITH i AS (INSERT INTO invoice (studio_id, workshop_id, number, supplier, "
    "dated_on, currency, tax_included, total_minor, lines, by_paper, "
    "withdrawn, note, advanced_by, replaces_id, reason, created_by, key_id) "
    "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, "
    "$15, $16, $17) RETURNING *), l AS (INSERT INTO invoice_line (studio_id, "
    "invoice_id, line, kind, paper_id, stock_id, description, count, "
    "unit_minor, amount_minor, tax_rate_ppm, tax_base_minor) SELECT "
    "i.studio_id, i.invoice_id, g.* FROM i CROSS JOIN "
    "json_to_recordset($18::json) AS g (line integer, kind text, paper_id "
    "bigint, stock_id bigint, description text, count integer, unit_minor "
    "bigint, amount_minor bigint, tax_rate_ppm integer, tax_base_minor "
    "bigint)) SELECT i.*, NULL::bigint AS replaced_by_id FROM i",
    &invoice_shape, true};

void store_invoice_add(struct store_tx *tx, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	struct text list;
	text_init(&list, LINES_TEXT_MAX);
	lines_text(&list, lines, invoice->n_lines);
	give_int(&given, invoice->studio_id);
	give_int(&given, invoice->workshop_id);
	give_text_or_empty(&given, invoice->number);
	give_text_or_empty(&given, invoice->supplier);
	give_text(&given, invoice->dated_on);
	give_text(&given, invoice->currency);
	give_bool(&given, invoice->tax_included);
	give_int(&given, invoice->total_minor);
	give_int(&given, invoice->n_lines);
	give_bool(&given, invoice->by_paper);
	give_bool(&given, invoice->withdrawn);
	give_text_or_empty(&given, invoice->note);
	give_int_or_null(&given, invoice->advanced_by);
	give_int_or_null(&given, invoice->replaces_id);
	give_text_or_empty(&given, invoice->reason);
	give_int(&given, invoice->created_by);
	give_int_or_null(&given, invoice->key_id);
	give_text(&given, list.data);
	tx_ask(tx, &invoice_add, &given, fn, ctx);
	text_free(&list);
}

/* ---- reading ---- */

#define INVOICES                                                               \
	"SELECT i.*, r.invoice_id AS replaced_by_id FROM invoice i LEFT JOIN " \
	"invoice r ON r.studio_id = i.studio_id AND r.replaces_id = "          \
	"i.invoice_id WHERE i.studio_id = $1 AND "

static const struct question invoice_one = {
    INVOICES "i.invoice_id = $2", &invoice_shape, false};

void store_invoice(struct store_tx *tx, int64_t studio_id, int64_t invoice_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invoice_id);
	tx_ask(tx, &invoice_one, &given, fn, ctx);
}

static const struct question invoices_of_workshop = {INVOICES
    "i.workshop_id = $2 AND ($3::boolean OR (r.invoice_id IS NULL AND "
    "NOT i.withdrawn)) ORDER BY i.invoice_id",
    &invoice_shape, false};

void store_invoices(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    bool all, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_bool(&given, all);
	tx_ask(tx, &invoices_of_workshop, &given, fn, ctx);
}

#define LINES                                                                  \
	"SELECT l.invoice_id, l.line, l.kind, l.paper_id, l.stock_id, "        \
	"l.description, l.count, l.unit_minor, l.amount_minor, "               \
	"coalesce(l.tax_rate_ppm, -1) AS tax_rate_ppm, l.tax_base_minor IS "   \
	"NOT NULL AS has_tax_base, l.tax_base_minor FROM invoice_line l "

static const struct question lines_of_invoice = {LINES
    "WHERE l.studio_id = $1 AND l.invoice_id = $2 ORDER BY l.line",
    &line_shape, false};
static const struct question lines_of_workshop = {LINES
    "JOIN invoice i ON i.studio_id = l.studio_id AND i.invoice_id = "
    "l.invoice_id WHERE i.studio_id = $1 AND i.workshop_id = $2 ORDER BY "
    "l.invoice_id, l.line",
    &line_shape, false};

void store_invoice_lines(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t invoice_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invoice_id ? invoice_id : workshop_id);
	tx_ask(tx, invoice_id ? &lines_of_invoice : &lines_of_workshop, &given,
	    fn, ctx);
}

static const struct question invoice_booking = {
    "SELECT b.booking_id FROM booking b WHERE b.studio_id = $1 AND "
    "b.invoice_id = $2 AND b.kind = 'invoice' AND NOT EXISTS (SELECT 1 FROM "
    "booking r WHERE r.studio_id = b.studio_id AND r.reverses_id = "
    "b.booking_id)",
    &booking_shape, false};

void store_invoice_booking(struct store_tx *tx, int64_t studio_id,
    int64_t invoice_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invoice_id);
	tx_ask(tx, &invoice_booking, &given, fn, ctx);
}
