/* SPDX-License-Identifier: MIT */
/*
 * journal.c - questions about events and about answers kept for repeated requests.
 *
 * A key is claimed with an advisory lock that ends with the transaction, so a crash leaves
 * nothing behind and a second request with the same key learns at once that the first is
 * still under way.  Two that pass each other between the lock and the look meet at the
 * primary key when they keep their answers: one is told to ask again.
 */
#include "journal.h"

#include <stddef.h>
#include <string.h>

#include "kept.h"
#include "question.h"

/* ---- events ---- */

/* clang-format off */
static const struct column event_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct event_row, studio_id), NULL, 0},
	{"event_id", COLUMN_INT, offsetof(struct event_row, event_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct event_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct event_row, member_id), NULL, 0},
	{"by_member", COLUMN_INT, offsetof(struct event_row, by_member), NULL, 0},
	{"kind", COLUMN_TEXT, offsetof(struct event_row, kind), NULL, 0},
	{"details", COLUMN_TEXT, offsetof(struct event_row, details), NULL, 0},
	{"at", COLUMN_INSTANT, offsetof(struct event_row, at), NULL, 0},
};
/* clang-format on */
static const struct shape event_shape = SHAPE(struct event_row, event_columns);

static const struct question event_add = {
    "INSERT INTO event (studio_id, workshop_id, member_id, by_member, kind, "
    "details) VALUES ($1, $2, $3, $4, $5, $6) RETURNING event_id AS n",
    &int_shape, true};

void store_event_add(struct store_tx *tx, const struct event_row *event,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, event->studio_id);
	give_int_or_null(&given, event->workshop_id);
	give_int_or_null(&given, event->member_id);
	give_int_or_null(&given, event->by_member);
	give_text(&given, event->kind);
	give_text(&given, event->details ? event->details : "{}");
	tx_ask(tx, &event_add, &given, fn, ctx);
}

static const struct question events_page = {
    "SELECT * FROM event WHERE studio_id = $1 AND ($2::bigint = 0 OR "
    "workshop_id = $2) AND event_id > $3 ORDER BY event_id LIMIT $4",
    &event_shape, false};

void store_events(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_page(&given, page);
	tx_ask(tx, &events_page, &given, fn, ctx);
}

/* ---- kept answers ---- */

static const struct column answer_columns[] = {KEPT_FIELDS(0)};
static const struct shape answer_shape =
    SHAPE(struct kept_answer, answer_columns);

static const struct question answer_claim = {
    ANSWER_CLAIM("$2", "$3", "$4"), &answer_shape, false};

void store_answer_claim(struct store_tx *tx, int64_t studio_id,
    const char *caller, const char *key, const unsigned char fingerprint[32],
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_text(&given, caller);
	give_text(&given, key);
	give_bytes(&given, fingerprint, 32);
	memcpy(tx_claim(tx), fingerprint, 32);
	tx_ask(tx, &answer_claim, &given, fn, ctx);
}

static const struct question answer_keep = {
    "INSERT INTO kept_answer (studio_id, caller, key, fingerprint, status, "
    "fields, body) VALUES ($1, $2, $3, $4, $5, $6, $7) RETURNING 1",
    NULL, true};

void store_answer_keep(struct store_tx *tx, int64_t studio_id,
    const char *caller, const char *key, int status, const char *fields,
    const void *body, size_t len, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_text(&given, caller);
	give_text(&given, key);
	give_bytes(&given, tx_claim(tx), 32);
	give_int(&given, status);
	give_text(&given, fields ? fields : "{}");
	give_bytes(&given, body, len);
	tx_ask(tx, &answer_keep, &given, fn, ctx);
}

/* ---- the last words of a transaction ---- */

static const struct question event_and_answer = {
    "WITH e AS (INSERT INTO event (studio_id, workshop_id, member_id, "
    "by_member, kind, details) VALUES ($1, $8, $9, $10, $11, $12)) "
    "INSERT INTO kept_answer (studio_id, caller, key, fingerprint, status, "
    "fields, body) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    NULL, true};

static void give_answer(struct given *given, struct store_tx *tx,
    int64_t studio_id, const struct answer_to_keep *answer)
{
	give_int(given, studio_id);
	give_text(given, answer->caller);
	give_text(given, answer->key);
	give_bytes(given, tx_claim(tx), 32);
	give_int(given, answer->status);
	give_text(given, answer->fields ? answer->fields : "{}");
	give_bytes(given, answer->body, answer->len);
}

static void give_event(struct given *given, const struct event_row *event)
{
	give_int_or_null(given, event->workshop_id);
	give_int_or_null(given, event->member_id);
	give_int_or_null(given, event->by_member);
	give_text(given, event->kind);
	give_text(given, event->details ? event->details : "{}");
}

void store_commit_with(struct store_tx *tx, int64_t studio_id,
    const struct event_row *event, const struct answer_to_keep *answer,
    store_done_fn *fn, void *ctx)
{
	struct given given = {0};
	const struct question *question = &answer_keep;

	if (answer->caller == NULL && event == NULL) {
		store_commit(tx, fn, ctx);
		return;
	}
	if (answer->caller == NULL) {
		give_int(&given, studio_id);
		give_event(&given, event);
		question = &event_add;
	} else {
		give_answer(&given, tx, studio_id, answer);
		if (event != NULL) {
			give_event(&given, event);
			question = &event_and_answer;
		}
	}
	tx_commit_after(tx, question, &given, fn, ctx);
}
