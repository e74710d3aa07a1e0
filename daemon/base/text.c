/* SPDX-License-Identifier: MIT */
/*
 * text.c - text that grows to a limit, and the two questions asked of names.
 *
 * What does not fit is dropped whole and remembered (cut), so that callers may write
 * a page of text_add() and look once at the end.
 */
#include "text.h"

#include <assert.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

static char nothing[1] = "";

void text_init(struct text *t, size_t max)
{
	*t = (struct text){.data = nothing, .max = max};
}

void text_free(struct text *t)
{
	if (t->data != nothing)
		free(t->data);
	*t = (struct text){.data = nothing, .max = t->max};
}

void text_reset(struct text *t)
{
	t->len = 0;
	t->cut = false;
	if (t->data != nothing)
		t->data[0] = '\0';
}

static bool make_room(struct text *t, size_t len)
{
	if (len > t->max - t->len) {
		t->cut = true;
		return false;
	}
	size_t need = t->len + len + 1;
	if (need <= t->cap)
		return true;
	size_t cap = t->cap ? t->cap : 64;
	while (cap < need)
		cap += cap / 2;
	t->data = xrealloc(t->data == nothing ? NULL : t->data, cap, 1);
	t->cap = cap;
	return true;
}

void text_add_bytes(struct text *t, const void *bytes, size_t len)
{
	if (len == 0 || !make_room(t, len))
		return;
	memcpy(t->data + t->len, bytes, len);
	t->len += len;
	t->data[t->len] = '\0';
}

void text_add(struct text *t, const char *s)
{
	text_add_bytes(t, s, strlen(s));
}

void text_add_char(struct text *t, char c)
{
	text_add_bytes(t, &c, 1);
}

void text_addf(struct text *t, const char *fmt, ...)
{
	va_list ap, again;
	va_start(ap, fmt);
	va_copy(again, ap);
	int len = vsnprintf(NULL, 0, fmt, ap);
	va_end(ap);
	assert(len >= 0);
	if (len > 0 && make_room(t, (size_t)len)) {
		vsnprintf(t->data + t->len, (size_t)len + 1, fmt, again);
		t->len += (size_t)len;
	}
	va_end(again);
}

bool text_fits(const struct text *t)
{
	return !t->cut;
}

char *text_take(struct text *t)
{
	char *s = t->data == nothing ? xstrdup("") : t->data;
	*t = (struct text){.data = nothing, .max = t->max};
	return s;
}

/*
 * One code point from s, RFC 3629 section 4: length of its sequence, 0 when malformed.
 */
static size_t utf8_next(const unsigned char *s, size_t len, uint32_t *code)
{
	if (s[0] < 0x80) {
		*code = s[0];
		return 1;
	}
	size_t n = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
	static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
	if (s[0] < 0xC2 || s[0] > 0xF4 || n > len)
		return 0;
	uint32_t c = s[0] & (0x7Fu >> n);
	for (size_t i = 1; i < n; i++) {
		if ((s[i] & 0xC0) != 0x80)
			return 0;
		c = c << 6 | (s[i] & 0x3F);
	}
	if (c < least[n] || c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF))
		return 0;
	*code = c;
	return n;
}

bool utf8_is_valid(const char *s, size_t len)
{
	uint32_t code;
	for (size_t i = 0, n; i < len; i += n) {
		n = utf8_next((const unsigned char *)s + i, len - i, &code);
		if (n == 0)
			return false;
	}
	return true;
}

static bool breaks_a_line(uint32_t c)
{
	return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x2028 ||
	       c == 0x2029 || (c >= 0x202A && c <= 0x202E) ||
	       (c >= 0x2066 && c <= 0x2069);
}

bool utf8_is_line(const char *s, size_t len)
{
	uint32_t code;
	for (size_t i = 0, n; i < len; i += n) {
		n = utf8_next((const unsigned char *)s + i, len - i, &code);
		if (n == 0 || breaks_a_line(code))
			return false;
	}
	return true;
}

size_t utf8_length(const char *s)
{
	size_t n = 0;
	for (; *s; s++)
		n += ((unsigned char)*s & 0xC0) != 0x80;
	return n;
}

int hex_value(char c)
{
	if (c >= '0' && c <= '9')
		return c - '0';
	if (c >= 'a' && c <= 'f')
		return c - 'a' + 10;
	if (c >= 'A' && c <= 'F')
		return c - 'A' + 10;
	return -1;
}
