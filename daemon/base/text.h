/* SPDX-License-Identifier: MIT */
/*
 * A growing piece of text with a maximum given at birth.
 *
 *     struct text t;
 *     text_init(&t, TEAR_SHEET_MAX);
 *     text_addf(&t, "%zu strips", n);
 *     if (!text_fits(&t)) ...            something was left out: the maximum was reached
 *     text_free(&t);
 *
 * t.data is always a terminated string, also when empty; it is borrowed from t.
 * What does not fit is left out whole and text_fits() stays false from then on.
 */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

struct text {
	char *data;
	size_t len;
	size_t cap;
	size_t max;
	bool cut;
};

void text_init(struct text *t, size_t max);
void text_free(struct text *t);
void text_reset(struct text *t); /* empty again, memory kept */

void text_add(struct text *t, const char *s);
void text_add_bytes(struct text *t, const void *bytes, size_t len);
void text_add_char(struct text *t, char c);
void text_addf(struct text *t, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));
bool text_fits(const struct text *t);
/* The string, now the caller's to free(); t is empty and may be used again. */
char *text_take(struct text *t);

/* True when the bytes are well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates). */
bool utf8_is_valid(const char *s, size_t len);
/* True when s is valid UTF-8 without control characters (C0, DEL, C1), without line and
 * paragraph separators and without the marks that change the direction of the text after
 * them (U+202A-202E, U+2066-2069): fit to be a name on one printed line. */
bool utf8_is_line(const char *s, size_t len);
/* What a hexadecimal digit stands for, in either case; -1 for anything else. */
int hex_value(char c);
/* Number of code points in valid UTF-8. */
size_t utf8_length(const char *s);

#endif
