/* SPDX-License-Identifier: MIT */
/*
 * shelf.c - questions about papers and the stock of them.
 *
 * What a plan takes from counted stock is noted in stock_use, so that it can be given back
 * exactly, once.
 */
#include "shelf.h"

#include <stddef.h>

#include "problem.h"
#include "question.h"

/* ---- papers ---- */

/* clang-format off */
static const struct column paper_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct paper_row, studio_id), NULL, 0},
	{"paper_id", COLUMN_INT, offsetof(struct paper_row, paper_id), NULL, 0},
	{"name", COLUMN_TEXT, offsetof(struct paper_row, name), NULL, 0},
	{"weight_gsm", COLUMN_INT, offsetof(struct paper_row, weight_gsm), NULL, 0},
	{"finish", COLUMN_TEXT, offsetof(struct paper_row, finish), NULL, 0},
	{"fibre", COLUMN_TEXT, offsetof(struct paper_row, fibre), NULL, 0},
	{"colour", COLUMN_TEXT, offsetof(struct paper_row, colour), NULL, 0},
	{"active", COLUMN_BOOL, offsetof(struct paper_row, active), NULL, 0},
	{"compare", COLUMN_TEXT, offsetof(struct paper_row, compare), NULL, 0},
	{"version", COLUMN_INT, offsetof(struct paper_row, version), NULL, 0},
};
/* clang-format on */
static const struct shape paper_shape = SHAPE(struct paper_row, paper_columns);

static const struct question papers_page = {
    "SELECT * FROM paper WHERE studio_id = $1 AND paper_id > $2 ORDER BY "
    "paper_id LIMIT $3",
    &paper_shape, false};

void store_papers(struct store_tx *tx, int64_t studio_id, struct page page,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_page(&given, page);
	tx_ask(tx, &papers_page, &given, fn, ctx);
}

static const struct question paper_one = {
    "SELECT * FROM paper WHERE studio_id = $1 AND paper_id = $2", &paper_shape,
    false};

void store_paper(struct store_tx *tx, int64_t studio_id, int64_t paper_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, paper_id);
	tx_ask(tx, &paper_one, &given, fn, ctx);
}

static const struct question paper_add = {
    "INSERT INTO paper (studio_id, name, weight_gsm, finish, fibre, colour, "
    "compare) VALUES ($1, $2, $3, $4, $5, $6, $7) RETURNING *",
    &paper_shape, true};

void store_paper_add(struct store_tx *tx, const struct paper_row *paper,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, paper->studio_id);
	give_text(&given, paper->name);
	give_int(&given, paper->weight_gsm);
	give_text(&given, paper->finish);
	give_text_or_empty(&given, paper->fibre);
	give_text_or_empty(&given, paper->colour);
	give_text(&given, paper->compare ? paper->compare : "[]");
	tx_ask(tx, &paper_add, &given, fn, ctx);
}

static const struct question paper_change = {
    "UPDATE paper SET name = $4, weight_gsm = $5, finish = $6, fibre = $7, "
    "colour = $8, active = $9, compare = $10, version = version + 1 WHERE "
    "studio_id = $1 AND "
    "paper_id = $2 AND version = $3 RETURNING *",
    &paper_shape, true};

void store_paper_change(struct store_tx *tx, const struct paper_row *paper,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, paper->studio_id);
	give_int(&given, paper->paper_id);
	give_int(&given, paper->version);
	give_text(&given, paper->name);
	give_int(&given, paper->weight_gsm);
	give_text(&given, paper->finish);
	give_text_or_empty(&given, paper->fibre);
	give_text_or_empty(&given, paper->colour);
	give_bool(&given, paper->active);
	give_text(&given, paper->compare ? paper->compare : "[]");
	tx_ask(tx, &paper_change, &given, fn, ctx);
}

/* ---- stock ---- */

static const char *const stock_kinds[] = {
    "fresh", "roll-end", "offcut", "flat", NULL};

/* clang-format off */
static const struct column stock_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct stock_row, studio_id), NULL, 0},
	{"stock_id", COLUMN_INT, offsetof(struct stock_row, stock_id), NULL, 0},
	{"paper_id", COLUMN_INT, offsetof(struct stock_row, paper_id), NULL, 0},
	{"kind", COLUMN_WORD, offsetof(struct stock_row, kind), stock_kinds, 0},
	{"name", COLUMN_TEXT, offsetof(struct stock_row, name), NULL, 0},
	{"width_u", COLUMN_INT, offsetof(struct stock_row, width_u), NULL, 0},
	{"length_u", COLUMN_INT, offsetof(struct stock_row, length_u), NULL, 0},
	{"price_minor", COLUMN_INT, offsetof(struct stock_row, price_minor), NULL, 0},
	{"available", COLUMN_INT, offsetof(struct stock_row, available), NULL, 0},
	{"spoiled", COLUMN_TEXT, offsetof(struct stock_row, spoiled), NULL, 0},
	{"lot", COLUMN_TEXT, offsetof(struct stock_row, lot), NULL, 0},
	{"place", COLUMN_TEXT, offsetof(struct stock_row, place), NULL, 0},
	{"from_plan_id", COLUMN_INT, offsetof(struct stock_row, from_plan_id), NULL, 0},
	{"shelf_code", COLUMN_TEXT, offsetof(struct stock_row, shelf_code), NULL, 0},
	{"active", COLUMN_BOOL, offsetof(struct stock_row, active), NULL, 0},
	{"version", COLUMN_INT, offsetof(struct stock_row, version), NULL, 0},
};
/* clang-format on */
static const struct shape stock_shape = SHAPE(struct stock_row, stock_columns);

static_assert(UNLIMITED == -1, "the text of the questions says -1");

#define STOCK_COLUMNS                                                          \
	"s.studio_id, s.stock_id, s.paper_id, s.kind, s.name, s.width_u, "     \
	"s.length_u, s.price_minor, coalesce(s.available, -1) AS available, "  \
	"s.spoiled, s.lot, s.place, s.from_plan_id, s.shelf_code, s.active, "  \
	"s.version"

static const struct question stocks_page = {
    "SELECT " STOCK_COLUMNS
    " FROM stock s WHERE studio_id = $1 AND ($2::bigint = 0 OR "
    "paper_id = $2) AND stock_id > $3 ORDER BY stock_id LIMIT $4",
    &stock_shape, false};

void store_stocks(struct store_tx *tx, int64_t studio_id, int64_t paper_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, paper_id);
	give_page(&given, page);
	tx_ask(tx, &stocks_page, &given, fn, ctx);
}

static const struct question stock_one = {
    "SELECT " STOCK_COLUMNS
    " FROM stock s WHERE studio_id = $1 AND stock_id = $2",
    &stock_shape, false};

void store_stock(struct store_tx *tx, int64_t studio_id, int64_t stock_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, stock_id);
	tx_ask(tx, &stock_one, &given, fn, ctx);
}

static const struct question stock_by_code = {
    "SELECT " STOCK_COLUMNS
    " FROM stock s WHERE studio_id = $1 AND shelf_code = $2 AND shelf_code <> "
    "'' ORDER BY stock_id DESC LIMIT 1",
    &stock_shape, false};

void store_stock_by_code(struct store_tx *tx, int64_t studio_id,
    const char *shelf_code, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_text(&given, shelf_code);
	tx_ask(tx, &stock_by_code, &given, fn, ctx);
}

static const struct question stock_add = {
    "INSERT INTO stock AS s (studio_id, paper_id, kind, name, width_u, "
    "length_u, price_minor, available, spoiled, lot, place, from_plan_id, "
    "shelf_code, moved_by, moved_for) VALUES ($1, $2, $3, $4, $5, $6, $7, "
    "nullif($8::integer, -1), $9, $10, $11, $12, $13, $14, $15) "
    "RETURNING " STOCK_COLUMNS,
    &stock_shape, true};

void store_stock_add(struct store_tx *tx, const struct stock_row *stock,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, stock->studio_id);
	give_int(&given, stock->paper_id);
	give_text(&given, word_of(stock_kinds, stock->kind));
	give_text(&given, stock->name);
	give_int(&given, stock->width_u);
	give_int(&given, stock->length_u);
	give_int(&given, stock->price_minor);
	give_int(&given, stock->available);
	give_text(&given, stock->spoiled ? stock->spoiled : "[]");
	give_text_or_empty(&given, stock->lot);
	give_text_or_empty(&given, stock->place);
	give_int_or_null(&given, stock->from_plan_id);
	give_text_or_empty(&given, stock->shelf_code);
	give_int_or_null(&given, stock->moved_by);
	give_int_or_null(&given, stock->moved_for);
	tx_ask(tx, &stock_add, &given, fn, ctx);
}

static const struct question stock_change = {
    "UPDATE stock s SET paper_id = $4, kind = $5, name = $6, width_u = $7, "
    "length_u = $8, price_minor = $9, available = nullif($10::integer, -1), "
    "spoiled = $11, lot = $12, place = $13, active = $14, moved_by = $15, "
    "moved_for = NULL, version = version + 1 WHERE studio_id = $1 AND stock_id "
    "= $2 AND version = $3 "
    "RETURNING " STOCK_COLUMNS,
    &stock_shape, true};

void store_stock_change(struct store_tx *tx, const struct stock_row *stock,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, stock->studio_id);
	give_int(&given, stock->stock_id);
	give_int(&given, stock->version);
	give_int(&given, stock->paper_id);
	give_text(&given, word_of(stock_kinds, stock->kind));
	give_text(&given, stock->name);
	give_int(&given, stock->width_u);
	give_int(&given, stock->length_u);
	give_int(&given, stock->price_minor);
	give_int(&given, stock->available);
	give_text(&given, stock->spoiled ? stock->spoiled : "[]");
	give_text_or_empty(&given, stock->lot);
	give_text_or_empty(&given, stock->place);
	give_bool(&given, stock->active);
	give_int_or_null(&given, stock->moved_by);
	tx_ask(tx, &stock_change, &given, fn, ctx);
}

/* One more than planning takes, so that the caller sees when there are too many. */
static const struct question stock_usable = {
    "SELECT " STOCK_COLUMNS " FROM stock s WHERE studio_id = $1 AND paper_id = "
    "$2 AND active AND available IS DISTINCT FROM 0 ORDER BY stock_id LIMIT $3",
    &stock_shape, false};

void store_stock_usable(struct store_tx *tx, int64_t studio_id,
    int64_t paper_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, paper_id);
	give_int(&given, PROBLEM_STOCK_MAX + 1);
	tx_ask(tx, &stock_usable, &given, fn, ctx);
}

static const struct question stock_take = {
    "WITH taken AS (UPDATE stock SET available = available - $3::integer, "
    "moved_by = $5, moved_for = $4, version = version + 1 WHERE studio_id = $1 "
    "AND stock_id = $2 AND "
    "(available IS NULL OR available >= $3::integer) RETURNING *), noted AS "
    "(INSERT INTO stock_use AS u (studio_id, plan_id, stock_id, count) SELECT "
    "studio_id, $4, stock_id, $3::integer FROM taken ON CONFLICT (studio_id, "
    "plan_id, stock_id) DO UPDATE SET count = u.count + excluded.count) "
    "SELECT " STOCK_COLUMNS " FROM taken s",
    &stock_shape, true};

void store_stock_take(struct store_tx *tx, int64_t studio_id, int64_t stock_id,
    int64_t count, int64_t plan_id, int64_t by, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, stock_id);
	give_int(&given, count);
	give_int(&given, plan_id);
	give_int_or_null(&given, by);
	tx_ask(tx, &stock_take, &given, fn, ctx);
}

static const struct question stock_give_back = {
    "WITH back AS (DELETE FROM stock_use WHERE studio_id = $1 AND plan_id = $2 "
    "RETURNING *) UPDATE stock s SET available = s.available + b.count, "
    "moved_by = $3, moved_for = $2, version = version + 1 FROM back b WHERE "
    "s.studio_id = b.studio_id AND "
    "s.stock_id = b.stock_id RETURNING " STOCK_COLUMNS,
    &stock_shape, true};

void store_stock_give_back(struct store_tx *tx, int64_t studio_id,
    int64_t plan_id, int64_t by, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, plan_id);
	give_int_or_null(&given, by);
	tx_ask(tx, &stock_give_back, &given, fn, ctx);
}
