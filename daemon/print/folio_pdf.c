/* SPDX-License-Identifier: MIT */
/*
 * folio_pdf.c - a folio flows down its pages.
 *
 * As on a tear sheet each page says what it is a page of, and which of how many.  A table's
 * head is printed again on each page; figures are never broken or shortened: when they leave
 * no room for the names, the whole table is set smaller.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "catalogue.h"
#include "draw.h"
#include "folio.h"

#define HEADER 30.0
#define FOOTER 32.0
#define NAME_LEAST 110.0 /* points for what a row is of */
#define GAP 10.0         /* between columns */
#define CODE_SIDE                                                              \
	120.0 /* of a payment's code: version 13 in 42 mm is 0.6 mm a module */

struct ruling { /* of a table */
	double size;
	double x[FOLIO_COLUMNS_MAX], w[FOLIO_COLUMNS_MAX];
};

static void draw_title(struct flow *f, const struct folio *folio)
{
	const struct folio_about *a = &folio->about;
	struct style style = style_of(f, 26, true);

	style.face = FACE_SERIF;
	canvas_outline(f->canvas, 1, f->y, a->title);
	flow_text(f, &style, a->title);
	style.size = 16;
	if (a->person && *a->person)
		flow_text(f, &style, a->person);
	style = style_of(f, BODY, false);
	if (a->workshop && *a->workshop)
		flow_text(f, &style, a->workshop);
	if (a->studio && *a->studio)
		flow_text(f, &style, a->studio);
}

static void draw_fact(struct flow *f, const struct folio_fact *fact)
{
	struct style name = style_of(f, BODY, false),
		     value = style_of(f, fact->strong ? 16 : BODY, true);
	double left = f->width * 0.36;

	name.wrap = value.wrap = true;
	double high =
	    canvas_measure(f->canvas, left - GAP, &name, fact->name).h;
	double other =
	    canvas_measure(f->canvas, f->width - left, &value, fact->value).h;
	high = other > high ? other : high;
	flow_need(f, high);
	canvas_text(f->canvas, (struct box){f->left, f->y, left - GAP, 0},
	    &name, fact->name);
	canvas_text(f->canvas,
	    (struct box){f->left + left, f->y, f->width - left, 0}, &value,
	    fact->value);
	f->y += high + 3;
}

/* --- tables ------------------------------------------------------------------------------ */

static struct style cell_style(struct flow *f, const struct ruling *r,
    const struct folio_column *column, bool bold)
{
	struct style style = style_of(f, r->size, bold);

	style.align = column->number ? ALIGN_RIGHT : ALIGN_LEFT;
	return style;
}

static double widest(struct flow *f, const struct folio_block *b, size_t c,
    const struct ruling *r)
{
	struct style style = cell_style(f, r, &b->columns[c], true);
	double most =
	    canvas_measure(f->canvas, 0, &style, b->columns[c].name).w;

	for (size_t i = 0; i < b->n_rows; i++) {
		double w =
		    canvas_measure(f->canvas, 0, &style, b->rows[i].cells[c]).w;
		most = w > most ? w : most;
	}
	return most + 1;
}

static struct ruling rule_table(struct flow *f, const struct folio_block *b)
{
	struct ruling r = {.size = BODY};
	double used = 0, x = 0;

	for (size_t c = 1; c < b->n_columns; c++) {
		r.w[c] = widest(f, b, c, &r);
		used += r.w[c] + GAP;
	}
	while (f->width - used < NAME_LEAST && r.size > 4) {
		double smaller = (r.size - 1) / r.size;
		r.size -= 1;
		used = 0;
		for (size_t c = 1; c < b->n_columns; c++) {
			r.w[c] *= smaller;
			used += r.w[c] + GAP;
		}
	}
	r.w[0] = f->width - used > 40 ? f->width - used : 40;
	for (size_t c = 0; c < b->n_columns; c++) {
		r.x[c] = f->left + x;
		x += r.w[c] + GAP;
	}
	return r;
}

static double row_height(struct flow *f, const struct folio_block *b,
    const struct ruling *r, const char *name, bool bold)
{
	struct style style = cell_style(f, r, &b->columns[0], bold);

	style.wrap = true;
	return canvas_measure(f->canvas, r->w[0], &style, name).h + 4;
}

static void draw_cells(struct flow *f, const struct folio_block *b,
    const struct ruling *r, const char *const *cells, bool bold, double high)
{
	for (size_t c = 0; c < b->n_columns; c++) {
		struct style style = cell_style(f, r, &b->columns[c], bold);
		style.wrap = c == 0;
		if (*cells[c])
			canvas_text(f->canvas,
			    (struct box){
				r->x[c], f->y, r->w[c], c == 0 ? 0 : high},
			    &style, cells[c]);
	}
	f->y += high;
}

static void draw_head(
    struct flow *f, const struct folio_block *b, const struct ruling *r)
{
	const char *names[FOLIO_COLUMNS_MAX];

	for (size_t c = 0; c < b->n_columns; c++)
		names[c] = b->columns[c].name;
	draw_cells(f, b, r, names, true, row_height(f, b, r, names[0], true));
	canvas_line(f->canvas, f->left, f->y - 2, f->left + f->width, f->y - 2,
	    0.9, false);
}

static void draw_table(struct flow *f, const struct folio_block *b)
{
	struct ruling r = rule_table(f, b);

	flow_need(f, 3 * px(f, 18));
	draw_head(f, b, &r);
	for (size_t i = 0; i < b->n_rows; i++) {
		const struct folio_row *row = &b->rows[i];
		double high = row_height(f, b, &r, row->cells[0], row->total);
		if (flow_need(f, high))
			draw_head(f, b, &r);
		if (row->total && i > 0)
			canvas_line(f->canvas, f->left, f->y - 2,
			    f->left + f->width, f->y - 2, 0.4, false);
		draw_cells(f, b, &r, row->cells, row->total, high);
	}
	flow_gap(f, 4);
}

static void draw_qr_code(struct flow *f, const struct folio_block *b)
{
	struct style body = style_of(f, BODY, false);

	flow_text(f, &body, b->caption);
	/* four modules of quiet around it: the page's own white */
	flow_need(f, CODE_SIDE + 20);
	canvas_qr(f->canvas,
	    (struct box){f->left + 10, f->y + 10, CODE_SIDE, CODE_SIDE},
	    b->text);
	f->y += CODE_SIDE + 24;
}

static void draw_block(struct flow *f, const struct folio_block *b)
{
	struct style body = style_of(f, BODY, false);

	switch (b->kind) {
	case FOLIO_HEADING:
		flow_heading(f, 2, b->text);
		break;
	case FOLIO_TEXT:
		flow_text(f, &body, b->text);
		flow_gap(f, 4);
		break;
	case FOLIO_FACTS:
		for (size_t i = 0; i < b->n_facts; i++)
			draw_fact(f, &b->facts[i]);
		flow_gap(f, 3);
		break;
	case FOLIO_TABLE:
		draw_table(f, b);
		break;
	case FOLIO_QR:
		draw_qr_code(f, b);
		break;
	}
}

/* --- what each page carries ---------------------------------------------------------------- */

static void draw_frames(struct flow *f, const struct folio *folio)
{
	const struct folio_about *a = &folio->about;
	struct style left = style_of(f, 10, true), right = left;
	double half = f->width / 2, foot = f->canvas->height - MARGIN - 15;

	right.align = ALIGN_RIGHT;
	for (size_t i = 0; i < f->canvas->n_pages; i++) {
		canvas_turn_to(f->canvas, i);
		canvas_text(f->canvas, (struct box){f->left, MARGIN, half, 16},
		    &left,
		    a->workshop && *a->workshop ? a->workshop : a->title);
		canvas_text(f->canvas,
		    (struct box){f->left + half, MARGIN, half, 16}, &right,
		    a->number ? a->number : a->title);
		canvas_torn(f->canvas, f->left, MARGIN + 20, f->width);
		canvas_line(f->canvas, f->left, foot - 3, f->left + f->width,
		    foot - 3, 0.5, false);
		canvas_text(f->canvas, (struct box){f->left, foot, half, 16},
		    &left, a->title);
		canvas_text(f->canvas,
		    (struct box){f->left + half, foot, half, 16}, &right,
		    arena_printf(f->arena, _("page %zu of %zu"), i + 1,
			f->canvas->n_pages));
	}
}

static struct canvas *lay_out(const struct folio *folio)
{
	struct flow f = {.zoom = 1};
	double width, height;

	catalogue_use(folio->about.language);
	page_size(folio->about.page, &width, &height);
	f.canvas = canvas_new(width, height, catalogue_language());
	f.arena = arena_new((size_t)1 << 31);
	f.left = MARGIN;
	f.width = width - 2 * MARGIN;
	f.top = MARGIN + HEADER;
	f.bottom = height - MARGIN - FOOTER;
	flow_page(&f);
	draw_title(&f, folio);
	for (size_t i = 0; i < folio->n_blocks; i++)
		draw_block(&f, &folio->blocks[i]);
	draw_frames(&f, folio);
	free(f.sections);
	arena_delete(f.arena);
	return f.canvas;
}

static bool can_be_drawn(const struct folio *folio, struct err *err)
{
	size_t cells = 0;

	for (size_t i = 0; i < folio->n_blocks; i++)
		cells += folio->blocks[i].n_rows * folio->blocks[i].n_columns;
	if (cells <= FOLIO_CELLS_DRAWN_MAX)
		return true;
	err_set(err, ERR_LIMIT,
	    "a paper with %zu cells is too long to be drawn", cells);
	return err_hint(err, "Take the text form, or the CSV file.");
}

bool folio_pdf(const struct folio *folio, struct text *out, struct err *err)
{
	const struct folio_about *a = &folio->about;
	struct canvas *canvas = NULL;
	char name[400];
	bool ok = can_be_drawn(folio, err);

	if (!ok)
		return false;
	snprintf(name, sizeof(name), "%s%s%s", a->title, a->number ? ", " : "",
	    a->number ? a->number : "");
	canvas = lay_out(folio);
	ok = canvas_pdf(canvas,
	    &(struct canvas_about){.title = name,
		.subject = a->workshop,
		.author = a->studio,
		.language = catalogue_language(),
		.made = a->made},
	    out, err);
	canvas_delete(canvas);
	return ok;
}

void folio_commands(const struct folio *folio, struct text *out)
{
	struct canvas *canvas = lay_out(folio);

	canvas_commands(canvas, out);
	canvas_delete(canvas);
}
