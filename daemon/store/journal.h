/* SPDX-License-Identifier: MIT */
/*
 * Questions about what happened: the event log, and answers kept for repeated requests.
 */
#ifndef STORE_JOURNAL_H
#define STORE_JOURNAL_H

#include "store.h"

struct event_row {
	int64_t studio_id, event_id;
	int64_t workshop_id, member_id; /* or 0 */
	int64_t by_member;
	const char *kind;    /* "request-added", "workshop-closed", ... */
	const char *details; /* JSON, no secrets */
	const char *at;
};

/* One row (int64_t event_id); joins the transaction, so it is there exactly when the change is. */
void store_event_add(struct store_tx *tx, const struct event_row *event,
    store_rows_fn *fn, void *ctx);
/* struct event_row, by id; workshop_id 0: all */
void store_events(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx);

struct kept_answer {
	bool is_new;     /* nothing was kept: go on */
	bool is_running; /* another request with this key is under way now */
	bool is_other;   /* the key was used for something else */
	int64_t status;
	const char *fields; /* JSON object of header fields */
	const unsigned char *body;
	size_t body_len;
};

/* Claim a key for the caller ("key:17", "session:4", "invitation:9").  struct kept_answer, one
 * row.  Claimed in this transaction: gone with its rollback. */
void store_answer_claim(struct store_tx *tx, int64_t studio_id,
    const char *caller, const char *key, const unsigned char fingerprint[32],
    store_rows_fn *fn, void *ctx);
/* In the transaction that claimed the key; the fingerprint is the claim's. */
void store_answer_keep(struct store_tx *tx, int64_t studio_id,
    const char *caller, const char *key, int status, const char *fields,
    const void *body, size_t len, store_rows_fn *fn, void *ctx);
/*
 * The last words of a transaction in one message: note the event (NULL: none), keep the answer
 * (caller NULL: none) and commit.  As store_commit(): tx is gone when fn is called, and all of
 * it is durable without an error.
 */
struct answer_to_keep {
	const char *caller, *key;
	int status;
	const char *fields;
	const void *body;
	size_t len;
};
void store_commit_with(struct store_tx *tx, int64_t studio_id,
    const struct event_row *event, const struct answer_to_keep *answer,
    store_done_fn *fn, void *ctx);

#endif
