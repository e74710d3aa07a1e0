/* SPDX-License-Identifier: MIT */
/*
 * Questions about what is kept of a person, and erasing it.
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

/* What stands in the way of erasing a member. */
struct held_row {
	const char *what, *hint;
};
void store_member_held(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);

/* struct erased_row, one row: what went with the member; nothing more does when it is asked again.
 * Locks the workshops in which they take part; ERR_CONFLICT when something stands in the way. */
struct erased_row {
	const char *erased_at;
	int64_t keys, sessions, notes, answers;
};
void store_member_erase(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);

struct part_row { /* how many rows of which table */
	const char *part;
	int64_t count;
};
/* struct part_row: where the member's number is kept */
void store_member_parts(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, store_rows_fn *fn, void *ctx);
/* struct part_row: where somebody has written that name or contact ("": none) */
void store_mentions(struct store_tx *tx, int64_t studio_id, const char *name,
    const char *contact, store_rows_fn *fn, void *ctx);

/* What is past its time goes, in every studio: answers, sessions, invitations, and students whom
 * their studio forgets.  struct swept_row, one row. */
struct swept_row {
	int64_t answers, sessions, invitations, members;
	const char
	    *log_day; /* "2026-10-12": a log that begins earlier is put aside */
};
void store_sweep(struct store_tx *tx, store_rows_fn *fn, void *ctx);

#endif
