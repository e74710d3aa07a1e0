/* SPDX-License-Identifier: MIT */
/*
 * html.c - one function per context, and no way around them.
 *
 * Templates with "raw" holes were left: every such hole is one forgotten escape away from
 * a page that runs a member's name.  Here the writer knows from the attribute's name which
 * rules its value follows (text or address), so a handler cannot choose the wrong ones.
 *
 * U+FFFD stands for what may not be on a page.  The store refuses the same characters in
 * names already (utf8_is_line), so it is seen only when something slipped past.
 */
#include "html.h"

#include <assert.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const never_closed[] = {
    "meta", "link", "input", "br", "hr", "img", "col", NULL};
static const char *const bare[] = {"required", "checked", "selected",
    "disabled", "readonly", "autofocus", "open", "hidden", "multiple", NULL};
static const char *const addresses[] = {
    "href", "src", "action", "formaction", NULL};
static const char *const ends_line[] = {"p", "div", "li", "ul", "ol", "dl",
    "dt", "dd", "tr", "table", "thead", "tbody", "tfoot", "caption", "form",
    "section", "header", "footer", "main", "nav", "h1", "h2", "h3", "fieldset",
    "legend", "option", "select", "head", "title", "body", "details", "summary",
    "figure", "figcaption", "button", "label", "html", NULL};

static bool is_in(const char *const list[], const char *s)
{
	for (; *list; list++)
		if (strcmp(*list, s) == 0)
			return true;
	return false;
}

void html_init(struct html *h)
{
	*h = (struct html){0};
	text_init(&h->out, HTML_PAGE_MAX);
}

void html_free(struct html *h)
{
	text_free(&h->out);
}

/* One character of UTF-8 at s (len bytes are there): its length, or 0 when it is none. */
static size_t sequence_length(const char *s, size_t len)
{
	unsigned char c = (unsigned char)s[0];
	size_t n = c < 0x80 ? 1 : c < 0xe0 ? 2 : c < 0xf0 ? 3 : 4;
	return n <= len && utf8_is_valid(s, n) ? n : 0;
}

static bool is_shown(const char *s, size_t n)
{
	return (n == 1 && (*s == '\n' || *s == '\t')) || utf8_is_line(s, n);
}

static const char *entity_of(char c)
{
	switch (c) {
	case '&':
		return "&amp;";
	case '<':
		return "&lt;";
	case '>':
		return "&gt;";
	case '"':
		return "&quot;";
	case '\'':
		return "&#39;";
	default:
		return NULL;
	}
}

/* Text and quoted attribute values are safe under the same five entities. */
static void add_escaped(struct text *t, const char *s)
{
	size_t len = strlen(s);
	while (len > 0) {
		size_t n = sequence_length(s, len);
		const char *entity = n == 1 ? entity_of(*s) : NULL;
		if (entity)
			text_add(t, entity);
		else if (n > 0 && is_shown(s, n))
			text_add_bytes(t, s, n);
		else
			text_add(t, "\xef\xbf\xbd");
		n = n ? n : 1;
		s += n;
		len -= n;
	}
}

static void end_tag_start(struct html *h)
{
	if (h->in_tag)
		text_add_char(&h->out, '>');
	h->in_tag = false;
}

static void check_name(const char *name)
{
	assert(*name);
	for (const char *p = name; *p; p++)
		assert((*p >= 'a' && *p <= 'z') || (*p >= '0' && *p <= '9') ||
		       *p == '-');
}

static bool may_carry_script(const char *attribute)
{
	return strncmp(attribute, "on", 2) == 0 ||
	       strcmp(attribute, "style") == 0 ||
	       strcmp(attribute, "srcdoc") == 0 ||
	       strcmp(attribute, "ping") == 0;
}

void html_attr(struct html *h, const char *name, const char *value)
{
	assert(h->in_tag);
	check_name(name);
	assert(!may_carry_script(name));
	if (!value)
		return;
	text_add_char(&h->out, ' ');
	text_add(&h->out, name);
	if (!*value && is_in(bare, name))
		return;
	if (is_in(addresses, name) && !url_is_own(value))
		value = "/";
	text_add(&h->out, "=\"");
	add_escaped(&h->out, value);
	text_add_char(&h->out, '"');
}

__attribute__((format(printf, 1, 0))) static char *formatted(
    const char *fmt, va_list ap)
{
	char *s = NULL;
	int n = vasprintf(&s, fmt, ap);
	assert(n >= 0);
	return s;
}

void html_attrf(struct html *h, const char *name, const char *fmt, ...)
{
	va_list ap;
	va_start(ap, fmt);
	char *s = formatted(fmt, ap);
	va_end(ap);
	html_attr(h, name, s);
	free(s);
}

void html_open(struct html *h, const char *tag, ...)
{
	check_name(tag);
	assert(strcmp(tag, "script") != 0 && strcmp(tag, "style") != 0 &&
	       strcmp(tag, "iframe") != 0 && strcmp(tag, "object") != 0);
	end_tag_start(h);
	text_add_char(&h->out, '<');
	text_add(&h->out, tag);
	h->in_tag = true;
	va_list ap;
	va_start(ap, tag);
	for (const char *name; (name = va_arg(ap, const char *));)
		html_attr(h, name, va_arg(ap, const char *));
	va_end(ap);
	if (is_in(never_closed, tag))
		return;
	assert(h->depth < HTML_DEPTH_MAX);
	h->open[h->depth++] = tag;
}

void html_close(struct html *h, const char *tag)
{
	assert(h->depth > 0 && strcmp(h->open[h->depth - 1], tag) == 0);
	h->depth--;
	end_tag_start(h);
	text_add(&h->out, "</");
	text_add(&h->out, tag);
	text_add_char(&h->out, '>');
	if (is_in(ends_line, tag))
		text_add_char(&h->out, '\n');
}

void html_text(struct html *h, const char *s)
{
	end_tag_start(h);
	add_escaped(&h->out, s);
}

void html_textf(struct html *h, const char *fmt, ...)
{
	va_list ap;
	va_start(ap, fmt);
	char *s = formatted(fmt, ap);
	va_end(ap);
	html_text(h, s);
	free(s);
}

void html_item(struct html *h, const char *tag, const char *s)
{
	html_open(h, tag, NULL);
	html_text(h, s);
	html_close(h, tag);
}

void html_itemf(struct html *h, const char *tag, const char *fmt, ...)
{
	va_list ap;
	va_start(ap, fmt);
	char *s = formatted(fmt, ap);
	va_end(ap);
	html_item(h, tag, s);
	free(s);
}

void html_name(struct html *h, const char *s)
{
	html_item(h, "bdi", s);
}

bool html_picture(struct html *h, const struct text *svg)
{
	if (!text_fits(svg) || !svg_is_plain(svg->data, svg->len))
		return false;
	end_tag_start(h);
	text_add_bytes(&h->out, svg->data, svg->len);
	return true;
}

bool html_sheet(struct html *h, const struct text *sheet)
{
	if (!text_fits(sheet) || !sheet_is_plain(sheet->data, sheet->len))
		return false;
	end_tag_start(h);
	text_add_bytes(&h->out, sheet->data, sheet->len);
	return true;
}

void html_doctype(struct html *h)
{
	assert(h->out.len == 0);
	text_add(&h->out, "<!DOCTYPE html>\n");
}

bool html_is_whole(const struct html *h)
{
	return h->depth == 0 && !h->in_tag && text_fits(&h->out);
}

void url_add_part(struct text *t, const char *s)
{
	static const char hex[] = "0123456789ABCDEF";
	for (; *s; s++) {
		unsigned char c = (unsigned char)*s;
		if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
		    (c >= '0' && c <= '9') || strchr("-._~", c)) {
			text_add_char(t, (char)c);
			continue;
		}
		char code[3] = {'%', hex[c >> 4], hex[c & 15]};
		text_add_bytes(t, code, sizeof code);
	}
}

bool url_is_own(const char *url)
{
	if (url[0] != '/' && url[0] != '?' && url[0] != '#')
		return false;
	if (url[0] == '/' && url[1] == '/')
		return false;
	for (const char *p = url; *p; p++)
		if ((unsigned char)*p <= ' ' || *p == '\\' || *p == 0x7f)
			return false;
	return true;
}
