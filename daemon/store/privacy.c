/* SPDX-License-Identifier: MIT */
/*
 * privacy.c - what is kept of a person.
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
/* clang-format on */
static const struct shape data_shape = SHAPE(struct data_row, data_columns);

static const struct question member_data = {
    "SELECT part, row_id, as_what, data FROM member_data WHERE studio_id = $1 "
    "AND member_id = $2 ORDER BY part, row_id, as_what",
    &data_shape, false};

void store_member_data(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	tx_ask(tx, &member_data, &given, fn, ctx);
}
