/* SPDX-License-Identifier: MIT */
/*
 * draw_labels.c - labels for the bundles, on sheets of labels.
 *
 * A bundle is what one member gets of one size and paper.  The code is the largest thing on
 * its label; the name may be shortened, the code and the size may not.
 */
#include "draw.h"
#include "catalogue.h"

#define PAD 5.0
#define LINE 15.5

static double points(length l)
{
	return (double)l * 72 / (double)INCH;
}

static void draw_line(
    struct flow *f, struct box *room, const struct style *style, const char *s)
{
	if (room->h < LINE)
		return;
	if (*s)
		canvas_text(f->canvas,
		    (struct box){room->x, room->y, room->w, LINE}, style, s);
	room->y += LINE;
	room->h -= LINE;
}

static void draw_label(struct flow *f, struct box box,
    const struct sheet_hand *hand, const struct pick *pick)
{
	const struct sheet_paper *paper = &f->sheet->input->papers[pick->paper];
	const struct piece *piece = &paper->problem->pieces[pick->piece];
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, BODY, true);
	struct style code = style_of(f, 22, true);
	struct box plate = {box.x + PAD, box.y + PAD, 46, 34};
	struct box room = {
	    plate.x + plate.w + PAD, box.y + PAD, 0, box.h - 2 * PAD};
	char size[MARK_TEXT_MAX];

	room.w = box.x + box.w - PAD - room.x;
	canvas_rect(f->canvas, plate, FILL_WHITE, 1.6);
	flow_label(f, plate, &code, hand->code);
	mark_print_size(
	    size, piece->across, piece->along, &f->sheet->ruler, "×");
	/* how many: under the code */
	flow_label(f, (struct box){plate.x, plate.y + plate.h + 2, plate.w, 18},
	    &bold, arena_printf(f->arena, "× %lld", (long long)pick->count));
	while (canvas_measure(f->canvas, 0, &bold, size).w > room.w &&
	       bold.size > 5)
		bold.size -= 0.5;
	draw_line(f, &room, &bold, size);
	/* beside the code, whichever way the name runs */
	double width = canvas_measure(f->canvas, 0, &plain, hand->name).w + 2;
	struct box name = room;
	name.w = width < room.w ? width : room.w;
	draw_line(f, &name, &plain, hand->name);
	room.y = name.y;
	room.h = name.h;
	draw_line(f, &room, &plain, paper->name ? paper->name : "");
	if (f->sheet->input->superseded) {
		draw_line(f, &room, &bold, _("SUPERSEDED"));
		return;
	}
	draw_line(f, &room, &plain,
	    f->sheet->input->number
		? arena_printf(f->arena, _("plan %lld %s"),
		      (long long)f->sheet->input->number, f->sheet->check)
		: f->sheet->check);
}

static void draw_grid(struct flow *f, const struct label_grid *g)
{
	size_t at = g->skip, room = g->columns * g->rows;

	canvas_add_page(f->canvas);
	for (size_t i = 0; i < f->sheet->n_hands; i++) {
		const struct sheet_hand *hand = &f->sheet->hands[i];
		for (size_t k = 0; k < hand->n_picks; k++) {
			if (hand->picks[k].count == 0)
				continue;
			if (at == room) {
				canvas_add_page(f->canvas);
				at = 0;
			}
			length x =
			    g->left + (length)(at % g->columns) * g->step_x;
			length y =
			    g->top + (length)(at / g->columns) * g->step_y;
			draw_label(f,
			    (struct box){points(x), points(y), points(g->width),
				points(g->height)},
			    hand, &hand->picks[k]);
			at++;
		}
	}
}

static struct canvas *draw_labels(
    const struct sheet *sheet, const struct label_grid *grid)
{
	struct flow f = {.sheet = sheet, .zoom = 1};
	double width, height;

	catalogue_use(sheet->input->language);
	page_size(grid->page, &width, &height);
	f.canvas = canvas_new(width, height, catalogue_language());
	f.arena = arena_new((size_t)1 << 30);
	draw_grid(&f, grid);
	arena_delete(f.arena);
	return f.canvas;
}

bool sheet_labels_pdf(const struct sheet *sheet, const struct label_grid *grid,
    struct text *out, struct err *err)
{
	if (!label_grid_check(grid, err))
		return false;
	struct canvas *canvas = draw_labels(sheet, grid);
	struct canvas_about about = {.title = _("Labels"),
	    .language = catalogue_language(),
	    .made = sheet->input->made};
	bool ok = canvas_pdf(canvas, &about, out, err);
	canvas_delete(canvas);
	return ok;
}

bool sheet_labels_commands(const struct sheet *sheet,
    const struct label_grid *grid, struct text *out, struct err *err)
{
	if (!label_grid_check(grid, err))
		return false;
	struct canvas *canvas = draw_labels(sheet, grid);
	canvas_commands(canvas, out);
	canvas_delete(canvas);
	return true;
}
