/* SPDX-License-Identifier: MIT */
/*
 * reconcile.c - do the books agree?  What is looked at stands in sql/009_reconcile.sql and
 * sql/012_shelf_value.sql.
 */
#include "reconcile.h"

#include <stddef.h>

#include "question.h"

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

static const struct question reconcile = {
    "SELECT * FROM trouble WHERE $1::bigint = 0 OR studio_id = $1 UNION ALL "
    "SELECT * FROM trouble_on_shelf WHERE $1::bigint = 0 OR studio_id = $1 "
    "ORDER BY studio_id, workshop_id, member_id, what",
    &trouble_shape, false};

void store_reconcile(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	tx_ask(tx, &reconcile, &given, fn, ctx);
}
