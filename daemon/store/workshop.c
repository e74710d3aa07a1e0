/* SPDX-License-Identifier: MIT */
/*
 * workshop.c - questions about workshops, who takes part, and what they ask for.
 *
 * The state of a workshop is written by one question only, which names the state it
 * leaves; a trigger holds the table of what may follow.
 */
#include "workshop.h"

#include <stddef.h>
#include <string.h>

#include "kept.h"
#include "people.h"
#include "problem.h"
#include "question.h"

extern const struct shape member_shape; /* people.c */

static const char *const states[] = {
    "open", "closed", "planned", "torn", "settled", NULL};
static const char *const policies[] = {"order", "torn", NULL};

/* clang-format off */
#define WORKSHOP_FIELDS(at) \
	{"studio_id", COLUMN_INT, (at) + offsetof(struct workshop_row, studio_id), NULL, 0}, \
	{"workshop_id", COLUMN_INT, (at) + offsetof(struct workshop_row, workshop_id), NULL, 0}, \
	{"name", COLUMN_TEXT, (at) + offsetof(struct workshop_row, name), NULL, 0}, \
	{"closes_at", COLUMN_INSTANT, (at) + offsetof(struct workshop_row, closes_at), NULL, 0}, \
	{"closes_local", COLUMN_TEXT, (at) + offsetof(struct workshop_row, closes_local), NULL, 0}, \
	{"starts_on", COLUMN_TEXT, (at) + offsetof(struct workshop_row, starts_on), NULL, 0}, \
	{"days", COLUMN_INT, (at) + offsetof(struct workshop_row, days), NULL, 0}, \
	{"flat_on", COLUMN_TEXT, (at) + offsetof(struct workshop_row, flat_on), NULL, 0}, \
	{"state", COLUMN_WORD, (at) + offsetof(struct workshop_row, state), states, 0}, \
	{"takes_requests", COLUMN_BOOL, (at) + offsetof(struct workshop_row, takes_requests), NULL, 0}, \
	{"stages", COLUMN_INT, (at) + offsetof(struct workshop_row, stages), NULL, 0}, \
	{"accepted_plan_id", COLUMN_INT, (at) + offsetof(struct workshop_row, accepted_plan_id), NULL, 0}, \
	{"papers", COLUMN_TEXT, (at) + offsetof(struct workshop_row, papers), NULL, 0}, \
	{"share_policy", COLUMN_WORD, (at) + offsetof(struct workshop_row, share_policy), policies, 0}, \
	{"share_ceiling", COLUMN_BOOL, (at) + offsetof(struct workshop_row, share_ceiling), NULL, 0}, \
	{"shipping_each", COLUMN_BOOL, (at) + offsetof(struct workshop_row, shipping_each), NULL, 0}, \
	{"version", COLUMN_INT, (at) + offsetof(struct workshop_row, version), NULL, 0}
static const struct column workshop_columns[] = {WORKSHOP_FIELDS(0)};
static const struct column look_columns[] = {
	WORKSHOP_FIELDS(offsetof(struct workshop_look, workshop)),
	{"takes_part", COLUMN_BOOL, offsetof(struct workshop_look, takes_part), NULL, 0},
	KEPT_FIELDS(offsetof(struct workshop_look, kept)),
};
/* clang-format on */
static const struct shape workshop_shape =
    SHAPE(struct workshop_row, workshop_columns);
static const struct shape look_shape =
    SHAPE(struct workshop_look, look_columns);

#define WORKSHOP_PLAIN                                                         \
	"w.studio_id, w.workshop_id, w.name, w.closes_at, w.starts_on, "       \
	"w.days, w.flat_on, w.state, (w.state = 'open' AND w.closes_at > "     \
	"now()) AS takes_requests, w.stages, w.accepted_plan_id, w.version, "  \
	"w.share_policy, w.share_ceiling, w.shipping_each, "                   \
	"(SELECT to_char(w.closes_at AT TIME ZONE t.time_zone, 'Dy "           \
	"YYYY-MM-DD HH24:MI') FROM studio t WHERE t.studio_id = "              \
	"w.studio_id) AS closes_local"
#define WORKSHOP_COLUMNS                                                       \
	WORKSHOP_PLAIN                                                         \
	", (SELECT coalesce(json_agg(p.paper_id ORDER BY p.paper_id), '[]') "  \
	"FROM workshop_paper p WHERE p.studio_id = w.studio_id AND "           \
	"p.workshop_id = w.workshop_id) AS papers"
/* Rows of the same statement are not seen by it: papers are what was given. */
#define WORKSHOP_GIVEN()                                                       \
	WORKSHOP_PLAIN                                                         \
	", (SELECT coalesce(json_agg(paper_id ORDER BY paper_id), '[]') FROM " \
	"papers) AS papers"
#define PAPERS_GIVEN(n)                                                        \
	"papers AS (SELECT DISTINCT t::bigint AS paper_id FROM "               \
	"json_array_elements_text(" n "::json) t)"

static const struct question workshops_page = {
    "SELECT " WORKSHOP_COLUMNS " FROM workshop w WHERE w.studio_id = $1 AND "
    "($2::bigint = 0 OR EXISTS (SELECT 1 FROM enrolment e WHERE e.studio_id = "
    "w.studio_id AND e.workshop_id = w.workshop_id AND e.member_id = $2)) AND "
    "w.workshop_id > $3 ORDER BY w.workshop_id LIMIT $4",
    &workshop_shape, false};

void store_workshops(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	give_page(&given, page);
	tx_ask(tx, &workshops_page, &given, fn, ctx);
}

#define WORKSHOP_ONE                                                           \
	"SELECT " WORKSHOP_COLUMNS                                             \
	" FROM workshop w WHERE w.studio_id = $1 AND w.workshop_id = $2"

static const struct question workshop_one = {
    WORKSHOP_ONE, &workshop_shape, false};
static const struct question workshop_for_update = {
    WORKSHOP_ONE " FOR UPDATE OF w", &workshop_shape, true};
static const struct question workshop_for_share = {
    WORKSHOP_ONE " FOR SHARE OF w", &workshop_shape, true};

static void ask_one(struct store_tx *tx, const struct question *question,
    int64_t studio_id, int64_t workshop_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	tx_ask(tx, question, &given, fn, ctx);
}

void store_workshop(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    store_rows_fn *fn, void *ctx)
{
	ask_one(tx, &workshop_one, studio_id, workshop_id, fn, ctx);
}

void store_workshop_lock(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, bool shared, store_rows_fn *fn, void *ctx)
{
	ask_one(tx, shared ? &workshop_for_share : &workshop_for_update,
	    studio_id, workshop_id, fn, ctx);
}

/* The claim is made before the row's lock is waited for; two with one key that pass each other
 * here meet at the key of kept_answer. */
#define WORKSHOP_LOOK                                                          \
	"SELECT " WORKSHOP_COLUMNS                                             \
	", EXISTS (SELECT 1 FROM enrolment e WHERE e.studio_id = $1 AND "      \
	"e.workshop_id = $2 AND e.member_id = $3) AS takes_part, k.* FROM "    \
	"workshop w CROSS JOIN LATERAL (" ANSWER_CLAIM(                        \
	    "$4", "$5", "$6") ") k WHERE w.studio_id = $1 AND w.workshop_id "  \
			      "= $2"
static const struct question look_for_update = {
    WORKSHOP_LOOK " FOR UPDATE OF w", &look_shape, true};
static const struct question look = {WORKSHOP_LOOK, &look_shape, false};

void store_workshop_look(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, bool lock,
    const struct answer_claim *claim, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	give_text(&given, claim->caller);
	give_text(&given, claim->key);
	give_bytes(&given, claim->fingerprint, 32);
	memcpy(tx_claim(tx), claim->fingerprint, 32);
	tx_ask(tx, lock ? &look_for_update : &look, &given, fn, ctx);
}

static const struct question workshop_add = {
    "WITH " PAPERS_GIVEN(
	"$8") ", w AS (INSERT INTO workshop (studio_id, name, closes_at, "
	      "starts_on, days, flat_on, stages, share_policy, share_ceiling, "
	      "shipping_each) VALUES ($1, $2, $3, $4, $5, $6, $7, $9, $10, "
	      "$11) RETURNING *), p AS (INSERT INTO workshop_paper "
	      "(studio_id, workshop_id, paper_id) SELECT w.studio_id, "
	      "w.workshop_id, papers.paper_id FROM w, papers) "
	      "SELECT " WORKSHOP_GIVEN() " FROM w",
    &workshop_shape, true};

static void give_sharing(
    struct given *given, const struct workshop_row *workshop)
{
	give_text(given, word_of(policies, workshop->share_policy));
	give_bool(given, workshop->share_ceiling);
	give_bool(given, workshop->shipping_each);
}

void store_workshop_add(struct store_tx *tx,
    const struct workshop_row *workshop, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, workshop->studio_id);
	give_text(&given, workshop->name);
	give_text(&given, workshop->closes_at);
	give_text(&given, workshop->starts_on);
	give_int(&given, workshop->days);
	give_text(&given, workshop->flat_on);
	give_int(&given, workshop->stages);
	give_text(&given, workshop->papers ? workshop->papers : "[]");
	give_sharing(&given, workshop);
	tx_ask(tx, &workshop_add, &given, fn, ctx);
}

static const struct question workshop_change = {
    "WITH " PAPERS_GIVEN(
	"$10") ", w AS (UPDATE workshop SET name = $4, closes_at = $5, "
	       "starts_on = $6, days = $7, flat_on = $8, stages = $9, "
	       "share_policy = $11, share_ceiling = $12, shipping_each = $13, "
	       "version "
	       "= version + 1 WHERE studio_id = $1 AND workshop_id = $2 AND "
	       "version = $3 RETURNING *), gone AS (DELETE FROM workshop_paper "
	       "p USING w WHERE p.studio_id = w.studio_id AND p.workshop_id = "
	       "w.workshop_id AND p.paper_id NOT IN (SELECT paper_id FROM "
	       "papers)), p AS (INSERT INTO workshop_paper (studio_id, "
	       "workshop_id, paper_id) SELECT w.studio_id, w.workshop_id, "
	       "papers.paper_id FROM w, papers ON CONFLICT DO NOTHING) "
	       "SELECT " WORKSHOP_GIVEN() " FROM w",
    &workshop_shape, true};

void store_workshop_change(struct store_tx *tx,
    const struct workshop_row *workshop, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, workshop->studio_id);
	give_int(&given, workshop->workshop_id);
	give_int(&given, workshop->version);
	give_text(&given, workshop->name);
	give_text(&given, workshop->closes_at);
	give_text(&given, workshop->starts_on);
	give_int(&given, workshop->days);
	give_text(&given, workshop->flat_on);
	give_int(&given, workshop->stages);
	give_text(&given, workshop->papers ? workshop->papers : "[]");
	give_sharing(&given, workshop);
	tx_ask(tx, &workshop_change, &given, fn, ctx);
}

/* What is torn or settled keeps the plan it was torn by. */
static const struct question workshop_enter = {
    "WITH w AS (UPDATE workshop SET state = $4, accepted_plan_id = CASE WHEN "
    "$4 IN ('open', 'closed') THEN NULL ELSE coalesce($5, accepted_plan_id) "
    "END, version = version + 1 WHERE studio_id = $1 AND workshop_id = $2 AND "
    "state = $3 RETURNING *) SELECT " WORKSHOP_COLUMNS " FROM w",
    &workshop_shape, true};

void store_workshop_enter(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, enum workshop_state from, enum workshop_state to,
    int64_t accepted_plan_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_text(&given, word_of(states, from));
	give_text(&given, word_of(states, to));
	give_int_or_null(&given, accepted_plan_id);
	tx_ask(tx, &workshop_enter, &given, fn, ctx);
}

/* ---- taking part ---- */

static const struct question enrolment_add = {
    "WITH e AS (INSERT INTO enrolment (studio_id, workshop_id, member_id) "
    "VALUES ($1, $2, $3) ON CONFLICT DO NOTHING RETURNING 1) SELECT EXISTS "
    "(SELECT 1 FROM e) AS yes",
    &bool_shape, true};

void store_enrolment_add(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	tx_ask(tx, &enrolment_add, &given, fn, ctx);
}

static const struct question enrolled_page = {
    "SELECT m.* FROM enrolment e JOIN member m USING (studio_id, member_id) "
    "WHERE e.studio_id = $1 AND e.workshop_id = $2 AND e.member_id > $3 ORDER "
    "BY e.member_id LIMIT $4",
    &member_shape, false};

void store_enrolled(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_page(&given, page);
	tx_ask(tx, &enrolled_page, &given, fn, ctx);
}

static const struct question is_enrolled = {
    "SELECT true AS yes FROM enrolment WHERE studio_id = $1 AND workshop_id = "
    "$2 AND member_id = $3",
    &bool_shape, false};

void store_is_enrolled(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t member_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_int(&given, member_id);
	tx_ask(tx, &is_enrolled, &given, fn, ctx);
}
