/* SPDX-License-Identifier: MIT */
/*
 * canvas.c - writing down what is drawn.
 *
 * Shaping a text is the dear part of drawing it, so it is done once: the shaped layout is
 * kept with the item and used again when the page becomes PDF.
 */
#include "canvas.h"

#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "arena.h"
#include "mark.h"

#define CANVAS_MAX ((size_t)1 << 31)

struct canvas *canvas_new(double width, double height, const char *language)
{
	struct canvas *c = xcalloc(1, sizeof(*c));
	PangoContext *context =
	    pango_font_map_create_context(pango_cairo_font_map_get_default());
	cairo_font_options_t *options = cairo_font_options_create();

	/* the paper is the only device: no hinting, and a point is a unit */
	cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
	cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
	pango_cairo_context_set_font_options(context, options);
	pango_cairo_context_set_resolution(context, 72);
	pango_context_set_round_glyph_positions(context, FALSE);
	pango_context_set_language(
	    context, pango_language_from_string(language));
	cairo_font_options_destroy(options);
	c->width = width;
	c->height = height;
	c->arena = arena_new(CANVAS_MAX);
	c->context = context;
	return c;
}

void canvas_delete(struct canvas *c)
{
	if (!c)
		return;
	for (size_t p = 0; p < c->n_pages; p++) {
		for (size_t i = 0; i < c->pages[p].n; i++) {
			if (c->pages[p].items[i].layout)
				g_object_unref(c->pages[p].items[i].layout);
		}
		free(c->pages[p].items);
	}
	free(c->pages);
	g_object_unref(c->context);
	arena_delete(c->arena);
	free(c);
}

void canvas_add_page(struct canvas *c)
{
	if (c->n_pages == c->room) {
		c->room = c->room ? 2 * c->room : 8;
		c->pages = xrealloc(c->pages, c->room, sizeof(*c->pages));
	}
	c->now = c->n_pages++;
	c->pages[c->now] = (struct canvas_page){0};
}

void canvas_turn_to(struct canvas *c, size_t page)
{
	assert(page < c->n_pages);
	c->now = page;
}

size_t canvas_drawn(const struct canvas *c)
{
	return c->pages[c->now].n;
}

void canvas_undraw(struct canvas *c, size_t drawn)
{
	struct canvas_page *page = &c->pages[c->now];

	while (page->n > drawn) {
		struct item *item = &page->items[--page->n];
		if (item->layout)
			g_object_unref(item->layout);
	}
}

static struct item *add(struct canvas *c, enum item_kind kind, struct box box)
{
	struct canvas_page *page = &c->pages[c->now];

	assert(c->n_pages > 0);
	if (page->n == page->room) {
		page->room = page->room ? 2 * page->room : 64;
		page->items =
		    xrealloc(page->items, page->room, sizeof(*page->items));
	}
	struct item *item = &page->items[page->n++];
	*item = (struct item){.kind = kind, .box = box};
	return item;
}

void canvas_rect(struct canvas *c, struct box box, enum fill fill, double line)
{
	struct item *item = add(c, ITEM_RECT, box);
	item->fill = fill;
	item->line = line;
}

void canvas_line(struct canvas *c, double x1, double y1, double x2, double y2,
    double line, bool dashed)
{
	struct item *item =
	    add(c, ITEM_LINE, (struct box){x1, y1, x2 - x1, y2 - y1});
	item->line = line;
	item->dashed = dashed;
}

void canvas_torn(struct canvas *c, double x, double y, double w)
{
	add(c, ITEM_TORN, (struct box){x, y, w, 0});
}

/* --- text ------------------------------------------------------------------------------- */

static void span(
    PangoAttrList *list, PangoAttribute *attr, size_t from, size_t to)
{
	attr->start_index = (guint)from;
	attr->end_index = (guint)to;
	pango_attr_list_insert(list, attr);
}

/* Bytes of a shelf code ("17-PKFU-R3") at s, or 0. */
static size_t code_span(const char *s)
{
	size_t n = 0, hyphens = 0;

	for (; isdigit((unsigned char)s[n]) || (s[n] >= 'A' && s[n] <= 'Z') ||
	       s[n] == '-';
	     n++)
		hyphens += s[n] == '-';
	return hyphens > 0 ? n : 0;
}

/* No line ends within "12 1/2 in" or "17-PKFU-R3". */
static void set_unbroken(PangoAttrList *list, const char *s)
{
	for (size_t i = 0; s[i]; i++) {
		if (i > 0 && s[i - 1] != ' ' && s[i - 1] != '(')
			continue;
		size_t n = mark_span(s + i);
		if (n == 0)
			n = code_span(s + i);
		if (n > 0)
			span(
			    list, pango_attr_allow_breaks_new(FALSE), i, i + n);
	}
}

/* "1/2" becomes small figures, the upper one raised; the text itself stays as it is. */
static void set_fractions(PangoAttrList *list, const char *s, double size)
{
	for (size_t i = 0; s[i]; i++) {
		size_t slash = i, end;
		if (!isdigit((unsigned char)s[i]) || (i > 0 && s[i - 1] != ' '))
			continue;
		while (isdigit((unsigned char)s[slash]))
			slash++;
		if (s[slash] != '/')
			continue;
		for (end = slash + 1; isdigit((unsigned char)s[end]);)
			end++;
		span(list, pango_attr_scale_new(0.78), i, slash);
		span(list,
		    pango_attr_rise_new((int)(size * 0.26 * PANGO_SCALE)), i,
		    slash);
		span(list, pango_attr_scale_new(0.78), slash + 1, end);
		i = end - 1;
	}
}

static PangoLayout *shape(
    struct canvas *c, double width, const struct style *style, const char *s)
{
	static const char *const faces[] = {
	    [FACE_SANS] = "DejaVu Sans, Noto Sans",
	    [FACE_SERIF] = "DejaVu Serif, Noto Serif"};
	static const PangoAlignment aligns[] = {
	    PANGO_ALIGN_LEFT, PANGO_ALIGN_CENTER, PANGO_ALIGN_RIGHT};
	PangoLayout *layout = pango_layout_new(c->context);
	PangoFontDescription *font = pango_font_description_new();
	PangoAttrList *attrs = pango_attr_list_new();

	pango_font_description_set_family_static(font, faces[style->face]);
	pango_font_description_set_absolute_size(
	    font, style->size * PANGO_SCALE);
	pango_font_description_set_weight(
	    font, style->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
	pango_layout_set_font_description(layout, font);
	span(attrs, pango_attr_font_features_new("tnum=1"), 0, strlen(s));
	if (style->fractions)
		set_fractions(attrs, s, style->size);
	if (style->wrap)
		set_unbroken(attrs, s);
	pango_layout_set_attributes(layout, attrs);
	pango_layout_set_text(layout, s, -1);
	pango_layout_set_alignment(layout, aligns[style->align]);
	if (width > 0) {
		pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
		if (style->wrap)
			pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
		else
			pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
	}
	if (style->wrap)
		pango_layout_set_spacing(
		    layout, (int)(style->size * 0.2 * PANGO_SCALE));
	else
		pango_layout_set_single_paragraph_mode(layout, TRUE);
	pango_attr_list_unref(attrs);
	pango_font_description_free(font);
	return layout;
}

static struct box extents(PangoLayout *layout, double x, double y)
{
	PangoRectangle logical;

	pango_layout_get_extents(layout, NULL, &logical);
	return (struct box){
	    .x = x + (double)logical.x / PANGO_SCALE,
	    .y = y + (double)logical.y / PANGO_SCALE,
	    .w = (double)logical.width / PANGO_SCALE,
	    .h = (double)logical.height / PANGO_SCALE,
	};
}

static struct item *add_text(struct canvas *c, struct box room,
    const struct style *style, const char *s, PangoLayout *layout)
{
	struct item *item = add(c, ITEM_TEXT, extents(layout, room.x, room.y));

	item->room = room;
	item->style = *style;
	item->text = arena_strdup(c->arena, s);
	item->layout = layout;
	c->unknown_glyphs +=
	    (size_t)pango_layout_get_unknown_glyphs_count(layout);
	return item;
}

struct box canvas_text(
    struct canvas *c, struct box room, const struct style *style, const char *s)
{
	struct item *item =
	    add_text(c, room, style, s, shape(c, room.w, style, s));

	if (item->room.h <= 0)
		item->room.h = item->box.y + item->box.h - room.y;
	return item->box;
}

bool canvas_label(
    struct canvas *c, struct box room, const struct style *style, const char *s)
{
	PangoLayout *layout = shape(c, 0, style, s);
	struct box box = extents(layout, 0, 0);

	if (box.w > room.w || box.h > room.h) {
		g_object_unref(layout);
		return false;
	}
	double x = room.x + (room.w - box.w) / 2,
	       y = room.y + (room.h - box.h) / 2;
	struct item *item =
	    add_text(c, (struct box){x, y, box.w, box.h}, style, s, layout);
	item->room = room;
	return true;
}

struct box canvas_measure(
    struct canvas *c, double width, const struct style *style, const char *s)
{
	PangoLayout *layout = shape(c, width, style, s);
	struct box box = extents(layout, 0, 0);

	g_object_unref(layout);
	return box;
}

void canvas_qr(struct canvas *c, struct box box, const char *s)
{
	add(c, ITEM_QR, box)->text = arena_strdup(c->arena, s);
}

void canvas_outline(struct canvas *c, int level, double y, const char *name)
{
	struct item *item = add(c, ITEM_OUTLINE, (struct box){0, y, 0, 0});
	item->level = level;
	item->text = arena_strdup(c->arena, name);
}

const char *canvas_number(char buf[static CANVAS_NUMBER_MAX], double value)
{
	long long tenths = llround(value * 10);

	snprintf(buf, CANVAS_NUMBER_MAX, "%s%lld.%lld", tenths < 0 ? "-" : "",
	    llabs(tenths) / 10, llabs(tenths) % 10);
	return buf;
}
