/* SPDX-License-Identifier: MIT */
/*
 * One question to the database: its text, what it is given, what its rows become.
 *
 *     static const struct question members = {"SELECT ... WHERE studio_id = $1", &member_shape};
 *     struct given given = {0};
 *     give_int(&given, studio_id);
 *     tx_ask(tx, &members, &given, fn, ctx);
 *
 * The text is constant and prepared once a connection; values are always parameters.
 */
#ifndef STORE_QUESTION_H
#define STORE_QUESTION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <libpq-fe.h>

#include "arena.h"
#include "err.h"
#include "store.h"

enum column_type {
	COLUMN_INT,     /* int64_t; NULL is 0 */
	COLUMN_BOOL,    /* bool; NULL is false */
	COLUMN_TEXT,    /* const char *; NULL stays NULL */
	COLUMN_INSTANT, /* const char *, RFC 3339 UTC; NULL stays NULL */
	COLUMN_WORD,    /* int64_t: the place of the text in words[] */
	COLUMN_BYTES, /* const unsigned char * at offset, size_t at length_offset */
};

struct column {
	const char *name;
	enum column_type type;
	size_t offset;
	const char *const *words; /* ends with NULL */
	size_t length_offset;
};

struct shape { /* how a row becomes a struct */
	size_t size;
	const struct column *columns;
	size_t n_columns;
};

#define SHAPE(type, table)                                                     \
	{                                                                      \
		sizeof(type), table, sizeof(table) / sizeof((table)[0])        \
	}

struct question {
	const char *sql;
	const struct shape *shape; /* NULL: rows are only counted */
	bool writes; /* then the transaction's id is asked for with it */
};

extern const struct shape int_shape;  /* one int64_t in column "n" */
extern const struct shape bool_shape; /* one bool in column "yes" */

/* Rows into an array of structs; strings point into res or into the arena. */
bool rows_decode(const PGresult *res, const struct shape *shape,
    struct arena *arena, const void **rows, struct err *err) MUST_USE;

#define GIVEN_MAX 32

struct given {
	int n;
	const char *values[GIVEN_MAX];
	int lengths[GIVEN_MAX];
	int formats[GIVEN_MAX];
	char numbers[GIVEN_MAX][24];
};

void give_int(struct given *given, int64_t value);
void give_int_or_null(struct given *given, int64_t value); /* 0 becomes NULL */
void give_bool(struct given *given, bool value);
void give_text(struct given *given, const char *value); /* NULL becomes NULL */
void give_text_or_empty(struct given *given, const char *value);
void give_bytes(struct given *given, const void *value, size_t len);
void give_page(struct given *given, struct page page); /* after, limit */

/* The place of a word that we wrote ourselves, and back. */
const char *word_of(const char *const words[], int64_t place);

/* Ask inside a transaction; returns at once. */
void tx_ask(struct store_tx *tx, const struct question *question,
    const struct given *given, store_rows_fn *fn, void *ctx);

/* Begun by store_begin_read(). */
bool tx_is_read_only(const struct store_tx *tx);
/* The question and COMMIT in one message; rows of the question are not looked at.  fn as of
 * store_commit(). */
void tx_commit_after(struct store_tx *tx, const struct question *question,
    const struct given *given, store_done_fn *fn, void *ctx);
/* The fingerprint of the key that this transaction claimed: 32 bytes. */
unsigned char *tx_claim(struct store_tx *tx);

/* What PostgreSQL's refusal means to us; returns false. */
bool sqlstate_err(const PGresult *res, struct err *err);
/* The link itself is gone or going: the answer may not be the true one. */
bool sqlstate_is_fatal(const PGresult *res);
/* The connection's prepared statements are of no use any more. */
bool sqlstate_is_outdated(const PGresult *res);

#endif
