/* SPDX-License-Identifier: MIT */
/*
 * screen.c - text in the columns of a terminal.
 *
 * Names come in any script.  A name that is cut must not lose half a letter with its
 * accent, or the joiner that holds an emoji together; so a cut is made only before a sign
 * that begins a letter of its own.
 */
#include "screen.h"

#include <glib.h>
#include <string.h>

#include "mark.h"

#define JOINER 0x200D

static size_t width_of(gunichar c)
{
	if (g_unichar_iszerowidth(c) || (c >= 0x1F3FB && c <= 0x1F3FF) ||
	    (c >= 0xFE00 && c <= 0xFE0F))
		return 0;
	return g_unichar_iswide(c) ? 2 : 1;
}

size_t screen_width(const char *s)
{
	size_t n = 0;
	for (; *s; s = g_utf8_next_char(s))
		n += width_of(g_utf8_get_char(s));
	return n;
}

/* Bytes of the longest beginning of s that takes at most `columns` and ends a letter. */
static size_t fit(const char *s, size_t columns)
{
	const char *p = s, *end = s;
	size_t used = 0;
	gunichar before = 0;

	while (*p) {
		gunichar c = g_utf8_get_char(p);
		size_t width = width_of(c);
		if (width > 0 && before != JOINER)
			end = p;
		if (used + width > columns)
			return (size_t)(end - s);
		used += width;
		before = c;
		p = g_utf8_next_char(p);
	}
	return (size_t)(p - s);
}

void screen_add(struct text *out, const char *s, size_t columns)
{
	static const char dots[] = "...";

	if (screen_width(s) <= columns) {
		text_add(out, s);
		return;
	}
	size_t room =
	    columns > sizeof(dots) - 1 ? columns - (sizeof(dots) - 1) : 0;
	text_add_bytes(out, s, fit(s, room));
	text_add_bytes(
	    out, dots, columns < sizeof(dots) - 1 ? columns : sizeof(dots) - 1);
}

void screen_pad(struct text *out, const char *s, size_t columns)
{
	size_t from = out->len;

	screen_add(out, s, columns);
	for (size_t n = screen_width(out->data + from); n < columns; n++)
		text_add_char(out, ' ');
}

/* True when the blank at s[at] stands within "12 1/2 in". */
static bool within_mark(const char *s, size_t at)
{
	size_t from = at > 32 ? at - 32 : 0;

	for (size_t i = from; i < at; i++) {
		bool begins = i == 0 || s[i - 1] == ' ' || s[i - 1] == '(';
		if (begins && i + mark_span(s + i) > at)
			return true;
	}
	return false;
}

/* Bytes of s for a line of `room` columns: up to a blank if there is one. */
static size_t line_end(const char *s, size_t room)
{
	size_t most = fit(s, room);

	if (s[most] == '\0')
		return most;
	for (size_t i = most + 1; i > 0; i--) {
		if (s[i - 1] == ' ' && !within_mark(s, i - 1))
			return i - 1;
	}
	return most;
}

void screen_wrap(
    struct text *out, const char *lead, size_t indent, const char *s)
{
	size_t used = screen_width(lead);

	text_add(out, lead);
	while (*s) {
		size_t n = line_end(s, SCREEN_COLUMNS - used);
		if (n == 0) /* a blank that leads, or a letter too wide */
			n = (size_t)(g_utf8_next_char(s) - s);
		text_add_bytes(out, s, n);
		s += n;
		while (*s == ' ')
			s++;
		if (!*s)
			break;
		text_add_char(out, '\n');
		for (used = 0; used < indent; used++)
			text_add_char(out, ' ');
	}
	text_add_char(out, '\n');
}
