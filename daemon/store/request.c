/* SPDX-License-Identifier: MIT */
/*
 * request.c - questions about the sheets that members ask for (workshop.h).
 *
 * A withdrawn request stays as a row without being shown: the event log speaks of it.
 */
#include <stddef.h>

#include "problem.h"
#include "question.h"
#include "workshop.h"

/* clang-format off */
static const struct column request_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct request_row, studio_id), NULL, 0},
	{"request_id", COLUMN_INT, offsetof(struct request_row, request_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct request_row, workshop_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct request_row, member_id), NULL, 0},
	{"paper_id", COLUMN_INT, offsetof(struct request_row, paper_id), NULL, 0},
	{"count", COLUMN_INT, offsetof(struct request_row, count), NULL, 0},
	{"across_u", COLUMN_INT, offsetof(struct request_row, across_u), NULL, 0},
	{"along_u", COLUMN_INT, offsetof(struct request_row, along_u), NULL, 0},
	{"margin_u", COLUMN_INT, offsetof(struct request_row, margin_u), NULL, 0},
	{"torn_across_u", COLUMN_INT, offsetof(struct request_row, torn_across_u), NULL, 0},
	{"torn_along_u", COLUMN_INT, offsetof(struct request_row, torn_along_u), NULL, 0},
	{"turn", COLUMN_BOOL, offsetof(struct request_row, turn), NULL, 0},
	{"across_text", COLUMN_TEXT, offsetof(struct request_row, across_text), NULL, 0},
	{"along_text", COLUMN_TEXT, offsetof(struct request_row, along_text), NULL, 0},
	{"margin_text", COLUMN_TEXT, offsetof(struct request_row, margin_text), NULL, 0},
	{"note", COLUMN_TEXT, offsetof(struct request_row, note), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct request_row, created_at), NULL, 0},
	{"withdrawn_at", COLUMN_INSTANT, offsetof(struct request_row, withdrawn_at), NULL, 0},
	{"version", COLUMN_INT, offsetof(struct request_row, version), NULL, 0},
	{"member_name", COLUMN_TEXT, offsetof(struct request_row, member_name), NULL, 0},
	{"paper_name", COLUMN_TEXT, offsetof(struct request_row, paper_name), NULL, 0},
};
/* clang-format on */
static const struct shape request_shape =
    SHAPE(struct request_row, request_columns);

#define REQUEST_COLUMNS "r.*, m.name AS member_name, p.name AS paper_name"
#define REQUEST_JOINS                                                          \
	" r JOIN member m ON m.studio_id = r.studio_id AND m.member_id = "     \
	"r.member_id JOIN paper p ON p.studio_id = r.studio_id AND "           \
	"p.paper_id = r.paper_id "

static const struct question requests_page = {
    "SELECT " REQUEST_COLUMNS " FROM request" REQUEST_JOINS
    "WHERE r.studio_id = $1 AND r.workshop_id = $2 AND ($3::bigint = 0 OR "
    "r.member_id = $3) AND r.withdrawn_at IS NULL AND r.request_id > $4 ORDER "
    "BY r.request_id LIMIT $5",
    &request_shape, false};

static void ask_requests(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, struct page page, store_rows_fn *fn,
    void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	give_page(&given, page);
	tx_ask(tx, &requests_page, &given, fn, ctx);
}

void store_requests(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t member_id, struct page page, store_rows_fn *fn, void *ctx)
{
	ask_requests(tx, studio_id, workshop_id, member_id, page, fn, ctx);
}

/* One more than planning takes, so that the caller sees when there are too many. */
void store_requests_all(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct page all = {0, PROBLEM_SIZES_MAX + 1};
	ask_requests(tx, studio_id, workshop_id, 0, all, fn, ctx);
}

static const struct question request_one = {
    "SELECT " REQUEST_COLUMNS " FROM request" REQUEST_JOINS
    "WHERE r.studio_id = $1 AND r.request_id = $2",
    &request_shape, false};

void store_request(struct store_tx *tx, int64_t studio_id, int64_t request_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, request_id);
	tx_ask(tx, &request_one, &given, fn, ctx);
}

static const struct question request_add = {
    "WITH added AS (INSERT INTO request (studio_id, workshop_id, member_id, "
    "paper_id, count, across_u, along_u, margin_u, torn_across_u, "
    "torn_along_u, turn, across_text, along_text, margin_text, note) VALUES "
    "($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15) "
    "RETURNING *) SELECT " REQUEST_COLUMNS " FROM added" REQUEST_JOINS,
    &request_shape, true};

static void give_sizes(struct given *given, const struct request_row *request)
{
	give_int(given, request->paper_id);
	give_int(given, request->count);
	give_int(given, request->across_u);
	give_int(given, request->along_u);
	give_int(given, request->margin_u);
	give_int(given, request->torn_across_u);
	give_int(given, request->torn_along_u);
	give_bool(given, request->turn);
	give_text_or_empty(given, request->across_text);
	give_text_or_empty(given, request->along_text);
	give_text_or_empty(given, request->margin_text);
	give_text_or_empty(given, request->note);
}

void store_request_add(struct store_tx *tx, const struct request_row *request,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, request->studio_id);
	give_int(&given, request->workshop_id);
	give_int(&given, request->member_id);
	give_sizes(&given, request);
	tx_ask(tx, &request_add, &given, fn, ctx);
}

static const struct question request_change = {
    "WITH changed AS (UPDATE request SET paper_id = $4, count = $5, across_u = "
    "$6, along_u = $7, margin_u = $8, torn_across_u = $9, torn_along_u = $10, "
    "turn = $11, across_text = $12, along_text = $13, margin_text = $14, note "
    "= $15, version = version + 1 WHERE studio_id = $1 AND request_id = $2 AND "
    "version = $3 AND withdrawn_at IS NULL RETURNING *) "
    "SELECT " REQUEST_COLUMNS " FROM changed" REQUEST_JOINS,
    &request_shape, true};

void store_request_change(struct store_tx *tx,
    const struct request_row *request, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, request->studio_id);
	give_int(&given, request->request_id);
	give_int(&given, request->version);
	give_sizes(&given, request);
	tx_ask(tx, &request_change, &given, fn, ctx);
}

static const struct question request_withdraw = {
    "WITH gone AS (UPDATE request SET withdrawn_at = now(), version = version "
    "+ 1 WHERE studio_id = $1 AND request_id = $2 AND version = $3 AND "
    "withdrawn_at IS NULL RETURNING *) SELECT " REQUEST_COLUMNS
    " FROM gone" REQUEST_JOINS,
    &request_shape, true};

void store_request_withdraw(struct store_tx *tx, int64_t studio_id,
    int64_t request_id, int64_t version, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, request_id);
	give_int(&given, version);
	tx_ask(tx, &request_withdraw, &given, fn, ctx);
}

/* ---- what a class sees of each other ---- */

/* clang-format off */
static const struct column spoken_columns[] = {
	{"paper_id", COLUMN_INT, offsetof(struct spoken_row, paper_id), NULL, 0},
	{"paper_name", COLUMN_TEXT, offsetof(struct spoken_row, paper_name), NULL, 0},
	{"members", COLUMN_INT, offsetof(struct spoken_row, members), NULL, 0},
	{"sheets", COLUMN_INT, offsetof(struct spoken_row, sheets), NULL, 0},
	{"area_uu", COLUMN_INT, offsetof(struct spoken_row, area_uu), NULL, 0},
};
/* clang-format on */
static const struct shape spoken_shape =
    SHAPE(struct spoken_row, spoken_columns);

/* Summed as numeric: sheets of absurd sizes must not overflow for the whole class. */
static const struct question spoken_for = {
    "SELECT p.paper_id, p.name AS paper_name, count(DISTINCT r.member_id) AS "
    "members, coalesce(sum(r.count), 0) AS sheets, "
    "least(coalesce(sum(r.count::numeric * r.torn_across_u * r.torn_along_u), "
    "0), 9223372036854775807)::bigint AS area_uu FROM workshop_paper wp JOIN "
    "paper p ON p.studio_id = wp.studio_id AND p.paper_id = wp.paper_id LEFT "
    "JOIN request r ON r.studio_id = wp.studio_id AND r.workshop_id = "
    "wp.workshop_id AND r.paper_id = wp.paper_id AND r.withdrawn_at IS NULL "
    "WHERE wp.studio_id = $1 AND wp.workshop_id = $2 GROUP BY p.paper_id, "
    "p.name ORDER BY p.paper_id",
    &spoken_shape, false};

void store_spoken_for(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, &spoken_for, &given, fn, ctx);
}
