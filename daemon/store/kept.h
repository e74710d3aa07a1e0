/* SPDX-License-Identifier: MIT */
/*
 * The claim of a key, for the questions that make it (journal.c, workshop.c).
 */
#ifndef STORE_KEPT_H
#define STORE_KEPT_H

#include "journal.h"
#include "question.h"

/* clang-format off */
#define KEPT_FIELDS(at) \
	{"is_new", COLUMN_BOOL, (at) + offsetof(struct kept_answer, is_new), NULL, 0}, \
	{"is_running", COLUMN_BOOL, (at) + offsetof(struct kept_answer, is_running), NULL, 0}, \
	{"is_other", COLUMN_BOOL, (at) + offsetof(struct kept_answer, is_other), NULL, 0}, \
	{"status", COLUMN_INT, (at) + offsetof(struct kept_answer, status), NULL, 0}, \
	{"fields", COLUMN_TEXT, (at) + offsetof(struct kept_answer, fields), NULL, 0}, \
	{"body", COLUMN_BYTES, (at) + offsetof(struct kept_answer, body), NULL, \
		(at) + offsetof(struct kept_answer, body_len)}
/* clang-format on */

/* One row; $1 is the studio, the others are parameters: caller, key, fingerprint. */
#define ANSWER_CLAIM(caller, key, fingerprint)                                 \
	"SELECT l.got AND a.key IS NULL AS is_new, NOT l.got AS is_running, "  \
	"coalesce(l.got AND a.fingerprint <> " fingerprint                     \
	", false) AS is_other, a.status, a.fields, a.body FROM (SELECT "       \
	"pg_try_advisory_xact_lock(hashtextextended($1::bigint || '/' "        \
	"|| " caller "::text || '/' || " key                                   \
	"::text, 0)) AS got OFFSET 0) l LEFT "                                 \
	"JOIN kept_answer a ON a.studio_id = $1 AND a.caller = " caller        \
	" AND a.key = " key

#endif
