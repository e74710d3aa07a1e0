/* SPDX-License-Identifier: MIT */
/*
 * draw_steps.c - one step a line, in the order of the hands.
 *
 * Read at arm's length with wet hands: the running total is the largest thing on the line,
 * whose piece it is stands in a frame, everything else is quiet.
 */
#include "draw.h"

#include "hatch.h"
#include "catalogue.h"

#define ROW 33.0
#define BOX 15.0
#define TALL_PICTURE 220.0
#define STRIP_PICTURE 116.0 /* height of the picture of a strip, at most */

struct columns {
	double number, box, mark, edge, code, off, end;
};

static struct columns columns_of_page(const struct flow *f)
{
	struct columns c;
	double left = f->left;

	c.number = left;
	c.box = left + px(f, 32);
	c.mark = left + px(f, 56);
	c.edge = left + px(f, 190);
	c.code = left + px(f, 262);
	c.off = left + px(f, 322);
	c.end = left + f->width;
	return c;
}

static bool same_owner(const struct step *step)
{
	for (size_t i = 1; i < step->n_ticks; i++) {
		if (step->ticks[i].member != step->ticks[0].member)
			return false;
	}
	return true;
}

/* True when the codes in a group's picture hold for each of its strips. */
static bool owners_alike(const struct group *group)
{
	for (size_t i = 0; i < group->n_steps; i++) {
		if (group->steps[i].off == OFF_PIECE &&
		    !same_owner(&group->steps[i]))
			return false;
	}
	return true;
}

/* Running totals under the strip, as many as fit side by side. */
static void draw_totals(struct flow *f, const struct sheet_roll *roll,
    const struct group *group, struct box box)
{
	struct style style = style_of(f, BODY, false);
	double sx = box.w / (double)roll->roll->width, taken = f->left;

	for (size_t s = 0; s < group->strip->n_segments; s++) {
		const struct segment *segment = &group->strip->segments[s];
		length end = segment->at + segment->width;
		char buf[LENGTH_TEXT_MAX];
		double x = box.x + (double)end * sx;
		if (end >= roll->roll->width)
			continue;
		mark_print(buf, end, &f->sheet->ruler);
		double w = canvas_measure(f->canvas, 0, &style, buf).w;
		canvas_line(f->canvas, x, box.y + box.h, x,
		    box.y + box.h + px(f, 4), 1, false);
		if (x - w / 2 < taken || x + w / 2 > f->left + f->width)
			continue;
		canvas_text(f->canvas,
		    (struct box){
			x - w / 2, box.y + box.h + px(f, 4), w + 1, px(f, 17)},
		    &style, buf);
		taken = x + w / 2 + px(f, 6);
	}
}

void draw_strip(struct flow *f, const struct sheet_roll *roll,
    const struct group *group, struct box box)
{
	draw_strip_body(f, roll, group->strip, box, owners_alike(group));
	draw_totals(f, roll, group, box);
}

static double strip_picture_height(const struct flow *f,
    const struct sheet_roll *roll, const struct group *group, double *width)
{
	double scale = f->width / (double)roll->roll->width;
	/* a strip that is taller than wide would be too narrow to show anything */
	double most =
	    (group->strip->height > roll->roll->width ? px(f, TALL_PICTURE)
						      : px(f, STRIP_PICTURE)) /
	    (double)group->strip->height;

	if (scale > most)
		scale = most;
	*width = scale * (double)roll->roll->width;
	return scale * (double)group->strip->height;
}

static void draw_code_plate(
    struct flow *f, const struct columns *c, const struct step *step, double y)
{
	struct box box = {c->code, y + px(f, 4), px(f, 46), px(f, 25)};
	struct style style = style_of(f, 17, true);

	if (step->off == OFF_WASTE || step->off == OFF_KEEP) {
		canvas_rect(f->canvas, box,
		    step->off == OFF_KEEP ? FILL_KEEP : FILL_WASTE, 0.6);
		return;
	}
	if (step->off != OFF_PIECE || !same_owner(step))
		return;
	canvas_rect(f->canvas, box, FILL_WHITE, px(f, 1.6));
	const char *code = phrase_tick(f->sheet, &step->ticks[0]);
	flow_label(f, box, &style, code);
}

static void draw_mark(
    struct flow *f, const struct columns *c, const struct step *step, double y)
{
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, BODY, true);
	struct style big = style_of(f, 22, true);
	char buf[LENGTH_TEXT_MAX];

	if (step->number == 0) {
		canvas_text(f->canvas,
		    (struct box){c->mark, y + px(f, 9), c->code - c->mark,
			px(f, ROW - 9)},
		    &plain, _("what is left, no tear"));
		return;
	}
	bold.align = ALIGN_RIGHT;
	canvas_text(f->canvas,
	    (struct box){c->number, y + px(f, 9), c->box - c->number - px(f, 5),
		px(f, ROW - 9)},
	    &bold, arena_printf(f->arena, "%lld", (long long)step->number));
	mark_print(buf, step->mark, &f->sheet->ruler);
	while (canvas_measure(f->canvas, 0, &big, buf).w >
	       c->edge - c->mark - px(f, 6))
		big.size -= 1;
	canvas_text(f->canvas,
	    (struct box){c->mark, y + px(f, 3), c->edge - c->mark - px(f, 4),
		px(f, ROW - 3)},
	    &big, buf);
	canvas_text(f->canvas,
	    (struct box){
		c->edge, y + px(f, 9), c->code - c->edge, px(f, ROW - 9)},
	    &plain, arena_printf(f->arena, _("from %s"), phrase_edge(step)));
}

static bool is_trim(const struct step *step)
{
	return step->kind == STEP_TRIM;
}

/* What comes off, beside the code or, in large print, below it; where it ends. */
static double draw_off(struct flow *f, const struct columns *c,
    const struct group *group, const struct step *step, double y)
{
	struct style style = style_of(f, BODY, false);
	const char *off =
	    is_trim(step) && step->part > 0
		? arena_printf(f->arena, _("part %zu: %s"), step->part,
		      phrase_off(f->sheet, step, "×", f->arena))
		: phrase_off(f->sheet, step, "×", f->arena);
	bool below = f->zoom > 1;
	double x = below ? c->mark : c->off;

	if (step->n_ticks == 1 && group->first != group->last &&
	    step->ticks[0].strip > 0)
		off = arena_printf(
		    f->arena, _("%s (strip %zu)"), off, step->ticks[0].strip);
	style.wrap = true;
	struct box box = canvas_text(f->canvas,
	    (struct box){x, y + px(f, below ? ROW + 1 : 9), c->end - x, 0},
	    &style, off);
	double bottom = box.y + box.h + px(f, 5);
	return bottom > y + px(f, ROW) ? bottom : y + px(f, ROW);
}

static bool has_boxes(const struct step *step)
{
	return step->number > 0 || step->off != OFF_WASTE;
}

/* The line of a step with its remark. */
static void draw_step_line(
    struct flow *f, const struct group *group, const struct step *step)
{
	struct columns c = columns_of_page(f);
	const char *remark =
	    step->number > 0 ? phrase_mark(f->sheet, step, f->arena) : NULL;
	struct style style = style_of(f, BODY, true);

	draw_mark(f, &c, step, f->y);
	if (step->n_ticks == 1 && has_boxes(step))
		flow_box(f, c.box, f->y + px(f, 8), px(f, BOX));
	draw_code_plate(f, &c, step, f->y);
	f->y = draw_off(f, &c, group, step, f->y);
	if (remark) {
		style.wrap = true;
		struct box box = canvas_text(f->canvas,
		    (struct box){c.mark, f->y - px(f, 3), c.end - c.mark, 0},
		    &style, remark);
		f->y = box.y + box.h + px(f, 2);
	}
}

struct tick_row { /* how the boxes of a step stand side by side */
	double name, code, cell;
	size_t n; /* in a row */
};

static struct tick_row measure_ticks(struct flow *f, const struct step *step)
{
	struct columns c = columns_of_page(f);
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, 15, true);
	struct tick_row row = {0};

	for (size_t i = 0; i < step->n_ticks; i++) {
		const char *code = phrase_tick(f->sheet, &step->ticks[i]);
		const char *name = arena_printf(
		    f->arena, _("strip %zu"), step->ticks[i].strip);
		double w = canvas_measure(f->canvas, 0, &bold, code).w;
		row.code = w > row.code ? w : row.code;
		w = canvas_measure(f->canvas, 0, &plain, name).w;
		row.name = w > row.name ? w : row.name;
	}
	row.cell = px(f, BOX + 5) + row.name + px(f, 6) + row.code + px(f, 14);
	double n = (c.end - c.mark + px(f, 14)) / row.cell;
	row.n = n < 1 ? 1 : (size_t)n;
	return row;
}

static void draw_tick_row(struct flow *f, const struct tick_row *row,
    const struct tick *ticks, size_t n)
{
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, 15, true);
	double x = columns_of_page(f).mark;

	for (size_t i = 0; i < n; i++, x += row->cell) {
		double after = x + px(f, BOX + 5);
		const char *code = phrase_tick(f->sheet, &ticks[i]);
		flow_box(f, x, f->y + px(f, 3), px(f, BOX));
		canvas_text(f->canvas,
		    (struct box){
			after, f->y + px(f, 3), row->name + 2, px(f, 20)},
		    &plain,
		    arena_printf(f->arena, _("strip %zu"), ticks[i].strip));
		if (*code)
			canvas_text(f->canvas,
			    (struct box){after + row->name + px(f, 6), f->y,
				row->code + 2, px(f, 22)},
			    &bold, code);
	}
	f->y += px(f, 23);
}

static void draw_continued(struct flow *f, const struct step *step)
{
	struct style style = style_of(f, BODY, true);

	flow_text(f, &style,
	    arena_printf(
		f->arena, _("Step %lld, continued"), (long long)step->number));
}

/* A step and its first row of boxes stay together; more boxes may go to the next page. */
static void draw_step(
    struct flow *f, const struct group *group, const struct step *step)
{
	struct tick_row row = {0};
	size_t boxes = step->n_ticks > 1 && has_boxes(step) ? step->n_ticks : 0;
	size_t drawn = canvas_drawn(f->canvas);
	double start = f->y;

	if (boxes > 0)
		row = measure_ticks(f, step);
	draw_step_line(f, group, step);
	if (f->y + (boxes ? px(f, 25) : 0) > f->bottom && start > f->top) {
		canvas_undraw(f->canvas, drawn);
		flow_page(f);
		draw_step_line(f, group, step);
	}
	for (size_t i = 0; i < boxes; i += row.n) {
		if (flow_need(f, px(f, 25)))
			draw_continued(f, step);
		draw_tick_row(f, &row, step->ticks + i,
		    boxes - i < row.n ? boxes - i : row.n);
	}
	f->y += px(f, boxes ? 2 : 0);
	struct columns c = columns_of_page(f);
	canvas_line(f->canvas, c.box, f->y, c.end, f->y, 0.3, false);
}

static bool is_trim_waste(const struct step *step)
{
	return is_trim(step) && step->number == 0 && step->off == OFF_WASTE;
}

/* Trims of one segment stand under one head: there may be as many as there are pieces. */
static bool heads_anew(const struct step *before, const struct step *step)
{
	if (before && is_trim(before) && is_trim(step))
		return before->segment != step->segment;
	return phrase_from_changes(before, step);
}

static const char *head_of_trims(struct flow *f, const struct step *step)
{
	return arena_printf(f->arena,
	    _("Segment %zu to its width, from the left edge; what is left is "
	      "waste unless it is told"),
	    step->segment);
}

static void draw_group(
    struct flow *f, const struct sheet_roll *roll, const struct group *group)
{
	struct style style = style_of(f, BODY, true);
	struct notes notes = {0};
	const struct step *before = NULL;
	double width, height = strip_picture_height(f, roll, group, &width);

	flow_need(f, height + px(f, 210)); /* with its first step */
	f->group_pages[f->n_groups++] = f->canvas->now;
	flow_heading(f, 2, phrase_heading(f->sheet, roll, group, f->arena));
	draw_strip(f, roll, group, (struct box){f->left, f->y, width, height});
	f->y += height + px(f, 24);
	notes_group(f->sheet, roll, group, f->arena, &notes);
	flow_notes(f, &notes);
	for (size_t i = 0; i < group->n_steps; i++) {
		const struct step *step = &group->steps[i];
		if (is_trim_waste(step))
			continue; /* the head of the trims says it for all */
		if (heads_anew(before, step)) {
			/* not alone at the foot of a page */
			flow_need(f, px(f, step->n_ticks > 1 ? 100 : 66));
			flow_gap(f, 5);
			flow_text(f, &style,
			    is_trim(step) ? head_of_trims(f, step)
					  : phrase_from(group, step, f->arena));
		}
		draw_step(f, group, step);
		before = step;
	}
}

void draw_roll_steps(struct flow *f, const struct sheet_roll *roll)
{
	for (size_t i = 0; i < roll->n_groups; i++) {
		if (i == 0)
			flow_page(f);
		draw_group(f, roll, &roll->groups[i]);
	}
}
