/* SPDX-License-Identifier: MIT */
/*
 * Questions about workshops, who takes part, and the sheets they ask for.
 */
#ifndef STORE_WORKSHOP_H
#define STORE_WORKSHOP_H

#include "journal.h"
#include "measure.h"
#include "store.h"

/* OPEN <-> CLOSED -> PLANNED -> TORN -> SETTLED      (PLANNED may reopen until paper is torn) */
enum workshop_state {
	WORKSHOP_OPEN,
	WORKSHOP_CLOSED,
	WORKSHOP_PLANNED,
	WORKSHOP_TORN,
	WORKSHOP_SETTLED,
};

struct workshop_row {
	int64_t studio_id, workshop_id;
	const char *name;
	const char *closes_at; /* instant, RFC 3339 UTC */
	const char *
	    closes_local; /* the same in the studio's time zone: "Fri 2026-11-27 17:00" (read only) */
	const char
	    *starts_on; /* date in the studio's time zone, "2026-11-28" */
	int64_t days;
	const char *flat_on; /* date by which the paper lies flat, or NULL */
	int64_t state;       /* enum workshop_state */
	bool
	    takes_requests; /* open, and closes_at is in the future of the database's clock */
	int64_t stages;           /* 2 or 3 */
	int64_t accepted_plan_id; /* or 0 */
	const char *papers;       /* JSON list of paper ids: "[1,2]" */
	int64_t share_policy;     /* enum share_policy */
	bool share_ceiling, shipping_each;
	int64_t version;
};

struct request_row {
	int64_t studio_id, request_id, workshop_id, member_id, paper_id;
	int64_t count;
	length across_u, along_u; /* finished */
	length margin_u;
	length torn_across_u,
	    torn_along_u; /* finished and both margins, on the studio's ruler */
	bool turn;
	const char *across_text, *along_text,
	    *margin_text; /* as the member wrote them */
	const char *note;
	const char *created_at, *withdrawn_at;
	int64_t version;
	/* joined */
	const char *member_name, *paper_name;
};

struct
    spoken_row { /* how much of a paper is spoken for: all that a class sees of others */
	int64_t paper_id;
	const char *paper_name;
	int64_t members, sheets;
	area area_uu;
};

/* struct workshop_row.  member_id 0: all; else those in which the member takes part. */
void store_workshops(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx);
void store_workshop(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    store_rows_fn *fn, void *ctx);
/*
 * What a call on a workshop begins with, in one question: the row, locked for the rest of the
 * transaction or not; whether the member takes part; and the claim of a key as by
 * store_answer_claim().  struct workshop_look, 0 or 1 row (0: nothing was claimed either).
 *
 * Asking for sheets needs no lock here: what writes a request locks the workshop itself and
 * looks at its state again.
 */
struct workshop_look {
	struct workshop_row workshop;
	bool takes_part;
	struct kept_answer kept;
};
struct answer_claim {
	const char *caller, *key;
	const unsigned char *fingerprint; /* 32 bytes */
};
void store_workshop_look(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, bool lock,
    const struct answer_claim *claim, store_rows_fn *fn, void *ctx);
/* The same with the row locked till the transaction ends: FOR UPDATE, or FOR SHARE when shared
 * is true (asking for sheets: many at once, but never across a closing). */
void store_workshop_lock(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, bool shared, store_rows_fn *fn, void *ctx);
/* papers: the list in the row. */
void store_workshop_add(struct store_tx *tx,
    const struct workshop_row *workshop, store_rows_fn *fn, void *ctx);
void store_workshop_change(struct store_tx *tx,
    const struct workshop_row *workshop, store_rows_fn *fn, void *ctx);
/* From one state to the next; no row when it was not in `from`.  accepted_plan_id is written
 * with it (0: none). */
void store_workshop_enter(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, enum workshop_state from, enum workshop_state to,
    int64_t accepted_plan_id, store_rows_fn *fn, void *ctx);

/* Taking part.  Adding twice is once; one row, a bool is_new at its start. */
void store_enrolment_add(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, store_rows_fn *fn, void *ctx);
/* struct member: who takes part */
void store_enrolled(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx);
/* n is 1 when the member takes part. */
void store_is_enrolled(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, store_rows_fn *fn, void *ctx);

/* struct request_row, without the withdrawn; member_id 0: everybody's */
void store_requests(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, struct page page, store_rows_fn *fn, void *ctx);
/* All of them for planning, by id (at most PROBLEM_SIZES_MAX). */
void store_requests_all(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx);
void store_request(struct store_tx *tx, int64_t studio_id, int64_t request_id,
    store_rows_fn *fn, void *ctx);
void store_request_add(struct store_tx *tx, const struct request_row *request,
    store_rows_fn *fn, void *ctx);
void store_request_change(struct store_tx *tx,
    const struct request_row *request, store_rows_fn *fn, void *ctx);
void store_request_withdraw(struct store_tx *tx, int64_t studio_id,
    int64_t request_id, int64_t version, store_rows_fn *fn, void *ctx);
/* struct spoken_row, one a paper of the workshop */
void store_spoken_for(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx);

#endif
