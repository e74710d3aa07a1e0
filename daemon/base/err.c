/* SPDX-License-Identifier: MIT */
/*
 * err.c - failures carried by value.
 *
 * A daemon answers many people at once, so a failure is carried to whoever asked
 * instead of being kept in a global or printed where it was found.
 */
#include "err.h"

#include <stdio.h>
#include <string.h>

/* vsnprintf may cut in the middle of a UTF-8 sequence; step back to its start. */
static void trim_broken_tail(char *s, size_t size)
{
	size_t len = strlen(s);
	if (len + 1 < size)
		return;
	size_t i = len;
	while (i > 0 && ((unsigned char)s[i - 1] & 0xC0) == 0x80)
		i--;
	if (i > 0 && (unsigned char)s[i - 1] >= 0xC0)
		s[i - 1] = '\0';
}

bool err_vset(struct err *err, enum err_kind kind, const char *fmt, va_list ap)
{
	if (!err)
		return false;
	err->kind = kind;
	err->hint[0] = err->field[0] = '\0';
	vsnprintf(err->text, sizeof(err->text), fmt, ap);
	trim_broken_tail(err->text, sizeof(err->text));
	return false;
}

bool err_set(struct err *err, enum err_kind kind, const char *fmt, ...)
{
	va_list ap;
	va_start(ap, fmt);
	err_vset(err, kind, fmt, ap);
	va_end(ap);
	return false;
}

bool err_hint(struct err *err, const char *fmt, ...)
{
	if (!err)
		return false;
	va_list ap;
	va_start(ap, fmt);
	vsnprintf(err->hint, sizeof(err->hint), fmt, ap);
	trim_broken_tail(err->hint, sizeof(err->hint));
	va_end(ap);
	return false;
}

bool err_field(struct err *err, const char *fmt, ...)
{
	if (!err)
		return false;
	va_list ap;
	va_start(ap, fmt);
	vsnprintf(err->field, sizeof(err->field), fmt, ap);
	trim_broken_tail(err->field, sizeof(err->field));
	va_end(ap);
	return false;
}

void err_clear(struct err *err)
{
	memset(err, 0, sizeof(*err));
}
