/* SPDX-License-Identifier: MIT */
/*
 * What a browser sends from a form, or after the '?' of an address: names and values,
 * application/x-www-form-urlencoded (URL standard, WHATWG).
 *
 * Refused (ERR_INPUT): a name twice, a broken %XX, a NUL, what is not UTF-8, more than
 * FORM_FIELDS_MAX fields or FORM_BYTES_MAX bytes in all.  Line ends in values become LF.
 */
#ifndef WEB_FORM_H
#define WEB_FORM_H

#include <stddef.h>
#include <stdint.h>

#include "err.h"

#define FORM_FIELDS_MAX 100
#define FORM_BYTES_MAX ((size_t)16 << 10)

struct form_pair {
	const char *name, *value;
};

struct form {
	struct form_pair pairs[FORM_FIELDS_MAX];
	size_t n;
	char *bytes; /* what the pairs point into */
};

/* Start from {0}; form_free() in any case. */
bool form_parse(
    struct form *form, const char *s, size_t len, struct err *err) MUST_USE;
void form_free(struct form *form);

/* NULL when there is no such field. */
const char *form_get(const struct form *form, const char *name);
/* "" when there is no such field. */
const char *form_text(const struct form *form, const char *name);
/* A whole number of at most 18 digits, without sign; `missing` when it is none. */
int64_t form_number(const struct form *form, const char *name, int64_t missing);

#endif
