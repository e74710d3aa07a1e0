/* SPDX-License-Identifier: MIT */
/*
 * Secrets: made, hashed, read as people type them, and used to seal an answer that is kept.
 */
#ifndef WEB_SECRET_H
#define WEB_SECRET_H

#include <stdbool.h>
#include <stddef.h>

#include "err.h"

#define SECRET_SIZE 32

/* 32 random bytes as base64url, 43 characters and a terminator. */
#define SECRET_TEXT 44
void secret_make(char text[static SECRET_TEXT]);
void secret_hash(const char *text, unsigned char hash[static SECRET_SIZE]);
/* "tsk_" and 43 characters of base64url. */
bool secret_is_key(const char *text);

/*
 * The two secrets of an invitation, of an alphabet of 32 signs without I, L, O and U (so that
 * nothing is mistaken for another sign): the token of its link, 26 signs (130 bits), and the
 * code to be typed, 13 signs (65 bits), shown in groups.
 */
#define TOKEN_TEXT 27
#define CODE_TEXT 17 /* "XXXX-XXXXX-XXXX" and some room */
void token_make(char text[static TOKEN_TEXT]);
void code_make(char text[static CODE_TEXT]);
/* What was typed or followed, without spaces and hyphens, in capitals, O read as 0, I and L as 1;
 * false when it cannot be a token or a code. */
bool code_read(const char *typed, char text[static TOKEN_TEXT]);

/*
 * Seal bytes under a key drawn (HKDF-SHA256) from the caller's own secret and the
 * Idempotency-Key: the database keeps the answer and cannot read it; who repeats the request
 * can.  AES-256-GCM, nonce first, tag last.  *out is the caller's; false when out of luck.
 */
bool secret_seal(const char *secret, const char *once_key, const void *plain,
    size_t len, unsigned char **out, size_t *out_len) MUST_USE;
bool secret_open(const char *secret, const char *once_key,
    const unsigned char *sealed, size_t len, unsigned char **out,
    size_t *out_len) MUST_USE;

#endif
