/* SPDX-License-Identifier: MIT */
/*
 * secrets.c - questions about keys, sessions and invitations (people.h).
 *
 * Only hashes are stored: a secret of 128 random bits or more cannot be guessed from its
 * SHA-256, and whoever reads the database signs in as nobody.
 */
#include "people.h"

#include <stddef.h>

#include "question.h"

/* ---- keys ---- */

/* clang-format off */
static const struct column key_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct key, studio_id), NULL, 0},
	{"key_id", COLUMN_INT, offsetof(struct key, key_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct key, member_id), NULL, 0},
	{"name", COLUMN_TEXT, offsetof(struct key, name), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct key, created_at), NULL, 0},
	{"expires_at", COLUMN_INSTANT, offsetof(struct key, expires_at), NULL, 0},
	{"last_used_at", COLUMN_INSTANT, offsetof(struct key, last_used_at), NULL, 0},
	{"revoked_at", COLUMN_INSTANT, offsetof(struct key, revoked_at), NULL, 0},
};
/* clang-format on */
static const struct shape key_shape = SHAPE(struct key, key_columns);

#define KEY_COLUMNS                                                            \
	"studio_id, key_id, member_id, name, created_at, expires_at, "         \
	"last_used_at, revoked_at"

static const struct question keys_page = {
    "SELECT " KEY_COLUMNS
    " FROM key WHERE studio_id = $1 AND ($2::bigint = 0 OR "
    "member_id = $2) AND key_id > $3 ORDER BY key_id LIMIT $4",
    &key_shape, false};

void store_keys(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	give_page(&given, page);
	tx_ask(tx, &keys_page, &given, fn, ctx);
}

static const struct question key_one = {
    "SELECT " KEY_COLUMNS " FROM key WHERE studio_id = $1 AND key_id = $2",
    &key_shape, false};

void store_key(struct store_tx *tx, int64_t studio_id, int64_t key_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, key_id);
	tx_ask(tx, &key_one, &given, fn, ctx);
}

static const struct question key_add = {
    "INSERT INTO key (studio_id, member_id, name, expires_at, hash) VALUES "
    "($1, $2, $3, $4, $5) RETURNING " KEY_COLUMNS,
    &key_shape, true};

void store_key_add(struct store_tx *tx, const struct key *key,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, key->studio_id);
	give_int(&given, key->member_id);
	give_text_or_empty(&given, key->name);
	give_text(&given, key->expires_at);
	give_bytes(&given, hash, SECRET_HASH_SIZE);
	tx_ask(tx, &key_add, &given, fn, ctx);
}

static const struct question key_revoke = {
    "UPDATE key SET revoked_at = now() WHERE studio_id = $1 AND key_id = $2 "
    "AND revoked_at IS NULL RETURNING " KEY_COLUMNS,
    &key_shape, true};

void store_key_revoke(struct store_tx *tx, int64_t studio_id, int64_t key_id,
    store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, key_id);
	tx_ask(tx, &key_revoke, &given, fn, ctx);
}

/* ---- sessions ---- */

/* clang-format off */
static const struct column session_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct session, studio_id), NULL, 0},
	{"session_id", COLUMN_INT, offsetof(struct session, session_id), NULL, 0},
	{"member_id", COLUMN_INT, offsetof(struct session, member_id), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct session, created_at), NULL, 0},
	{"last_seen_at", COLUMN_INSTANT, offsetof(struct session, last_seen_at), NULL, 0},
	{"ended_at", COLUMN_INSTANT, offsetof(struct session, ended_at), NULL, 0},
	{"agent", COLUMN_TEXT, offsetof(struct session, agent), NULL, 0},
};
/* clang-format on */
static const struct shape session_shape =
    SHAPE(struct session, session_columns);

#define SESSION_COLUMNS                                                        \
	"studio_id, session_id, member_id, created_at, last_seen_at, "         \
	"ended_at, agent"

/* What a browser calls itself is cut and cleaned here: it comes from outside and only serves to
 * tell one's sessions apart. */
static const struct question session_add = {
    "INSERT INTO session (studio_id, member_id, hash, agent) VALUES ($1, $2, "
    "$3, left(regexp_replace($4::text, '[[:cntrl:]]', ' ', 'g'), 200)) "
    "RETURNING " SESSION_COLUMNS,
    &session_shape, true};

void store_session_add(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, const unsigned char hash[SECRET_HASH_SIZE],
    const char *agent, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	give_bytes(&given, hash, SECRET_HASH_SIZE);
	give_text_or_empty(&given, agent);
	tx_ask(tx, &session_add, &given, fn, ctx);
}

static const struct question sessions_page = {
    "SELECT " SESSION_COLUMNS " FROM session WHERE studio_id = $1 AND ($2 = 0 "
    "OR member_id = $2) AND session_id > $3 AND ended_at IS NULL ORDER BY "
    "session_id LIMIT $4",
    &session_shape, false};

void store_sessions(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	give_page(&given, page);
	tx_ask(tx, &sessions_page, &given, fn, ctx);
}

static const struct question session_end = {
    "UPDATE session SET ended_at = now() WHERE studio_id = $1 AND session_id "
    "= $2 AND ended_at IS NULL RETURNING " SESSION_COLUMNS,
    &session_shape, true};

void store_session_end(struct store_tx *tx, int64_t studio_id,
    int64_t session_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, session_id);
	tx_ask(tx, &session_end, &given, fn, ctx);
}

static const struct question sessions_end_others = {
    "UPDATE session SET ended_at = now() WHERE studio_id = $1 AND member_id = "
    "$2 AND session_id <> $3 AND ended_at IS NULL RETURNING " SESSION_COLUMNS,
    &session_shape, true};

void store_sessions_end_others(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, int64_t session_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, member_id);
	give_int(&given, session_id);
	tx_ask(tx, &sessions_end_others, &given, fn, ctx);
}

/* ---- invitations ---- */

/* clang-format off */
static const struct column invitation_columns[] = {
	{"studio_id", COLUMN_INT, offsetof(struct invitation, studio_id), NULL, 0},
	{"invitation_id", COLUMN_INT, offsetof(struct invitation, invitation_id), NULL, 0},
	{"workshop_id", COLUMN_INT, offsetof(struct invitation, workshop_id), NULL, 0},
	{"created_at", COLUMN_INSTANT, offsetof(struct invitation, created_at), NULL, 0},
	{"expires_at", COLUMN_INSTANT, offsetof(struct invitation, expires_at), NULL, 0},
	{"revoked_at", COLUMN_INSTANT, offsetof(struct invitation, revoked_at), NULL, 0},
	{"uses", COLUMN_INT, offsetof(struct invitation, uses), NULL, 0},
	{"uses_max", COLUMN_INT, offsetof(struct invitation, uses_max), NULL, 0},
	{"good", COLUMN_BOOL, offsetof(struct invitation, good), NULL, 0},
};
/* clang-format on */
static const struct shape invitation_shape =
    SHAPE(struct invitation, invitation_columns);

#define INVITATION_IS_GOOD                                                     \
	"(i.revoked_at IS NULL AND i.expires_at > now() AND i.uses < "         \
	"i.uses_max AND w.state = 'open' AND w.closes_at > now())"
#define INVITATION_COLUMNS                                                     \
	"i.studio_id, i.invitation_id, i.workshop_id, i.created_at, "          \
	"i.expires_at, i.revoked_at, i.uses, i.uses_max, " INVITATION_IS_GOOD  \
	" AS good"
#define INVITATION_FROM                                                        \
	" FROM invitation i JOIN workshop w USING (studio_id, workshop_id) "

/* It ends with the workshop's closing at the latest. */
static const struct question invitation_add = {
    "WITH i AS (INSERT INTO invitation (studio_id, workshop_id, expires_at, "
    "uses_max, hash, code_hash) SELECT $1, $2, least(coalesce($3::timestamptz, "
    "w.closes_at), w.closes_at), $4, $5, $6 FROM workshop w WHERE w.studio_id "
    "= $1 "
    "AND w.workshop_id = $2 RETURNING *) SELECT " INVITATION_COLUMNS
    " FROM i JOIN workshop w USING (studio_id, workshop_id)",
    &invitation_shape, true};

void store_invitation_add(struct store_tx *tx,
    const struct invitation *invitation,
    const unsigned char hash[SECRET_HASH_SIZE],
    const unsigned char code_hash[SECRET_HASH_SIZE], store_rows_fn *fn,
    void *ctx)
{
	struct given given = {0};
	give_int(&given, invitation->studio_id);
	give_int(&given, invitation->workshop_id);
	give_text(&given, invitation->expires_at);
	give_int(&given, invitation->uses_max);
	give_bytes(&given, hash, SECRET_HASH_SIZE);
	give_bytes(&given, code_hash, SECRET_HASH_SIZE);
	tx_ask(tx, &invitation_add, &given, fn, ctx);
}

static const struct question invitations_page = {
    "SELECT " INVITATION_COLUMNS INVITATION_FROM
    "WHERE i.studio_id = $1 AND ($2::bigint = 0 OR i.workshop_id = $2) AND "
    "i.invitation_id > $3 ORDER BY i.invitation_id LIMIT $4",
    &invitation_shape, false};

void store_invitations(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, struct page page, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, workshop_id);
	give_page(&given, page);
	tx_ask(tx, &invitations_page, &given, fn, ctx);
}

static const struct question invitation_one = {
    "SELECT " INVITATION_COLUMNS INVITATION_FROM
    "WHERE i.studio_id = $1 AND i.invitation_id = $2",
    &invitation_shape, false};

void store_invitation(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invitation_id);
	tx_ask(tx, &invitation_one, &given, fn, ctx);
}

static const struct question invitation_revoke = {
    "WITH i AS (UPDATE invitation SET revoked_at = now() WHERE studio_id = $1 "
    "AND invitation_id = $2 AND revoked_at IS NULL RETURNING *) "
    "SELECT " INVITATION_COLUMNS
    " FROM i JOIN workshop w USING (studio_id, workshop_id)",
    &invitation_shape, true};

void store_invitation_revoke(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invitation_id);
	tx_ask(tx, &invitation_revoke, &given, fn, ctx);
}

static const struct question invitation_by_code = {
    "SELECT " INVITATION_COLUMNS INVITATION_FROM
    "WHERE i.hash = $1 OR i.code_hash = $1 FOR UPDATE OF i",
    &invitation_shape, true};

/* For showing: a view of one moment cannot lock, and has nothing to count. */
static const struct question invitation_shown_by_code = {
    "SELECT " INVITATION_COLUMNS INVITATION_FROM
    "WHERE i.hash = $1 OR i.code_hash = $1",
    &invitation_shape, false};

void store_invitation_by_code(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_bytes(&given, hash, SECRET_HASH_SIZE);
	tx_ask(tx,
	    tx_is_read_only(tx) ? &invitation_shown_by_code
				: &invitation_by_code,
	    &given, fn, ctx);
}

static const struct question invitation_use = {
    "WITH i AS (UPDATE invitation SET uses = uses + 1 WHERE studio_id = $1 AND "
    "invitation_id = $2 RETURNING *) SELECT " INVITATION_COLUMNS
    " FROM i JOIN workshop w USING (studio_id, workshop_id)",
    &invitation_shape, true};

void store_invitation_use(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx)
{
	struct given given = {0};
	give_int(&given, studio_id);
	give_int(&given, invitation_id);
	tx_ask(tx, &invitation_use, &given, fn, ctx);
}
