/* SPDX-License-Identifier: MIT */
/*
 * draw_first.c - the first page: what must be known before paper is touched.
 */
#include "draw.h"
#include "catalogue.h"

static void draw_title(struct flow *f)
{
	const struct sheet_input *input = f->sheet->input;
	struct style style = style_of(f, 30, true);

	style.face = FACE_SERIF;
	canvas_outline(f->canvas, 1, f->y, _("Before the first tear"));
	flow_text(f, &style, _("Tear sheet"));
	style.size = px(f, 17);
	if (input->workshop && *input->workshop)
		flow_text(f, &style, input->workshop);
	style = style_of(f, BODY, false);
	if (input->studio && *input->studio)
		flow_text(f, &style, input->studio);
	flow_gap(f, 6);
}

static void draw_dates(struct flow *f)
{
	const struct sheet_input *input = f->sheet->input;
	const struct {
		const char *name, *value;
	} dates[] = {
	    {_("Requests closed"), input->closing},
	    {_("Tear on"), input->tear_on},
	    {_("Lies flat on"), input->flat_on},
	};
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, BODY, true);

	for (size_t i = 0; i < sizeof(dates) / sizeof(dates[0]); i++) {
		if (!dates[i].value || !*dates[i].value)
			continue;
		canvas_text(f->canvas,
		    (struct box){f->left, f->y, px(f, 120), px(f, 17)}, &plain,
		    dates[i].name);
		canvas_text(f->canvas,
		    (struct box){f->left + px(f, 120), f->y,
			f->width - px(f, 120), px(f, 17)},
		    &bold, dates[i].value);
		f->y += px(f, 17);
	}
}

/* The table as seen by whoever stands at it: roll at the top, free end near. */
static void draw_table(struct flow *f, struct box box)
{
	struct style style = style_of(f, BODY, true);
	double side = px(f, 44), under = px(f, 36);
	struct box paper = {box.x + side, box.y + px(f, 24),
	    box.w - side - px(f, 8), box.h - px(f, 24) - under};
	struct box roll = {
	    paper.x - px(f, 6), box.y, paper.w + px(f, 12), px(f, 24)};

	canvas_rect(f->canvas, paper, FILL_WHITE, 1.2);
	canvas_rect(f->canvas, roll, FILL_SHADE, 1.2);
	style.align = ALIGN_CENTER;
	flow_label(f, roll, &style, _("roll"));
	for (int i = 1; i <= 2; i++) {
		double y = paper.y + paper.h - i * paper.h / 3.2;
		canvas_line(
		    f->canvas, paper.x, y, paper.x + paper.w, y, 0.8, true);
	}
	flow_label(f,
	    (struct box){paper.x, paper.y + paper.h - paper.h / 3.2, paper.w,
		paper.h / 3.2},
	    &style, _("strip 1"));
	flow_label(f,
	    (struct box){paper.x, paper.y + paper.h - 2 * paper.h / 3.2,
		paper.w, paper.h / 3.2},
	    &style, _("strip 2"));
	flow_label(f, (struct box){box.x, paper.y, side - px(f, 4), paper.h},
	    &style, _("LEFT"));
	flow_label(f,
	    (struct box){paper.x, paper.y + paper.h, paper.w, under / 2},
	    &style, _("NEAR"));
	style.bold = false;
	flow_label(f,
	    (struct box){
		paper.x, paper.y + paper.h + under / 2, paper.w, under / 2},
	    &style, _("you stand here"));
}

static void draw_method(struct flow *f)
{
	struct notes notes = {0};
	double side = px(f, 176), full = f->width, height = px(f, 176);

	notes_method(f->sheet, f->arena, &notes);
	flow_need(f, height + px(f, 60));
	flow_heading(f, 2, _("How to mark and tear"));
	double top = f->y;
	draw_table(
	    f, (struct box){f->left + f->width - side, top, side, height});
	f->width -= side + px(f, 14);
	flow_notes(f, &notes);
	f->width = full;
	if (f->y < top + height)
		f->y = top + height;
}

static void draw_notes(struct flow *f, const char *name,
    void (*fill)(const struct sheet *, struct arena *, struct notes *))
{
	struct notes notes = {0};

	fill(f->sheet, f->arena, &notes);
	flow_heading(f, 2, name);
	flow_notes(f, &notes);
}

void draw_first_page(struct flow *f)
{
	f->section = _("Before the first tear");
	flow_page(f);
	draw_title(f);
	draw_dates(f);
	draw_notes(f, _("Before the first tear"), notes_before);
	draw_method(f);
	draw_notes(f, _("Take care"), notes_cautions);
}
