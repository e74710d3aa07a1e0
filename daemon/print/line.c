/* SPDX-License-Identifier: MIT */
/*
 * line.c - names as lines, whatever was handed over.
 *
 * Whoever calls us has checked names at the door.  A sheet is laid out, broken and escaped
 * everywhere on the belief that a name is one line of UTF-8, so that belief is made true here
 * once and not left to all who may call.  Noncharacters are valid UTF-8, but cairo refuses a
 * whole PDF for one in its title, and XML cannot hold some.
 */
#include "sheet_model.h"

#include <string.h>

#include "markup.h"

#define UNKNOWN_SIGN "\xef\xbf\xbd"

/* Bytes of the sign at s that may stand in a line, or 0. */
static size_t sign_span(const char *s, size_t left)
{
	for (size_t n = 1; n <= 4 && n <= left; n++) {
		if (utf8_is_line(s, n))
			return markup_noncharacter(s) ? 0 : n;
	}
	return 0;
}

static bool is_line(const char *s, size_t len)
{
	bool text = utf8_is_line(s, len);

	for (size_t i = 0; text && i < len; i++)
		text = markup_noncharacter(s + i) == 0;
	return text;
}

const char *sheet_line(struct arena *arena, const char *s)
{
	size_t len = s ? strlen(s) : 0, at = 0;

	if (len == 0 || is_line(s, len))
		return s;
	char *line = arena_alloc(arena, 3 * len + 1);
	for (size_t i = 0; i < len;) {
		size_t n = sign_span(s + i, len - i);
		size_t none = markup_noncharacter(s + i);
		memcpy(line + at, n > 0 ? s + i : UNKNOWN_SIGN, n > 0 ? n : 3);
		at += n > 0 ? n : 3;
		i += n > 0 ? n : none > 0 ? none : 1;
	}
	line[at] = '\0';
	return line;
}
