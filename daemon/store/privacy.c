/* SPDX-License-Identifier: MIT */
/*
 * privacy.c - what is kept of a person, erasing it, and how long things are kept.
 *
 * Which rows name a person, and what of each is theirs, stands in sql/015_privacy.sql beside
 * the tables: whoever adds a table reads it there.
 */
#include "privacy.h"

#include <stddef.h>

#include "question.h"

/* clang-format off */
static const struct column data_columns[] = {
	{"part", COLUMN_TEXT, offsetof(struct data_row, part), NULL, 0},
	{"row_id", COLUMN_INT, offsetof(struct data_row, row_id), NULL, 0},
	{"as_what", COLUMN_TEXT, offsetof(struct data_row, as), NULL, 0},
	{"data", COLUMN_TEXT, offsetof(struct data_row, data), NULL, 0},
};
static const struct column held_columns[] = {
	{"what", COLUMN_TEXT, offsetof(struct held_row, what), NULL, 0},
	{"hint", COLUMN_TEXT, offsetof(struct held_row, hint), NULL, 0},
};
static const struct column erased_columns[] = {
	{"erased_at", COLUMN_INSTANT, offsetof(struct erased_row, erased_at), NULL, 0},
	{"keys", COLUMN_INT, offsetof(struct erased_row, keys), NULL, 0},
	{"sessions", COLUMN_INT, offsetof(struct erased_row, sessions), NULL, 0},
	{"notes", COLUMN_INT, offsetof(struct erased_row, notes), NULL, 0},
	{"answers", COLUMN_INT, offsetof(struct erased_row, answers), NULL, 0},
};
static const struct column swept_columns[] = {
	{"answers", COLUMN_INT, offsetof(struct swept_row, answers), NULL, 0},
	{"sessions", COLUMN_INT, offsetof(struct swept_row, sessions), NULL, 0},
	{"invitations", COLUMN_INT, offsetof(struct swept_row, invitations), NULL, 0},
	{"members", COLUMN_INT, offsetof(struct swept_row, members), NULL, 0},
	{"log_day", COLUMN_TEXT, offsetof(struct swept_row, log_day), NULL, 0},
};
static const struct column part_columns[] = {
	{"part", COLUMN_TEXT, offsetof(struct part_row, part), NULL, 0},
	{"count", COLUMN_INT, offsetof(struct part_row, count), NULL, 0},
};
/* clang-format on */
static const struct shape data_shape = SHAPE(struct data_row, data_columns);
static const struct shape held_shape = SHAPE(struct held_row, held_columns);
static const struct shape erased_shape =
    SHAPE(struct erased_row, erased_columns);
static const struct shape swept_shape = SHAPE(struct swept_row, swept_columns);
static const struct shape part_shape = SHAPE(struct part_row, part_columns);

static void ask_of_member(struct store_tx *tx, const struct question *question,
    int64_t studio_id, int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	tx_ask(tx, question, &given, fn, ctx);
}

static const struct question member_data = {
    "SELECT part, row_id, as_what, data FROM member_data WHERE studio_id = $1 "
    "AND member_id = $2 ORDER BY part, row_id, as_what",
    &data_shape, false};

void store_member_data(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	ask_of_member(tx, &member_data, studio_id, member_id, fn, ctx);
}

/* ---- erasing ---- */

static const struct question member_held = {
    "SELECT what, hint FROM member_held WHERE studio_id = $1 AND member_id = "
    "$2 ORDER BY what",
    &held_shape, false};

void store_member_held(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	ask_of_member(tx, &member_held, studio_id, member_id, fn, ctx);
}

static const struct question member_erase = {
    "SELECT * FROM member_erase($1, $2)", &erased_shape, true};

void store_member_erase(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	ask_of_member(tx, &member_erase, studio_id, member_id, fn, ctx);
}

static const struct question member_parts = {
    "SELECT part, count(DISTINCT row_id) AS count FROM member_data WHERE "
    "studio_id = $1 AND member_id = $2 GROUP BY part ORDER BY part",
    &part_shape, false};

void store_member_parts(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	ask_of_member(tx, &member_parts, studio_id, member_id, fn, ctx);
}

static const struct question mentions = {
    "SELECT part, count(DISTINCT row_id) AS count FROM free_text WHERE "
    "studio_id = $1 AND (strpos(lower(value), lower($2::text)) > 0 OR "
    "($3::text <> '' AND strpos(lower(value), lower($3::text)) > 0)) GROUP BY "
    "part ORDER BY part",
    &part_shape, false};

void store_mentions(struct store_tx *tx, int64_t studio_id, const char *name,
    const char *contact, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_text(&given, name);
	give_text_or_empty(&given, contact);
	tx_ask(tx, &mentions, &given, fn, ctx);
}

/* ---- what is past its time ---- */

static const struct question sweep = {
    "SELECT * FROM sweep(now())", &swept_shape, true};

void store_sweep(struct store_tx *tx, store_rows_fn *fn, void *ctx)
{
	const struct given nothing = {0};
	tx_ask(tx, &sweep, &nothing, fn, ctx);
}
