/* SPDX-License-Identifier: MIT */
/*
 * Questions about what is kept of a person.
 */
#ifndef STORE_PRIVACY_H
#define STORE_PRIVACY_H

#include "store.h"

/* A row of some table that names a member, and what of it is about them. */
struct data_row {
	const char *part; /* the table: "ledger_entry" */
	int64_t row_id;
	const char *as;   /* "own", "by", "payer", "advanced" */
	const char *data; /* JSON object, without secrets and other people */
};

/* struct data_row: all there is of a member, by table and id */
void store_member_data(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);

#endif
