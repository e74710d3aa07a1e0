/* SPDX-License-Identifier: MIT */
/*
 * people.c - questions about studios, members, keys, sessions and invitations.
 *
 * Whoever asks is found by the SHA-256 of a secret, which is a unique index and names no
 * studio; everything else names studio_id first.  A change names the version it was made
 * from, and no row back means that somebody was faster.
 */
#include "people.h"

#include <stddef.h>

#include "question.h"

static const char *const policies[] = {"order", "torn", NULL};
static const char *const measures[] = {"inch", "mm", "cm", NULL};
static const char *const pulls[] = {"near", "far", NULL};
static const char *const pages[] = {"a4", "letter", NULL};
static const char *const full_names[] = {"none", "adults", "all", NULL};

/* ---- studios ---- */

#define STUDIO_COLUMNS(p, base)                                                \
	{p "studio_id", COLUMN_INT,                                            \
	    (base) + offsetof(struct studio, studio_id), NULL, 0},             \
	    {p "name", COLUMN_TEXT, (base) + offsetof(struct studio, name),    \
		NULL, 0},                                                      \
	    {p "currency", COLUMN_TEXT,                                        \
		(base) + offsetof(struct studio, currency), NULL, 0},          \
	    {p "time_zone", COLUMN_TEXT,                                       \
		(base) + offsetof(struct studio, time_zone), NULL, 0},         \
	    {p "measure", COLUMN_WORD,                                         \
		(base) + offsetof(struct studio, measure), measures, 0},       \
	    {p "ruler_u", COLUMN_INT,                                          \
		(base) + offsetof(struct studio, ruler_u), NULL, 0},           \
	    {p "sliver_u", COLUMN_INT,                                         \
		(base) + offsetof(struct studio, sliver_u), NULL, 0},          \
	    {p "oversize_u", COLUMN_INT,                                       \
		(base) + offsetof(struct studio, oversize_u), NULL, 0},        \
	    {p "stages", COLUMN_INT, (base) + offsetof(struct studio, stages), \
		NULL, 0},                                                      \
	    {p "straightedge_u", COLUMN_INT,                                   \
		(base) + offsetof(struct studio, straightedge_u), NULL, 0},    \
	    {p "table_u", COLUMN_INT,                                          \
		(base) + offsetof(struct studio, table_u), NULL, 0},           \
	    {p "keep_u", COLUMN_INT, (base) + offsetof(struct studio, keep_u), \
		NULL, 0},                                                      \
	    {p "side_up", COLUMN_TEXT,                                         \
		(base) + offsetof(struct studio, side_up), NULL, 0},           \
	    {p "flattening_days", COLUMN_INT,                                  \
		(base) + offsetof(struct studio, flattening_days), NULL, 0},   \
	    {p "count_max", COLUMN_INT,                                        \
		(base) + offsetof(struct studio, count_max), NULL, 0},         \
	    {p "names_on_sheets", COLUMN_BOOL,                                 \
		(base) + offsetof(struct studio, names_on_sheets), NULL, 0},   \
	    {p "share_policy", COLUMN_WORD,                                    \
		(base) + offsetof(struct studio, share_policy), policies, 0},  \
	    {p "share_ceiling", COLUMN_BOOL,                                   \
		(base) + offsetof(struct studio, share_ceiling), NULL, 0},     \
	    {p "shipping_each", COLUMN_BOOL,                                   \
		(base) + offsetof(struct studio, shipping_each), NULL, 0},     \
	    {p "language", COLUMN_TEXT,                                        \
		(base) + offsetof(struct studio, language), NULL, 0},          \
	    {p "both_measures", COLUMN_BOOL,                                   \
		(base) + offsetof(struct studio, both_measures), NULL, 0},     \
	    {p "pull", COLUMN_WORD, (base) + offsetof(struct studio, pull),    \
		pulls, 0},                                                     \
	    {p "rules", COLUMN_TEXT, (base) + offsetof(struct studio, rules),  \
		NULL, 0},                                                      \
	    {p "sheet_page", COLUMN_WORD,                                      \
		(base) + offsetof(struct studio, sheet_page), pages, 0},       \
	    {p "label_grid", COLUMN_TEXT,                                      \
		(base) + offsetof(struct studio, label_grid), NULL, 0},        \
	    {p "full_names", COLUMN_WORD,                                      \
		(base) + offsetof(struct studio, full_names), full_names, 0},  \
	    {p "payee_name", COLUMN_TEXT,                                      \
		(base) + offsetof(struct studio, payee_name), NULL, 0},        \
	    {p "payee_account", COLUMN_TEXT,                                   \
		(base) + offsetof(struct studio, payee_account), NULL, 0},     \
	    {p "pay_within_days", COLUMN_INT,                                  \
		(base) + offsetof(struct studio, pay_within_days), NULL, 0},   \
	    {p "locale", COLUMN_TEXT,                                          \
		(base) + offsetof(struct studio, locale), NULL, 0},            \
	    {p "forget_days", COLUMN_INT,                                      \
		(base) + offsetof(struct studio, forget_days), NULL, 0},       \
	{                                                                      \
		p "version", COLUMN_INT,                                       \
		    (base) + offsetof(struct studio, version), NULL, 0         \
	}

/* clang-format off */
static const struct column studio_columns[] = {STUDIO_COLUMNS("", 0)};
static const struct shape studio_shape = SHAPE(struct studio, studio_columns);

static const struct column caller_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct caller, studio_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct caller, member_id), NULL, 0},
	{"roles", COLUMN_INT, offsetof(struct caller, roles), NULL, 0},
	{"key_id", COLUMN_INT, offsetof(struct caller, key_id), NULL, 0},
	{"session_id", COLUMN_INT, offsetof(struct caller, session_id), NULL, 0},
	{"name", COLUMN_TEXT, offsetof(struct caller, name), NULL, 0},
	STUDIO_COLUMNS("s_", offsetof(struct caller, studio)),
};
/* clang-format on */
static const struct shape caller_shape = SHAPE(struct caller, caller_columns);

#define CALLER_STUDIO                                                          \
	"s.studio_id AS s_studio_id, s.name AS s_name, s.currency AS "         \
	"s_currency, s.time_zone AS s_time_zone, s.measure AS s_measure, "     \
	"s.ruler_u AS s_ruler_u, s.sliver_u AS s_sliver_u, s.oversize_u AS "   \
	"s_oversize_u, s.stages AS s_stages, s.straightedge_u AS "             \
	"s_straightedge_u, s.table_u AS s_table_u, s.keep_u AS s_keep_u, "     \
	"s.side_up AS s_side_up, s.flattening_days AS s_flattening_days, "     \
	"s.count_max AS s_count_max, s.names_on_sheets AS s_names_on_sheets, " \
	"s.share_policy AS s_share_policy, s.share_ceiling AS "                \
	"s_share_ceiling, s.shipping_each AS s_shipping_each, "                \
	"s.language AS s_language, s.both_measures AS s_both_measures, "       \
	"s.pull AS s_pull, s.rules AS s_rules, s.sheet_page AS s_sheet_page, " \
	"s.label_grid AS s_label_grid, s.full_names AS s_full_names, "         \
	"s.payee_name AS s_payee_name, s.payee_account AS s_payee_account, "   \
	"s.pay_within_days AS s_pay_within_days, s.locale AS s_locale, "       \
	"s.forget_days AS s_forget_days, "                                     \
	"s.version AS s_version"

/* The CTE marks the use; it touches no row while the last mark is younger than a minute, and
 * waits for nobody who is marking it now. */
static const struct question caller_by_key = {
    "WITH due AS (SELECT studio_id, key_id FROM key WHERE hash = $1 AND "
    "revoked_at IS NULL AND (expires_at IS NULL OR expires_at > now()) AND "
    "(last_used_at IS NULL OR last_used_at < now() - interval '1 minute') FOR "
    "NO KEY UPDATE SKIP LOCKED), used AS (UPDATE key SET last_used_at = now() "
    "FROM due WHERE key.studio_id = due.studio_id AND key.key_id = "
    "due.key_id) "
    "SELECT m.studio_id, m.member_id, m.roles, k.key_id, 0 AS session_id, "
    "m.name, " CALLER_STUDIO " FROM key k JOIN member m USING (studio_id, "
    "member_id) JOIN studio s ON s.studio_id = k.studio_id WHERE k.hash = $1 "
    "AND k.revoked_at IS NULL AND (k.expires_at IS NULL OR k.expires_at > "
    "now()) AND m.active",
    &caller_shape, false};

/* Idle at most 30 days for students and 24 h for everybody who can do more; 180 and 30 days
 * in all. */
#define SESSION_IS_GOOD                                                        \
	"t.ended_at IS NULL AND t.last_seen_at > now() - CASE WHEN m.roles & " \
	"14 = 0 THEN interval '30 days' ELSE interval '24 hours' END AND "     \
	"t.created_at > now() - CASE WHEN m.roles & 14 = 0 THEN interval "     \
	"'180 days' ELSE interval '30 days' END AND m.active"

static const struct question caller_by_session = {
    "WITH used AS (UPDATE session t SET last_seen_at = now() FROM member m "
    "WHERE t.hash = $1 AND m.studio_id = t.studio_id AND m.member_id = "
    "t.member_id AND t.last_seen_at < now() - interval '1 minute' "
    "AND " SESSION_IS_GOOD
    ") SELECT m.studio_id, m.member_id, m.roles, 0 AS key_id, t.session_id, "
    "m.name, " CALLER_STUDIO " FROM session t JOIN member m USING (studio_id, "
    "member_id) JOIN studio s ON s.studio_id = t.studio_id WHERE t.hash = $1 "
    "AND " SESSION_IS_GOOD,
    &caller_shape, false};

static void ask_caller(struct store_tx *tx, const struct question *question,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_bytes(&given, hash, SECRET_HASH_SIZE);
	tx_ask(tx, question, &given, fn, ctx);
}

void store_caller_by_key(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx)
{
	ask_caller(tx, &caller_by_key, hash, fn, ctx);
}

void store_caller_by_session(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx)
{
	ask_caller(tx, &caller_by_session, hash, fn, ctx);
}

static const struct question studio_one = {
    "SELECT * FROM studio WHERE studio_id = $1", &studio_shape, false};

void store_studio(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	tx_ask(tx, &studio_one, &given, fn, ctx);
}

static const struct question studio_change = {
    "UPDATE studio SET name = $3, currency = $4, time_zone = $5, measure = $6, "
    "ruler_u = $7, sliver_u = $8, oversize_u = $9, stages = $10, "
    "straightedge_u = $11, table_u = $12, keep_u = $13, side_up = $14, "
    "flattening_days = $15, count_max = $16, names_on_sheets = $17, "
    "share_policy = $18, share_ceiling = $19, shipping_each = $20, language = "
    "$21, both_measures = $22, pull = $23, rules = $24, sheet_page = $25, "
    "label_grid = $26, full_names = $27, payee_name = $28, payee_account = "
    "$29, pay_within_days = $30, locale = $31, forget_days = $32, version = "
    "version + 1 WHERE studio_id = $1 AND version = $2 RETURNING *",
    &studio_shape, true};

void store_studio_change(struct store_tx *tx, const struct studio *studio,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio->studio_id);
	give_int(&given, studio->version);
	give_text(&given, studio->name);
	give_text(&given, studio->currency);
	give_text(&given, studio->time_zone);
	give_text(&given, word_of(measures, studio->measure));
	give_int(&given, studio->ruler_u);
	give_int(&given, studio->sliver_u);
	give_int(&given, studio->oversize_u);
	give_int(&given, studio->stages);
	give_int(&given, studio->straightedge_u);
	give_int(&given, studio->table_u);
	give_int(&given, studio->keep_u);
	give_text_or_empty(&given, studio->side_up);
	give_int(&given, studio->flattening_days);
	give_int(&given, studio->count_max);
	give_bool(&given, studio->names_on_sheets);
	give_text(&given, word_of(policies, studio->share_policy));
	give_bool(&given, studio->share_ceiling);
	give_bool(&given, studio->shipping_each);
	give_text(&given, studio->language);
	give_bool(&given, studio->both_measures);
	give_text(&given, word_of(pulls, studio->pull));
	give_text_or_empty(&given, studio->rules);
	give_text(&given, word_of(pages, studio->sheet_page));
	give_text_or_empty(&given, studio->label_grid);
	give_text(&given, word_of(full_names, studio->full_names));
	give_text_or_empty(&given, studio->payee_name);
	give_text_or_empty(&given, studio->payee_account);
	give_int(&given, studio->pay_within_days);
	give_text(&given, studio->locale);
	give_int(&given, studio->forget_days);
	tx_ask(tx, &studio_change, &given, fn, ctx);
}

/* ---- members ---- */

/* clang-format off */
static const struct column member_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct member, studio_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct member, member_id), NULL, 0},
	{"name", COLUMN_TEXT, offsetof(struct member, name), NULL, 0},
	{"contact", COLUMN_TEXT, offsetof(struct member, contact), NULL, 0},
	{"roles", COLUMN_INT, offsetof(struct member, roles), NULL, 0},
	{"guardian", COLUMN_BOOL, offsetof(struct member, guardian), NULL, 0},
	{"payer_id", COLUMN_INT, offsetof(struct member, payer_id), NULL, 0},
	{"active", COLUMN_BOOL, offsetof(struct member, active), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct member, created_at), NULL, 0},
	{"erased_at", COLUMN_INSTANT, offsetof(struct member, erased_at), NULL, 0},
	{"version", COLUMN_INT, offsetof(struct member, version), NULL, 0},
};
/* clang-format on */
const struct shape member_shape = SHAPE(struct member, member_columns);

static const struct question members_page = {
    "SELECT * FROM member WHERE studio_id = $1 AND member_id > $2 ORDER BY "
    "member_id LIMIT $3",
    &member_shape, false};

void store_members(struct store_tx *tx, int64_t studio_id, struct page page,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_page(&given, page);
	tx_ask(tx, &members_page, &given, fn, ctx);
}

static const struct question member_one = {
    "SELECT * FROM member WHERE studio_id = $1 AND member_id = $2",
    &member_shape, false};

void store_member(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	tx_ask(tx, &member_one, &given, fn, ctx);
}

static const struct question member_add = {
    "INSERT INTO member (studio_id, name, contact, roles, guardian) VALUES "
    "($1, $2, $3, $4, $5) RETURNING *",
    &member_shape, true};

void store_member_add(struct store_tx *tx, const struct member *member,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, member->studio_id);
	give_text(&given, member->name);
	give_text_or_empty(&given, member->contact);
	give_int(&given, member->roles);
	give_bool(&given, member->guardian);
	tx_ask(tx, &member_add, &given, fn, ctx);
}

/* Who is inactive holds no key and no session, and does not get them back by returning. */
static const struct question member_change = {
    "WITH changed AS (UPDATE member SET name = $4, contact = $5, roles = $6, "
    "guardian = $7, active = $8, payer_id = $9, version = version + 1 WHERE "
    "studio_id = $1 AND member_id = $2 AND version = $3 RETURNING *), keys AS "
    "(UPDATE key k "
    "SET revoked_at = now() FROM changed c WHERE k.studio_id = c.studio_id "
    "AND k.member_id = c.member_id AND NOT c.active AND k.revoked_at IS NULL), "
    "sessions AS (UPDATE session t SET ended_at = now() FROM changed c WHERE "
    "t.studio_id = c.studio_id AND t.member_id = c.member_id AND NOT c.active "
    "AND t.ended_at IS NULL) SELECT * FROM changed",
    &member_shape, true};

void store_member_change(struct store_tx *tx, const struct member *member,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, member->studio_id);
	give_int(&given, member->member_id);
	give_int(&given, member->version);
	give_text(&given, member->name);
	give_text_or_empty(&given, member->contact);
	give_int(&given, member->roles);
	give_bool(&given, member->guardian);
	give_bool(&given, member->active);
	give_int_or_null(&given, member->payer_id);
	tx_ask(tx, &member_change, &given, fn, ctx);
}
