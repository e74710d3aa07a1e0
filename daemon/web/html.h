/* SPDX-License-Identifier: MIT */
/*
 * The one writer of pages.  Nothing reaches a page but through it, and each function
 * knows the context it writes into, so that a page cannot print raw text:
 *
 *     html_open(h, "a", "href", path, "class", "button", NULL);
 *     html_textf(h, "%lld sheets for %s", n, name);
 *     html_close(h, "a");
 *
 * Names of elements and attributes come from our code: a name that could carry script
 * ("script", "style", "onclick") ends the program in an assert.  Values and text may come
 * from anywhere: they are escaped, and what is not UTF-8, controls the terminal or turns
 * the direction of the text after it is shown as U+FFFD.  Attributes that hold an address
 * (href, action, src, formaction) take only paths of our own; another becomes "/".
 *
 * Elements are closed in the order the open ones ask for (asserted), so a page is always
 * well-formed; elements that are never closed in HTML (input, br) are not opened here either:
 * html_open() of one is the whole of it.
 */
#ifndef WEB_HTML_H
#define WEB_HTML_H

#include <stdbool.h>
#include <stddef.h>

#include "text.h"

#define HTML_PAGE_MAX ((size_t)8 << 20)
#define HTML_DEPTH_MAX 40

struct html {
	struct text out;
	const char *open[HTML_DEPTH_MAX];
	size_t depth;
	bool in_tag; /* "<p class=..." is written, its ">" not yet */
};

void html_init(struct html *h);
void html_free(struct html *h);

/* name, value pairs end with NULL.  A value NULL leaves its attribute out, a value of ""
 * writes the bare name where that is the way of HTML (required, checked). */
void html_open(struct html *h, const char *tag, ...) __attribute__((sentinel));
/* More attributes for the element just opened. */
void html_attr(struct html *h, const char *name, const char *value);
void html_attrf(struct html *h, const char *name, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));
void html_close(struct html *h, const char *tag);

void html_text(struct html *h, const char *s);
void html_textf(struct html *h, const char *fmt, ...)
    __attribute__((format(printf, 2, 3)));
/* An element with nothing but text in it. */
void html_item(struct html *h, const char *tag, const char *s);
void html_itemf(struct html *h, const char *tag, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));
/* What a person wrote (a name, a note): kept apart from the direction of the text around it. */
void html_name(struct html *h, const char *s);

/*
 * A picture from print/: SVG made by our own drawing code.  It is read through before it
 * is let in: only shapes, text and patterns, no script, no style, no address but "#id".
 * False when it was not let in (nothing is written then).
 */
bool html_picture(struct html *h, const struct text *svg);
bool svg_is_plain(const char *svg, size_t len);

/* The same for a tear sheet from print/: its root is a div, and plain parts of a page are let in
 * beside drawings. */
bool html_sheet(struct html *h, const struct text *sheet);
bool sheet_is_plain(const char *sheet, size_t len);

/* "<!DOCTYPE html>", first of all. */
void html_doctype(struct html *h);
/* True when everything is closed and nothing was cut off at the maximum. */
bool html_is_whole(const struct html *h);

/* One path segment or query value: all but RFC 3986's unreserved characters as %XX. */
void url_add_part(struct text *t, const char *s);
/* An address inside this server: "/x", "?x" or "#x"; not "//x", "/\x", "x:", nor with
 * control characters, spaces or backslashes. */
bool url_is_own(const char *url);

#endif
