/* SPDX-License-Identifier: MIT */
/*
 * canvas_svg.c - one page of a canvas as SVG, and a canvas as a list of commands.
 *
 * Text stays text: it can be searched, read aloud and copied.  The viewer may have another
 * font than we measured with, so each line says how wide it is to be.
 */
#include "canvas.h"

#include <pango/pangocairo.h>
#include <qrencode.h>
#include <string.h>

#include "hatch.h"
#include "markup.h"

static void number(struct text *out, const char *name, double value)
{
	char buf[CANVAS_NUMBER_MAX];
	text_addf(out, " %s=\"%s\"", name, canvas_number(buf, value));
}

static void move(struct text *out, const char *command, double x, double y)
{
	char bx[CANVAS_NUMBER_MAX], by[CANVAS_NUMBER_MAX];
	text_addf(out, "%s%s %s", command, canvas_number(bx, x),
	    canvas_number(by, y));
}

static void add_hatch_line(
    void *ctx, double x1, double y1, double x2, double y2)
{
	move(ctx, "M", x1, y1);
	move(ctx, "L", x2, y2);
}

static void frame(struct text *out, const struct box *b)
{
	number(out, "x", b->x);
	number(out, "y", b->y);
	number(out, "width", b->w);
	number(out, "height", b->h);
}

static void svg_rect(struct text *out, const struct item *item)
{
	static const char *const plain[] = {[FILL_NONE] = "none",
	    [FILL_WHITE] = "#fff",
	    [FILL_BLACK] = "#000",
	    [FILL_SHADE] = "#e6e6e6"};

	text_add(out, "<rect");
	frame(out, &item->box);
	text_addf(out, " fill=\"%s\"",
	    item->fill <= FILL_SHADE ? plain[item->fill] : "#fff");
	if (item->line > 0) {
		text_add(out, " stroke=\"#000\"");
		number(out, "stroke-width", item->line);
	}
	text_add(out, "/>\n");
	if (item->fill > FILL_SHADE) {
		struct hatch hatch = hatch_of(item->fill);
		int grey = (int)(hatch.grey * 255);
		text_addf(out, "<path fill=\"none\" stroke=\"#%02x%02x%02x\"",
		    grey, grey, grey);
		number(out, "stroke-width", hatch.line);
		text_add(out, " d=\"");
		hatch_lines(item->fill, &item->box, add_hatch_line, out);
		text_add(out, "\"/>\n");
	}
}

static void svg_line(struct text *out, const struct item *item)
{
	text_add(out, "<path fill=\"none\" stroke=\"#000\"");
	number(out, "stroke-width", item->line);
	if (item->dashed)
		text_add(out, " stroke-dasharray=\"3 3\"");
	text_add(out, " d=\"");
	add_hatch_line(out, item->box.x, item->box.y, item->box.x + item->box.w,
	    item->box.y + item->box.h);
	text_add(out, "\"/>\n");
}

static void svg_torn(struct text *out, const struct item *item)
{
	text_add(out,
	    "<path fill=\"none\" stroke=\"#000\" stroke-width=\"0.9\" d=\"");
	torn_lines(&item->box, add_hatch_line, out);
	text_add(out, "\"/>\n");
}

/* The bytes a line shows, with an ellipsis when the layout cut it. */
static void svg_text_line(struct text *out, const struct item *item,
    PangoLayoutIter *iter, const char *all)
{
	PangoLayoutLine *line = pango_layout_iter_get_line_readonly(iter);
	PangoRectangle logical;
	struct text part;
	double x = item->box.x, y = item->box.y;
	PangoRectangle whole;

	pango_layout_get_extents(item->layout, NULL, &whole);
	pango_layout_iter_get_line_extents(iter, NULL, &logical);
	if (line->length == 0)
		return;
	text_init(&part, 1 << 16);
	text_add_bytes(&part, all + line->start_index, (size_t)line->length);
	text_add(out, "<text");
	number(out, "x", x + (double)(logical.x - whole.x) / PANGO_SCALE);
	number(out, "y",
	    y + (double)(pango_layout_iter_get_baseline(iter) - whole.y) /
		    PANGO_SCALE);
	number(out, "font-size", item->style.size);
	text_addf(out, " font-family=\"%s\"",
	    item->style.face == FACE_SERIF ? "DejaVu Serif, serif"
					   : "DejaVu Sans, sans-serif");
	if (item->style.bold)
		text_add(out, " font-weight=\"bold\"");
	number(out, "textLength", (double)logical.width / PANGO_SCALE);
	text_add(out, " lengthAdjust=\"spacingAndGlyphs\">");
	markup_text(out, part.data);
	text_add(out, "</text>\n");
	text_free(&part);
}

static void svg_text(struct text *out, const struct item *item)
{
	PangoLayoutIter *iter = pango_layout_get_iter(item->layout);
	const char *all = pango_layout_get_text(item->layout);

	do {
		svg_text_line(out, item, iter, all);
	} while (pango_layout_iter_next_line(iter));
	pango_layout_iter_free(iter);
}

static void svg_qr(struct text *out, const struct item *item)
{
	QRcode *code = QRcode_encodeString8bit(item->text, 0, QR_ECLEVEL_M);

	if (!code)
		return;
	text_addf(out, "<svg role=\"img\" viewBox=\"0 0 %d %d\"", code->width,
	    code->width);
	frame(out, &item->box);
	text_add(out, "><title>");
	markup_text(out, item->text);
	text_add(out, "</title><path d=\"");
	for (int y = 0; y < code->width; y++) {
		for (int x = 0; x < code->width; x++) {
			if (code->data[y * code->width + x] & 1)
				text_addf(out, "M%d %dh1v1h-1z", x, y);
		}
	}
	text_add(out, "\"/></svg>\n");
	QRcode_free(code);
}

static void svg_item(struct text *out, const struct item *item)
{
	switch (item->kind) {
	case ITEM_RECT:
		svg_rect(out, item);
		break;
	case ITEM_LINE:
		svg_line(out, item);
		break;
	case ITEM_TORN:
		svg_torn(out, item);
		break;
	case ITEM_TEXT:
		svg_text(out, item);
		break;
	case ITEM_QR:
		svg_qr(out, item);
		break;
	case ITEM_OUTLINE:
		break;
	}
}

void canvas_svg(const struct canvas *c, size_t page,
    const struct canvas_about *about, struct text *out)
{
	char w[CANVAS_NUMBER_MAX], h[CANVAS_NUMBER_MAX];

	canvas_number(w, c->width);
	canvas_number(h, c->height);
	text_addf(out,
	    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%spt\" "
	    "height=\"%spt\" "
	    "viewBox=\"0 0 %s %s\" xml:lang=\"",
	    w, h, w, h);
	markup_text(out, about->language);
	text_add(out, "\">\n<title>");
	markup_text(out, about->title);
	text_addf(out,
	    "</title>\n<rect width=\"%s\" height=\"%s\" fill=\"#fff\"/>\n", w,
	    h);
	for (size_t i = 0; i < c->pages[page].n; i++)
		svg_item(out, &c->pages[page].items[i]);
	text_add(out, "</svg>\n");
}

/* --- commands --------------------------------------------------------------------------- */

static void command_box(struct text *out, const char *name, const struct box *b)
{
	char v[4][CANVAS_NUMBER_MAX];

	text_addf(out, "%s %s %s %s %s", name, canvas_number(v[0], b->x),
	    canvas_number(v[1], b->y), canvas_number(v[2], b->w),
	    canvas_number(v[3], b->h));
}

static void command(struct text *out, const struct item *item)
{
	static const char *const fills[] = {[FILL_NONE] = "none",
	    [FILL_WHITE] = "white",
	    [FILL_BLACK] = "black",
	    [FILL_SHADE] = "shade",
	    [FILL_WASTE] = "waste",
	    [FILL_KEEP] = "keep",
	    [FILL_DOTS] = "dots",
	    [FILL_ACROSS] = "across",
	    [FILL_DOWN] = "down",
	    [FILL_PLUS] = "plus"};
	static const char *const names[] = {
	    "rect", "line", "torn", "text", "qr", "outline"};
	char v[CANVAS_NUMBER_MAX];

	command_box(out, names[item->kind], &item->box);
	if (item->kind == ITEM_RECT)
		text_addf(out, " %s", fills[item->fill]);
	if (item->kind == ITEM_RECT || item->kind == ITEM_LINE)
		text_addf(out, " pen %s%s", canvas_number(v, item->line),
		    item->dashed ? " dashed" : "");
	if (item->kind == ITEM_TEXT)
		text_addf(out, " %s %s%s",
		    item->style.face == FACE_SERIF ? "serif" : "sans",
		    canvas_number(v, item->style.size),
		    item->style.bold ? " bold" : "");
	if (item->kind == ITEM_OUTLINE)
		text_addf(out, " level %d", item->level);
	if (item->text)
		text_addf(out, " | %s", item->text);
	text_add_char(out, '\n');
}

void canvas_commands(const struct canvas *c, struct text *out)
{
	for (size_t p = 0; p < c->n_pages; p++) {
		struct box page = {0, 0, c->width, c->height};
		text_addf(out, "page %zu of %zu", p + 1, c->n_pages);
		command_box(out, "", &page);
		text_add_char(out, '\n');
		for (size_t i = 0; i < c->pages[p].n; i++)
			command(out, &c->pages[p].items[i]);
	}
}
