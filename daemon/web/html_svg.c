/* SPDX-License-Identifier: MIT */
/*
 * html_svg.c - is this SVG only a drawing, this tear sheet only words, tables and drawings?
 *
 * Our drawing code escapes what it writes; this is the second pair of eyes before a
 * picture stands inside a page.  It reads tag by tag and knows what a drawing needs; what
 * it does not know it refuses, comments, declarations and CDATA included.  That is stricter
 * than XML, and enough: print/picture.c is the only author.
 */
#include "html.h"

#include <string.h>
#include <strings.h>

#define NAME_MAX_LEN 32

static const char *const shapes[] = {"svg", "g", "rect", "line", "path",
    "polyline", "polygon", "circle", "ellipse", "text", "tspan", "title",
    "desc", "defs", "pattern", "use", "clipPath", "marker", NULL};

static const char *const parts[] = {"div", "h2", "h3", "p", "ul", "li", "dl",
    "dt", "dd", "table", "caption", "thead", "tbody", "tr", "th", "td", "b",
    "span", "bdi", "br", NULL};

struct reader {
	const char *p, *end;
	const char *root;
};

static bool is_name_char(char c)
{
	return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
	       (c >= '0' && c <= '9') || c == '-' || c == ':';
}

static bool take_name(struct reader *r, char name[NAME_MAX_LEN])
{
	size_t n = 0;
	while (r->p < r->end && is_name_char(*r->p) && n + 1 < NAME_MAX_LEN)
		name[n++] = *r->p++;
	name[n] = '\0';
	return n > 0;
}

static void skip_space(struct reader *r)
{
	while (r->p < r->end && strchr(" \n\t", *r->p))
		r->p++;
}

static bool is_in(const char *const *list, const char *name)
{
	for (size_t i = 0; list[i]; i++)
		if (strcmp(list[i], name) == 0)
			return true;
	return false;
}

static bool is_known(const struct reader *r, const char *name)
{
	return is_in(shapes, name) ||
	       (strcmp(r->root, "div") == 0 && is_in(parts, name));
}

static bool contains(const char *s, size_t len, const char *what)
{
	return memmem(s, len, what, strlen(what)) != NULL;
}

/* An address may only point into the picture itself. */
static bool value_is_plain(const char *name, const char *s, size_t len)
{
	if (strncasecmp(name, "on", 2) == 0 || strcasecmp(name, "style") == 0 ||
	    strcasecmp(name, "src") == 0 || memchr(s, '<', len) ||
	    contains(s, len, "script:"))
		return false;
	if (strcasecmp(name, "href") == 0 ||
	    strcasecmp(name, "xlink:href") == 0)
		return len > 1 && s[0] == '#';
	return !contains(s, len, "url(") || strncmp(s, "url(#", 5) == 0;
}

static bool take_attribute(struct reader *r)
{
	char name[NAME_MAX_LEN];
	if (!take_name(r, name) || r->end - r->p < 3 || r->p[0] != '=' ||
	    r->p[1] != '"')
		return false;
	const char *value = r->p + 2;
	const char *quote = memchr(value, '"', (size_t)(r->end - value));
	if (!quote || !value_is_plain(name, value, (size_t)(quote - value)))
		return false;
	r->p = quote + 1;
	return true;
}

/* From after '<' to after '>'; depth goes up or down with it. */
static bool take_tag(struct reader *r, int *depth)
{
	char name[NAME_MAX_LEN];
	bool closing = r->p < r->end && *r->p == '/';
	if (closing)
		r->p++;
	if (!take_name(r, name) || !is_known(r, name))
		return false;
	if (*depth == 0 && (closing || strcmp(name, r->root) != 0))
		return false;
	for (;;) {
		skip_space(r);
		if (r->p >= r->end)
			return false;
		if (*r->p == '>' || *r->p == '/')
			break;
		if (closing || !take_attribute(r))
			return false;
	}
	bool empty = *r->p == '/';
	if (empty && (closing || ++r->p >= r->end || *r->p != '>'))
		return false;
	r->p++;
	*depth += closing ? -1 : empty ? 0 : 1;
	return true;
}

static bool has_controls(const char *s, size_t len)
{
	for (size_t i = 0; i < len; i++)
		if (((unsigned char)s[i] < ' ' && s[i] != '\n' &&
			s[i] != '\t') ||
		    s[i] == 0x7f)
			return true;
	return false;
}

static bool is_plain(const char *svg, size_t len, const char *root)
{
	struct reader r = {svg, svg + len, root};
	int depth = 0;
	bool any = false;

	if (has_controls(svg, len) || !utf8_is_valid(svg, len))
		return false;
	while (r.p < r.end) {
		if (*r.p == '<') {
			r.p++;
			if ((any && depth == 0) || !take_tag(&r, &depth))
				return false;
			any = true;
		} else if (depth == 0 && !strchr(" \n\t", *r.p)) {
			return false;
		} else {
			r.p++;
		}
	}
	return any && depth == 0;
}

bool svg_is_plain(const char *svg, size_t len)
{
	return is_plain(svg, len, "svg");
}

bool sheet_is_plain(const char *sheet, size_t len)
{
	return is_plain(sheet, len, "div");
}
