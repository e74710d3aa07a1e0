/* SPDX-License-Identifier: MIT */
/*
 * Questions about studios, members, keys, sessions and invitations.
 *
 * Secrets come in as SHA-256 and are never seen here in clear.  Times are text of
 * RFC 3339 in UTC ("2026-11-21T09:30:00Z"), NULL where there is none.
 */
#ifndef STORE_PEOPLE_H
#define STORE_PEOPLE_H

#include "measure.h"
#include "store.h"

enum role {
	ROLE_STUDENT = 1,
	ROLE_INSTRUCTOR = 2,
	ROLE_TREASURER = 4,
	ROLE_OWNER = 8
};

#define SECRET_HASH_SIZE 32

/* Whose names are printed in full; those of the others up to the first blank. */
enum full_names { FULL_NAMES_NONE, FULL_NAMES_ADULTS, FULL_NAMES_ALL };

struct studio {
	int64_t studio_id;
	const char *name;
	const char *currency;  /* ISO 4217 */
	const char *time_zone; /* IANA name */
	int64_t measure; /* enum measure_system: how lengths are written */
	length
	    ruler_u; /* smallest step of the studio's ruler; torn sizes lie on it */
	length sliver_u, oversize_u;
	int64_t stages;
	length straightedge_u, table_u; /* 0: not said */
	length keep_u; /* a roll-end shorter than this is not kept */
	const char *
	    side_up; /* which side of the paper faces up, in the studio's words */
	int64_t flattening_days;
	int64_t count_max;    /* sheets in one request */
	bool names_on_sheets; /* first names on prints; otherwise codes only */
	int64_t share_policy; /* enum share_policy: with what workshops begin */
	bool share_ceiling, shipping_each;
	const char *language;   /* of prints: "en" */
	bool both_measures;     /* inches and millimetres on prints */
	int64_t pull;           /* enum sheet_pull: near, far */
	const char *rules;      /* the studio's own, one line on each sheet */
	int64_t sheet_page;     /* enum sheet_page: a4, letter */
	const char *label_grid; /* as label_grid_read() takes it, or "" */
	int64_t full_names;     /* enum full_names, with names_on_sheets */
	const char *payee_name; /* to whom members pay, or "" */
	const char *payee_account; /* an IBAN, or words; or "" */
	int64_t pay_within_days;   /* of the last charge; 0: not said */
	const char *locale;        /* how amounts are written: figures.h */
	int64_t
	    forget_days; /* after a student's last workshop was settled; 0: never */
	int64_t version;
};

struct member {
	int64_t studio_id, member_id;
	const char *name, *contact; /* contact may be "" */
	int64_t roles;              /* bits of enum role */
	bool guardian;              /* a guardian acts for this member */
	int64_t
	    payer_id; /* on whose account they are charged, or 0: their own */
	bool active;
	const char *created_at;
	const char *erased_at; /* NULL, but of one who is a number only */
	int64_t version;
};

struct key { /* without the secret, which nobody has */
	int64_t studio_id, key_id, member_id;
	const char *name;
	const char *created_at, *expires_at, *last_used_at, *revoked_at;
};

struct session {
	int64_t studio_id, session_id, member_id;
	const char *created_at, *last_seen_at, *ended_at;
	const char *agent; /* what the browser says it is, cut short */
};

struct invitation {
	int64_t studio_id, invitation_id, workshop_id;
	const char *created_at, *expires_at, *revoked_at;
	int64_t uses, uses_max;
	bool
	    good; /* not expired, revoked or used up; the workshop takes requests */
};

/* Who asks: found by the hash of a key or of a session. */
struct caller {
	int64_t studio_id, member_id;
	int64_t roles;
	int64_t key_id;     /* or 0 */
	int64_t session_id; /* or 0 */
	const char *name;
	struct studio studio;
};

/* struct caller, 0 or 1 row: the key or session is good, the member active.  Marks its use
 * (at most once a minute).  Ask in a transaction of its own. */
void store_caller_by_key(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx);
void store_caller_by_session(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx);

/* struct studio, 0 or 1 row. */
void store_studio(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx);
/* All but id and version are written; struct studio as it is now, no row when the version is
 * not the one given. */
void store_studio_change(struct store_tx *tx, const struct studio *studio,
    store_rows_fn *fn, void *ctx);

/* struct member */
void store_members(struct store_tx *tx, int64_t studio_id, struct page page,
    store_rows_fn *fn, void *ctx);
void store_member(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    store_rows_fn *fn, void *ctx);
void store_member_add(struct store_tx *tx, const struct member *member,
    store_rows_fn *fn, void *ctx);
/* Writes name, contact, roles, guardian, active where version matches.  An inactive member's
 * keys and sessions end with it.  The last active owner cannot go (ERR_CONFLICT). */
void store_member_change(struct store_tx *tx, const struct member *member,
    store_rows_fn *fn, void *ctx);

/* struct key */
void store_keys(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx);
void store_key(struct store_tx *tx, int64_t studio_id, int64_t key_id,
    store_rows_fn *fn, void *ctx);
/* expires_at may be NULL. */
void store_key_add(struct store_tx *tx, const struct key *key,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx);
/* No row when it was revoked before. */
void store_key_revoke(struct store_tx *tx, int64_t studio_id, int64_t key_id,
    store_rows_fn *fn, void *ctx);

/* struct session */
void store_session_add(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, const unsigned char hash[SECRET_HASH_SIZE],
    const char *agent, store_rows_fn *fn, void *ctx);
void store_sessions(struct store_tx *tx, int64_t studio_id, int64_t member_id,
    struct page page, store_rows_fn *fn, void *ctx);
void store_session_end(struct store_tx *tx, int64_t studio_id,
    int64_t session_id, store_rows_fn *fn, void *ctx);
/* End all of a member's sessions but one (0: all). */
void store_sessions_end_others(struct store_tx *tx, int64_t studio_id,
    int64_t member_id, int64_t session_id, store_rows_fn *fn, void *ctx);

/* struct invitation */
/* An invitation has two secrets: the token in its link (128 bits) and a short code to be typed
 * (65 bits); either finds it. */
void store_invitation_add(struct store_tx *tx,
    const struct invitation *invitation,
    const unsigned char hash[SECRET_HASH_SIZE],
    const unsigned char code_hash[SECRET_HASH_SIZE], store_rows_fn *fn,
    void *ctx);
void store_invitations(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, struct page page, store_rows_fn *fn, void *ctx);
void store_invitation(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx);
void store_invitation_revoke(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx);
/* By the hash of its token or of its code, of any studio; locks the row so that uses are counted right. */
void store_invitation_by_code(struct store_tx *tx,
    const unsigned char hash[SECRET_HASH_SIZE], store_rows_fn *fn, void *ctx);
void store_invitation_use(struct store_tx *tx, int64_t studio_id,
    int64_t invitation_id, store_rows_fn *fn, void *ctx);

#endif
