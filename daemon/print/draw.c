/* SPDX-License-Identifier: MIT */
/*
 * draw.c - the tear sheet flows down its pages.
 *
 * Whoever finds one loose page on the floor of a studio must see at once which plan it
 * belongs to and whether others are missing: so each page carries the workshop, the plan
 * with its check code, what the page is about, and "page 3 of 14".  The torn line under the
 * header is the only ornament.
 */
#include "draw.h"

#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "catalogue.h"

#define HEADER 30.0 /* from the upper margin to the first line of a page */
#define FOOTER 32.0

struct style style_of(const struct flow *f, double points, bool bold)
{
	return (struct style){
	    .size = px(f, points), .bold = bold, .fractions = true};
}

/* --- the flow --------------------------------------------------------------------------- */

void flow_page(struct flow *f)
{
	canvas_add_page(f->canvas);
	if (f->canvas->n_pages > f->sections_room) {
		f->sections_room = 2 * f->canvas->n_pages;
		f->sections = xrealloc(
		    f->sections, f->sections_room, sizeof(*f->sections));
	}
	f->sections[f->canvas->now] = f->section;
	f->y = f->top;
}

bool flow_need(struct flow *f, double height)
{
	if (f->y + height <= f->bottom)
		return false;
	flow_page(f);
	return true;
}

void flow_gap(struct flow *f, double points)
{
	f->y += px(f, points);
}

void flow_text(struct flow *f, const struct style *style, const char *s)
{
	struct style wrapped = *style;

	wrapped.wrap = true;
	flow_need(f, canvas_measure(f->canvas, f->width, &wrapped, s).h);
	struct box box = canvas_text(
	    f->canvas, (struct box){f->left, f->y, f->width, 0}, &wrapped, s);
	f->y = box.y + box.h;
}

void flow_heading(struct flow *f, int level, const char *s)
{
	struct style style = style_of(f, level == 1 ? 20 : 15, true);

	style.face = FACE_SERIF;
	flow_need(f, px(f, 90)); /* never a heading without what it heads */
	if (f->y > f->top)
		flow_gap(f, level == 1 ? 18 : 12);
	canvas_outline(f->canvas, level, f->y, s);
	flow_text(f, &style, s);
	flow_gap(f, 4);
}

void flow_box(struct flow *f, double x, double y, double size)
{
	canvas_rect(
	    f->canvas, (struct box){x, y, size, size}, FILL_WHITE, px(f, 1.1));
}

static void flow_note(
    struct flow *f, const struct note *note, double left, double width)
{
	struct style style = style_of(f, BODY, note->kind == NOTE_BOLD);
	double indent = note->kind == NOTE_LINE ? 0 : px(f, 22);

	style.wrap = true;
	flow_need(
	    f, canvas_measure(f->canvas, width - indent, &style, note->text).h);
	if (note->kind == NOTE_BOX || note->kind == NOTE_BOLD)
		flow_box(f, left, f->y + px(f, 1), px(f, 13));
	struct box box = canvas_text(f->canvas,
	    (struct box){left + indent, f->y, width - indent, 0}, &style,
	    note->text);
	f->y = box.y + box.h;
}

void flow_notes(struct flow *f, const struct notes *notes)
{
	for (size_t i = 0; i < notes->n; i++) {
		bool under =
		    i + 1 < notes->n && notes->notes[i + 1].kind == NOTE_UNDER;
		flow_note(f, &notes->notes[i], f->left, f->width);
		flow_gap(f, under ? 1 : 5);
	}
}

void flow_label(
    struct flow *f, struct box room, const struct style *style, const char *s)
{
	struct style smaller = *style;

	while (!canvas_label(f->canvas, room, &smaller, s) && smaller.size > 3)
		smaller.size -= 0.5;
}

/* --- what each page carries --------------------------------------------------------------- */

static void draw_header(struct flow *f)
{
	const struct sheet_input *input = f->sheet->input;
	struct style style = style_of(f, BODY, true);
	const char *plan =
	    input->number
		? arena_printf(f->arena, _("Plan %lld, check %s"),
		      (long long)input->number, f->sheet->check)
		: arena_printf(f->arena, _("Check %s"), f->sheet->check);
	double plan_width = canvas_measure(f->canvas, 0, &style, plan).w + 1;
	const char *name = input->workshop && *input->workshop
			       ? input->workshop
			       : _("Tear sheet");

	canvas_text(f->canvas,
	    (struct box){
		f->left, MARGIN, f->width - plan_width - px(f, 12), px(f, 16)},
	    &style, name);
	style.align = ALIGN_RIGHT;
	canvas_text(f->canvas,
	    (struct box){
		f->left + f->width - plan_width, MARGIN, plan_width, px(f, 16)},
	    &style, plan);
	canvas_torn(f->canvas, f->left, MARGIN + px(f, 20), f->width);
}

static void draw_footer(struct flow *f, size_t page)
{
	struct style style = style_of(f, BODY, false);
	double y = f->canvas->height - MARGIN - px(f, 15);
	double half = f->width / 3;
	const char *section = f->sections[page];

	canvas_line(f->canvas, f->left, y - px(f, 3), f->left + f->width,
	    y - px(f, 3), 0.5, false);
	canvas_text(f->canvas, (struct box){f->left, y, 2 * half, px(f, 16)},
	    &style, section ? section : "");
	style.align = ALIGN_RIGHT;
	canvas_text(f->canvas,
	    (struct box){f->left + 2 * half, y, half, px(f, 16)}, &style,
	    arena_printf(
		f->arena, _("page %zu of %zu"), page + 1, f->canvas->n_pages));
}

static void draw_superseded(struct flow *f)
{
	struct style style = style_of(f, BODY, true);
	struct box box = {f->left, f->top - px(f, 26), f->width, px(f, 20)};

	canvas_rect(f->canvas, box, FILL_SHADE, 2);
	flow_label(f, box, &style,
	    _("SUPERSEDED by a newer plan: do not tear from this page"));
}

static void draw_frames(struct flow *f)
{
	for (size_t i = 0; i < f->canvas->n_pages; i++) {
		canvas_turn_to(f->canvas, i);
		draw_header(f);
		draw_footer(f, i);
		if (f->sheet->input->superseded)
			draw_superseded(f);
	}
}

/* --- the whole sheet ------------------------------------------------------------------------ */

void page_size(enum sheet_page page, double *width, double *height)
{
	/* A4 is 210 x 297 mm (ISO 216), Letter 8 1/2 x 11 in */
	if (page == SHEET_LETTER) {
		*width = 612;
		*height = 792;
	} else {
		*width = 210 * 72 / 25.4;
		*height = 297 * 72 / 25.4;
	}
}

static struct canvas *lay_out(const struct sheet *sheet)
{
	struct flow f = {.sheet = sheet, .zoom = sheet->input->large ? 1.5 : 1};
	double width, height;

	page_size(sheet->input->page, &width, &height);
	f.canvas = canvas_new(width, height, catalogue_language());
	f.arena = arena_new((size_t)1 << 31);
	f.left = MARGIN;
	f.width = width - 2 * MARGIN;
	f.top = MARGIN + px(&f, HEADER) +
		(sheet->input->superseded ? px(&f, 26) : 0);
	f.bottom = height - MARGIN - px(&f, FOOTER);
	for (size_t i = 0; i < sheet->n_rolls; i++)
		f.n_groups += sheet->rolls[i].n_groups;
	f.group_pages =
	    arena_array(f.arena, f.n_groups + 1, sizeof(*f.group_pages));
	f.n_groups = 0;

	draw_first_page(&f);
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		draw_roll_picture(&f, &sheet->rolls[i]);
		draw_roll_steps(&f, &sheet->rolls[i]);
	}
	draw_after(&f);
	draw_frames(&f);
	free(f.sections);
	arena_delete(f.arena);
	return f.canvas;
}

/* Laid out once, for whatever is made of it. */
static const struct canvas *draw_sheet(const struct sheet *sheet)
{
	catalogue_use(sheet->input->language);
	if (!*sheet->drawn)
		*sheet->drawn = lay_out(sheet);
	return *sheet->drawn;
}

static struct canvas_about about(
    const struct sheet *sheet, char title[static 256])
{
	const struct sheet_input *input = sheet->input;
	const char *workshop = input->workshop ? input->workshop : "";

	catalogue_use(input->language);
	if (input->number)
		snprintf(title, 256, _("Tear sheet, plan %lld (%s)"),
		    (long long)input->number, sheet->check);
	else
		snprintf(title, 256, _("Tear sheet (%s)"), sheet->check);
	return (struct canvas_about){
	    .title = title,
	    .subject = workshop,
	    .author = input->studio,
	    .language = catalogue_language(),
	    .made = input->made,
	};
}

/* Drawing keeps every shape in memory until the last page is known. */
static bool can_be_drawn(const struct sheet *sheet, struct err *err)
{
	int64_t pieces = 0;

	for (size_t i = 0; i < sheet->n_hands; i++)
		pieces += sheet->hands[i].count;
	if (pieces <= SHEET_DRAWN_MAX)
		return true;
	err_set(err, ERR_LIMIT,
	    "a sheet of %lld pieces is too long to be drawn",
	    (long long)pieces);
	return err_hint(err, "Take the text form, or draw papers one by one.");
}

bool sheet_pdf(const struct sheet *sheet, struct text *out, struct err *err)
{
	if (!can_be_drawn(sheet, err))
		return false;

	char title[256];
	struct canvas_about a = about(sheet, title);

	return canvas_pdf(draw_sheet(sheet), &a, out, err);
}

size_t sheet_pages(const struct sheet *sheet)
{
	return can_be_drawn(sheet, NULL) ? draw_sheet(sheet)->n_pages : 0;
}

bool sheet_svg(
    const struct sheet *sheet, size_t page, struct text *out, struct err *err)
{
	if (!can_be_drawn(sheet, err))
		return false;

	char title[256];
	struct canvas_about a = about(sheet, title);
	const struct canvas *canvas = draw_sheet(sheet);

	if (page < 1 || page > canvas->n_pages)
		return err_set(err, ERR_MISSING,
		    "there is no page %zu; the sheet has %zu", page,
		    canvas->n_pages);
	canvas_svg(canvas, page - 1, &a, out);
	return true;
}

void sheet_commands(const struct sheet *sheet, struct text *out)
{
	canvas_commands(draw_sheet(sheet), out);
}

size_t sheet_unknown_signs(const struct sheet *sheet)
{
	return draw_sheet(sheet)->unknown_glyphs;
}

/*
 * Not cairo_debug_reset_static_data() and FcFini(), which would free more: pango looks for
 * fonts in a thread of its own that cannot be waited for, and when it is still at work they
 * end the process with a failed assertion (seen about once in a hundred runs under load).
 */
void print_shutdown(void)
{
	pango_cairo_font_map_set_default(NULL);
}

#ifdef __has_feature
#if __has_feature(address_sanitizer)
#define __SANITIZE_ADDRESS__ 1 /* as gcc says it */
#endif
#endif

#ifdef __SANITIZE_ADDRESS__
/*
 * What fontconfig keeps until FcFini(), and what cairo 1.16 forgets of each CFF font it
 * embeds (a program of ten lines that draws one Japanese word shows it).
 */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
	return "leak:libfontconfig\nleak:libcairo\n";
}
#endif
