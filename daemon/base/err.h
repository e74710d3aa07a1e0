/* SPDX-License-Identifier: MIT */
/*
 * A failure is a value: what was wrong, with which value, and what to do.
 *
 * A function that can fail takes `struct err *err` last and returns bool; on
 * false, err is filled.  The caller owns the struct; nothing in it is allocated.
 * web/ turns the kind into an HTTP status in one table, cli/ into an exit status.
 *
 * text: lower case, no period, names the value; "could not" when trying again may
 * help, "cannot" when it will not.  hint: a sentence of advice, or empty.
 * field: a JSON pointer ("/pieces/3/across") into what was given, or empty.
 */
#ifndef BASE_ERR_H
#define BASE_ERR_H

#include <stdarg.h>
#include <stdbool.h>

#define MUST_USE __attribute__((warn_unused_result))
#define PRINTF_LIKE(fmt, args) __attribute__((format(printf, fmt, args)))

enum err_kind {
	ERR_NONE,
	ERR_INPUT,   /* what was given breaks a rule */
	ERR_MISSING, /* there is no such thing, or none that the caller may see */
	ERR_CONFLICT, /* the thing is not in the state this needs */
	ERR_STALE,    /* the caller saw an older version */
	ERR_UNKNOWN,  /* the caller is not known: no key, or not a good one */
	ERR_DENIED,   /* the caller is known and may not do this */
	ERR_LIMIT,    /* too many, too often */
	ERR_BUSY,     /* not now; trying again may help */
	ERR_INTERNAL, /* a fault of ours: logged in full, shown without its text */
};

struct err {
	enum err_kind kind;
	char text[512];
	char hint[256];
	char field[128];
};

/* Fill err (hint and field become empty); always returns false.  err may be NULL. */
bool err_set(struct err *err, enum err_kind kind, const char *fmt, ...)
    PRINTF_LIKE(3, 4);
bool err_vset(struct err *err, enum err_kind kind, const char *fmt, va_list ap)
    PRINTF_LIKE(3, 0);

/* Add advice, or the place in the input; both return false, so they can end a function. */
bool err_hint(struct err *err, const char *fmt, ...) PRINTF_LIKE(2, 3);
bool err_field(struct err *err, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* Back to ERR_NONE. */
void err_clear(struct err *err);

#endif
