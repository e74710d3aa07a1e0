/* SPDX-License-Identifier: MIT */
/*
 * draw_first.c - the first page: what must be known before paper is touched.
 */
#include "draw.h"
#include "catalogue.h"

static void draw_title(struct flow *f)
{
	const struct sheet_input *input = f->sheet->input;
	struct style style = style_of(f, 34, true);

	style.face = FACE_SERIF;
	canvas_outline(f->canvas, 1, f->y, _("Before the first tear"));
	flow_text(f, &style, _("Tear sheet"));
	style.size = px(f, 17);
	if (input->workshop && *input->workshop)
		flow_text(f, &style, input->workshop);
	style = style_of(f, BODY, false);
	if (input->studio && *input->studio)
		flow_text(f, &style, input->studio);
	flow_gap(f, 8);
}

/* How much there is to do, to be seen from across the room. */
static void draw_counts(struct flow *f)
{
	struct sheet_count n = sheet_count(f->sheet);
	const struct {
		int64_t n;
		const char *name;
	} counts[] = {
	    {n.rolls, phrase_rolls(f->sheet)},
	    {n.strips, n.strips == 1 ? _("strip") : _("strips")},
	    {n.tears, n.tears == 1 ? _("tear") : _("tears")},
	    {n.pieces, n.pieces == 1 ? _("piece") : _("pieces")},
	};
	double gap = px(f, 8), w = (f->width - 3 * gap) / 4, h = px(f, 56);
	struct style big = style_of(f, 28, true),
		     small = style_of(f, BODY, false);

	for (size_t i = 0; i < 4; i++) {
		struct box box = {f->left + (double)i * (w + gap), f->y, w, h};
		canvas_rect(f->canvas, box, FILL_WHITE, px(f, 1.6));
		flow_label(f,
		    (struct box){box.x, box.y + px(f, 2), w, px(f, 34)}, &big,
		    arena_printf(f->arena, "%lld", (long long)counts[i].n));
		flow_label(f,
		    (struct box){box.x, box.y + px(f, 36), w, px(f, 17)},
		    &small, counts[i].name);
	}
	f->y += h;
	flow_gap(f, 10);
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

	bold.wrap = true;
	for (size_t i = 0; i < sizeof(dates) / sizeof(dates[0]); i++) {
		if (!dates[i].value || !*dates[i].value)
			continue;
		canvas_text(f->canvas,
		    (struct box){f->left, f->y, px(f, 120), px(f, 17)}, &plain,
		    dates[i].name);
		struct box value = canvas_text(f->canvas,
		    (struct box){
			f->left + px(f, 120), f->y, f->width - px(f, 120), 0},
		    &bold, dates[i].value);
		f->y = value.y + value.h + px(f, 2);
	}
}

/* The table as seen by whoever stands at it: roll at the top, free end near. */
static void draw_table(struct flow *f, struct box box)
{
	struct style style = style_of(f, BODY, true);
	double side = px(f, 48), under = px(f, 38);
	struct box paper = {box.x + side, box.y + px(f, 26),
	    box.w - side - px(f, 8), box.h - px(f, 26) - under};
	struct box roll = {
	    paper.x - px(f, 6), box.y, paper.w + px(f, 12), px(f, 26)};
	double strip = paper.h / 3.2;

	canvas_rect(f->canvas, paper, FILL_WHITE, px(f, 1.2));
	canvas_rect(f->canvas, roll, FILL_SHADE, px(f, 1.2));
	flow_label(f, roll, &style, _("roll"));
	for (int i = 1; i <= 2; i++) {
		double y = paper.y + paper.h - i * strip;
		canvas_line(
		    f->canvas, paper.x, y, paper.x + paper.w, y, 0.8, true);
		flow_label(f, (struct box){paper.x, y, paper.w, strip}, &style,
		    i == 1 ? _("strip 1") : _("strip 2"));
	}
	flow_label(f, (struct box){box.x, paper.y, side - px(f, 6), paper.h},
	    &style, _("LEFT"));
	flow_label(f,
	    (struct box){
		paper.x, paper.y + paper.h + px(f, 2), paper.w, under / 2},
	    &style, _("NEAR"));
	style.bold = false;
	flow_label(f,
	    (struct box){
		paper.x, paper.y + paper.h + under / 2, paper.w, under / 2},
	    &style, _("you stand here"));
}

/* An arrow along y: its point is at `to`. */
static void draw_arrow(struct flow *f, double x, double from, double to)
{
	double head = from < to ? -px(f, 7) : px(f, 7), pen = px(f, 2);

	canvas_line(f->canvas, x, from, x, to, pen, false);
	canvas_line(f->canvas, x, to, x - px(f, 5), to + head, pen, false);
	canvas_line(f->canvas, x, to, x + px(f, 5), to + head, pen, false);
}

/* Marks, the straightedge on one side of them, and an arrow on the side that is pulled. */
static void draw_pull(struct flow *f, struct box box)
{
	struct style style = style_of(f, BODY, true);
	bool near = f->sheet->input->pull == PULL_NEAR;
	double under = px(f, 38), bar = px(f, 26), side = px(f, 8);
	struct box paper = {
	    box.x + side, box.y, box.w - 2 * side, box.h - under};
	double line = paper.y + paper.h * (near ? 0.5 : 0.45);
	struct box edge = {box.x, near ? line - bar : line, box.w, bar};
	double arrows[] = {0.09, 0.91};

	canvas_rect(f->canvas, paper, FILL_WHITE, px(f, 1.2));
	canvas_rect(f->canvas, edge, FILL_SHADE, px(f, 1.6));
	flow_label(f, edge, &style, _("straightedge: press"));
	for (int i = 0; i <= 4; i++) {
		double x = paper.x + paper.w * (0.04 + 0.23 * i);
		canvas_line(f->canvas, x, line, x,
		    near ? line + px(f, 6) : line - px(f, 6), px(f, 1.4),
		    false);
	}
	double from = near ? line + px(f, 12) : line - px(f, 12);
	double to = near ? paper.y + paper.h - px(f, 6) : paper.y + px(f, 6);
	for (size_t i = 0; i < 2; i++)
		draw_arrow(f, paper.x + paper.w * arrows[i], from, to);
	flow_label(f,
	    (struct box){paper.x + paper.w * 0.14, near ? from : to,
		paper.w * 0.72, near ? to - from : from - to},
	    &style, _("pull up, slowly"));
	flow_label(f,
	    (struct box){
		paper.x, paper.y + paper.h + px(f, 2), paper.w, under / 2},
	    &style, _("NEAR"));
	style.bold = false;
	flow_label(f,
	    (struct box){
		box.x, paper.y + paper.h + under / 2, box.w, under / 2},
	    &style,
	    near ? _("what comes off is pulled") : _("what stays is pulled"));
}

static void draw_method(struct flow *f)
{
	struct notes notes = {0};
	double gap = px(f, 30), height = px(f, 176);
	double w = (f->width - gap) / 2;

	notes_method(f->sheet, f->arena, &notes);
	flow_need(f, height + px(f, 130));
	flow_heading(f, 1, _("How to mark and tear"));
	flow_gap(f, 4);
	draw_table(f, (struct box){f->left, f->y, w, height});
	draw_pull(f, (struct box){f->left + w + gap, f->y, w, height});
	f->y += height;
	flow_gap(f, 10);
	flow_notes(f, &notes);
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
	draw_counts(f);
	draw_dates(f);
	draw_notes(f, _("Take off the shelf and lay ready"), notes_before);
	draw_notes(f, _("Measure before the first tear"), notes_measure);
	f->section = _("How to mark and tear");
	draw_method(f);
	draw_notes(f, _("Take care"), notes_cautions);
}
