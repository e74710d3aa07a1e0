/* SPDX-License-Identifier: MIT */
/*
 * canvas_pdf.c - a canvas as PDF.
 *
 * The same canvas gives the same bytes: the date is the plan's, not the clock's, and
 * nothing of the machine goes in.  cairo 1.16 cannot say in which language a document
 * is written, which a screen reader needs to know; so the catalogue is written once
 * more at the end, as an incremental update (ISO 32000-1, 7.5.6), with that added.
 */
#include "canvas.h"

#include <cairo-pdf.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <qrencode.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "hatch.h"

static cairo_status_t on_bytes(
    void *ctx, const unsigned char *bytes, unsigned len)
{
	struct text *out = ctx;

	text_add_bytes(out, bytes, len);
	return text_fits(out) ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

static void add_hatch_line(
    void *ctx, double x1, double y1, double x2, double y2)
{
	cairo_t *cr = ctx;

	cairo_move_to(cr, x1, y1);
	cairo_line_to(cr, x2, y2);
}

static void draw_rect(cairo_t *cr, const struct item *item)
{
	static const double shade[] = {
	    [FILL_WHITE] = 1, [FILL_BLACK] = 0, [FILL_SHADE] = 0.9};
	const struct box *b = &item->box;

	if (item->fill == FILL_WHITE || item->fill == FILL_BLACK ||
	    item->fill == FILL_SHADE) {
		cairo_set_source_rgb(cr, shade[item->fill], shade[item->fill],
		    shade[item->fill]);
		cairo_rectangle(cr, b->x, b->y, b->w, b->h);
		cairo_fill(cr);
	} else if (item->fill != FILL_NONE) {
		struct hatch hatch = hatch_of(item->fill);
		cairo_set_source_rgb(cr, hatch.grey, hatch.grey, hatch.grey);
		cairo_set_line_width(cr, hatch.line);
		cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
		hatch_lines(item->fill, b, add_hatch_line, cr);
		cairo_stroke(cr);
	}
	if (item->line > 0) {
		cairo_set_source_rgb(cr, 0, 0, 0);
		cairo_set_line_width(cr, item->line);
		cairo_rectangle(cr, b->x, b->y, b->w, b->h);
		cairo_stroke(cr);
	}
}

static void draw_line(cairo_t *cr, const struct item *item)
{
	const double dash[] = {3, 3};

	cairo_set_source_rgb(cr, 0, 0, 0);
	cairo_set_line_width(cr, item->line);
	cairo_set_dash(cr, dash, item->dashed ? 2 : 0, 0);
	cairo_move_to(cr, item->box.x, item->box.y);
	cairo_line_to(cr, item->box.x + item->box.w, item->box.y + item->box.h);
	cairo_stroke(cr);
	cairo_set_dash(cr, dash, 0, 0);
}

static void draw_torn(cairo_t *cr, const struct item *item)
{
	cairo_set_source_rgb(cr, 0, 0, 0);
	cairo_set_line_width(cr, 0.9);
	cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
	torn_lines(&item->box, add_hatch_line, cr);
	cairo_stroke(cr);
	cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
}

static void draw_text(cairo_t *cr, const struct item *item)
{
	PangoRectangle logical;

	/* item->box is where the ink of the layout lies; its origin may differ (alignment) */
	pango_layout_get_extents(item->layout, NULL, &logical);
	cairo_set_source_rgb(cr, 0, 0, 0);
	cairo_move_to(cr, item->box.x - (double)logical.x / PANGO_SCALE,
	    item->box.y - (double)logical.y / PANGO_SCALE);
	pango_cairo_show_layout(cr, item->layout);
}

static void draw_qr(cairo_t *cr, const struct item *item)
{
	QRcode *code = QRcode_encodeString8bit(item->text, 0, QR_ECLEVEL_M);

	if (!code)
		return;
	double step = item->box.w / code->width;
	cairo_set_source_rgb(cr, 0, 0, 0);
	for (int y = 0; y < code->width; y++) {
		for (int x = 0; x < code->width; x++) {
			if (code->data[y * code->width + x] & 1)
				cairo_rectangle(cr, item->box.x + x * step,
				    item->box.y + y * step, step, step);
		}
	}
	cairo_fill(cr);
	QRcode_free(code);
}

struct outline { /* the entry above, for each level */
	int ids[8];
};

static void add_outline(cairo_surface_t *surface, const struct item *item,
    size_t page, struct outline *outline)
{
	char where[96], y[CANVAS_NUMBER_MAX];
	int parent = item->level > 1 ? outline->ids[item->level - 1]
				     : CAIRO_PDF_OUTLINE_ROOT;

	snprintf(where, sizeof(where), "page=%zu pos=[0 %s]", page + 1,
	    canvas_number(y, item->box.y));
	outline->ids[item->level] =
	    cairo_pdf_surface_add_outline(surface, parent, item->text, where,
		item->level == 1 ? CAIRO_PDF_OUTLINE_FLAG_OPEN
				 : (cairo_pdf_outline_flags_t)0);
}

static void draw_page(cairo_t *cr, cairo_surface_t *surface,
    const struct canvas *c, size_t page, struct outline *outline)
{
	for (size_t i = 0; i < c->pages[page].n; i++) {
		const struct item *item = &c->pages[page].items[i];
		switch (item->kind) {
		case ITEM_RECT:
			draw_rect(cr, item);
			break;
		case ITEM_LINE:
			draw_line(cr, item);
			break;
		case ITEM_TORN:
			draw_torn(cr, item);
			break;
		case ITEM_TEXT:
			draw_text(cr, item);
			break;
		case ITEM_QR:
			draw_qr(cr, item);
			break;
		case ITEM_OUTLINE:
			add_outline(surface, item, page, outline);
			break;
		}
	}
	cairo_show_page(cr);
}

static void set_about(
    cairo_surface_t *surface, const struct canvas_about *about)
{
	const char *made = about->made ? about->made : "2000-01-01T00:00:00Z";

	cairo_pdf_surface_set_metadata(
	    surface, CAIRO_PDF_METADATA_TITLE, about->title);
	if (about->author && *about->author)
		cairo_pdf_surface_set_metadata(
		    surface, CAIRO_PDF_METADATA_AUTHOR, about->author);
	if (about->subject && *about->subject)
		cairo_pdf_surface_set_metadata(
		    surface, CAIRO_PDF_METADATA_SUBJECT, about->subject);
	cairo_pdf_surface_set_metadata(
	    surface, CAIRO_PDF_METADATA_CREATOR, "tearshare");
	cairo_pdf_surface_set_metadata(
	    surface, CAIRO_PDF_METADATA_CREATE_DATE, made);
	cairo_pdf_surface_set_metadata(
	    surface, CAIRO_PDF_METADATA_MOD_DATE, made);
}

/* --- the language, as an incremental update --------------------------------------------- */

static const char *find_last(const struct text *pdf, const char *word)
{
	size_t n = strlen(word);

	for (size_t i = pdf->len >= n ? pdf->len - n + 1 : 0; i > 0; i--) {
		if (memcmp(pdf->data + i - 1, word, n) == 0)
			return pdf->data + i - 1;
	}
	return NULL;
}

static const char *find_next(
    const struct text *pdf, size_t from, const char *word)
{
	return memmem(pdf->data + from, pdf->len - from, word, strlen(word));
}

/* Leaves the PDF as it is when it is not built as cairo builds it. */
static void add_language(struct text *pdf, const char *language)
{
	const char *trailer = find_last(pdf, "\ntrailer");
	const char *startxref = find_last(pdf, "\nstartxref");
	char name[64];
	int root, size;

	if (!trailer || !startxref || startxref < trailer)
		return;
	const char *root_at = strstr(trailer, "/Root ");
	const char *size_at = strstr(trailer, "/Size ");
	const char *info_at = strstr(trailer, "/Info ");
	if (!root_at || !size_at ||
	    sscanf(root_at, "/Root %d 0 R", &root) != 1 ||
	    sscanf(size_at, "/Size %d", &size) != 1)
		return;
	long before = strtol(startxref + strlen("\nstartxref"), NULL, 10);
	snprintf(name, sizeof(name), "\n%d 0 obj\n", root);
	const char *object = find_next(pdf, 0, name);
	if (!object)
		return;
	object += strlen(name);
	const char *end = strstr(object, "\nendobj");
	const char *close = end;
	while (close && close > object && memcmp(close, ">>", 2) != 0)
		close--;
	if (!close || close == object)
		return;

	struct text more;
	text_init(&more, 1 << 20);
	size_t at = pdf->len;
	text_addf(&more, "%d 0 obj\n", root);
	text_add_bytes(&more, object, (size_t)(close - object));
	text_addf(&more,
	    "   /Lang (%s)\n   /ViewerPreferences << /DisplayDocTitle true "
	    ">>\n>>\nendobj\n",
	    language);
	size_t xref = at + more.len;
	text_addf(&more,
	    "xref\n%d 1\n%010zu 00000 n \ntrailer\n<< /Size %d\n   /Root %d 0 "
	    "R\n",
	    root, at, size, root);
	if (info_at) {
		int info = 0;
		if (sscanf(info_at, "/Info %d 0 R", &info) == 1)
			text_addf(&more, "   /Info %d 0 R\n", info);
	}
	text_addf(
	    &more, "   /Prev %ld\n>>\nstartxref\n%zu\n%%%%EOF\n", before, xref);
	text_add_bytes(pdf, more.data, more.len);
	text_free(&more);
}

bool canvas_pdf(const struct canvas *c, const struct canvas_about *about,
    struct text *out, struct err *err)
{
	cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
	    on_bytes, out, c->width, c->height);
	cairo_t *cr = cairo_create(surface);
	struct outline outline = {{0}};
	cairo_status_t status;

	set_about(surface, about);
	for (size_t i = 0; i < c->n_pages; i++)
		draw_page(cr, surface, c, i, &outline);
	cairo_surface_finish(surface);
	status = cairo_status(cr);
	if (status == CAIRO_STATUS_SUCCESS)
		status = cairo_surface_status(surface);
	cairo_destroy(cr);
	cairo_surface_destroy(surface);
	if (status != CAIRO_STATUS_SUCCESS)
		return err_set(err, ERR_INTERNAL, "could not draw the PDF: %s",
		    cairo_status_to_string(status));
	add_language(out, about->language);
	if (!text_fits(out))
		return err_set(err, ERR_INTERNAL,
		    "the PDF is larger than %zu bytes", out->max);
	return true;
}
