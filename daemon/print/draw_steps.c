/* SPDX-License-Identifier: MIT */
/*
 * draw_steps.c - one step a line, in the order of the hands.
 *
 * Read at arm's length with wet hands: the running total is the largest thing on the line,
 * whose piece it is stands in a frame, everything else is quiet.
 */
#include "draw.h"

#include "hatch.h"
#include "words.h"

#define ROW 26.0
#define BOX 15.0
#define STRIP_PICTURE 92.0 /* height of the picture of a strip, at most */

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
	c.edge = left + px(f, 186);
	c.code = left + px(f, 250);
	c.off = left + px(f, 304);
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
	double most = px(f, STRIP_PICTURE) / (double)group->strip->height;

	if (scale > most)
		scale = most;
	*width = scale * (double)roll->roll->width;
	return scale * (double)group->strip->height;
}

static void draw_code_plate(
    struct flow *f, const struct columns *c, const struct step *step, double y)
{
	struct box box = {c->code, y + px(f, 2), px(f, 46), px(f, ROW - 5)};
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
	while (!canvas_label(f->canvas, box, &style, code) && style.size > 6)
		style.size -= 1;
}

/* The line of a step; its height. */
static double draw_step_line(struct flow *f, const struct group *group,
    const struct step *step, double y)
{
	struct columns c = columns_of_page(f);
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, BODY, true);
	bool one = step->n_ticks == 1;
	char buf[LENGTH_TEXT_MAX];

	if (step->number > 0) {
		bold.align = ALIGN_RIGHT;
		canvas_text(f->canvas,
		    (struct box){
			c.number, y + px(f, 6), px(f, 26), px(f, ROW - 6)},
		    &bold,
		    arena_printf(f->arena, "%lld", (long long)step->number));
		mark_print(buf, step->mark, &f->sheet->ruler);
		struct style big = style_of(f, 20, true);
		while (canvas_measure(f->canvas, 0, &big, buf).w >
		       c.edge - c.mark - px(f, 6))
			big.size -= 1;
		canvas_text(f->canvas,
		    (struct box){
			c.mark, y, c.edge - c.mark - px(f, 4), px(f, ROW)},
		    &big, buf);
		canvas_text(f->canvas,
		    (struct box){
			c.edge, y + px(f, 6), c.code - c.edge, px(f, ROW - 6)},
		    &plain,
		    arena_printf(f->arena, _("from %s"), phrase_edge(step)));
	} else {
		canvas_text(f->canvas,
		    (struct box){
			c.mark, y + px(f, 6), c.code - c.mark, px(f, ROW - 6)},
		    &plain, _("what is left, no tear"));
	}
	if (one && (step->number > 0 || step->off != OFF_WASTE))
		flow_box(f, c.box, y + px(f, 5), px(f, BOX));
	draw_code_plate(f, &c, step, y);
	const char *off = phrase_off(f->sheet, step, "×", f->arena);
	if (one && step->off == OFF_KEEP)
		off = arena_printf(f->arena, "%s: %s", off,
		    phrase_tick(f->sheet, step->ticks));
	if (one && group->first != group->last)
		off = arena_printf(
		    f->arena, _("%s (strip %zu)"), off, step->ticks[0].strip);
	plain.wrap = true;
	struct box box = canvas_text(f->canvas,
	    (struct box){c.off, y + px(f, 6), c.end - c.off, 0}, &plain, off);
	double bottom = box.y + box.h + px(f, 5);
	return bottom > y + px(f, ROW) ? bottom - y : px(f, ROW);
}

/* The boxes of a step that stands for several strips. */
static double draw_ticks(struct flow *f, const struct step *step, double y)
{
	struct columns c = columns_of_page(f);
	struct style plain = style_of(f, BODY, false),
		     bold = style_of(f, 15, true);
	double widest = 0, x = c.mark, start = y;

	for (size_t i = 0; i < step->n_ticks; i++) {
		double w = canvas_measure(
		    f->canvas, 0, &bold, phrase_tick(f->sheet, &step->ticks[i]))
			       .w;
		widest = w > widest ? w : widest;
	}
	double name = canvas_measure(f->canvas, 0, &plain,
	    arena_printf(
		f->arena, _("strip %zu"), step->ticks[step->n_ticks - 1].strip))
			  .w;
	double cell = px(f, BOX + 5) + name + px(f, 6) + widest + px(f, 14);
	for (size_t i = 0; i < step->n_ticks; i++) {
		const struct tick *tick = &step->ticks[i];
		if (x + cell > c.end + px(f, 14) && x > c.mark) {
			x = c.mark;
			y += px(f, 23);
		}
		flow_box(f, x, y + px(f, 3), px(f, BOX));
		canvas_text(f->canvas,
		    (struct box){
			x + px(f, BOX + 5), y + px(f, 3), name + 2, px(f, 20)},
		    &plain,
		    arena_printf(f->arena, _("strip %zu"), tick->strip));
		canvas_text(f->canvas,
		    (struct box){x + px(f, BOX + 5) + name + px(f, 6), y,
			widest + 2, px(f, 22)},
		    &bold, phrase_tick(f->sheet, tick));
		x += cell;
	}
	return y + px(f, 25) - start;
}

static double step_height(struct flow *f, const struct step *step)
{
	double rows = 1;

	/* four ticks a row is the least that fits; an honest upper guess is enough here */
	if (step->n_ticks > 1)
		rows += (double)((step->n_ticks + 2) / 3);
	return rows * px(f, ROW) +
	       (phrase_mark(f->sheet, step, f->arena) ? px(f, 18) : 0);
}

static void draw_step(
    struct flow *f, const struct group *group, const struct step *step)
{
	struct columns c = columns_of_page(f);
	const char *remark =
	    step->number > 0 ? phrase_mark(f->sheet, step, f->arena) : NULL;
	struct style style = style_of(f, BODY, true);

	flow_need(f, step_height(f, step));
	f->y += draw_step_line(f, group, step, f->y);
	if (remark) {
		struct box box = canvas_text(f->canvas,
		    (struct box){
			c.mark, f->y - px(f, 3), c.end - c.mark, px(f, 17)},
		    &style, remark);
		f->y = box.y + box.h + px(f, 2);
	}
	if (step->n_ticks > 1 && (step->number > 0 || step->off != OFF_WASTE))
		f->y += draw_ticks(f, step, f->y);
	canvas_line(f->canvas, c.box, f->y, c.end, f->y, 0.3, false);
}

static void draw_group(
    struct flow *f, const struct sheet_roll *roll, const struct group *group)
{
	struct style style = style_of(f, BODY, true);
	struct notes notes = {0};
	const struct step *before = NULL;
	double width, height = strip_picture_height(f, roll, group, &width);

	flow_need(f, height + px(f, 150));
	f->group_pages[f->n_groups++] = f->canvas->now;
	flow_heading(f, 2,
	    arena_printf(f->arena, _("Roll %zu, %s"), roll->number,
		phrase_group(f->sheet, group, f->arena)));
	draw_strip(f, roll, group, (struct box){f->left, f->y, width, height});
	f->y += height + px(f, 24);
	notes_group(f->sheet, roll, group, f->arena, &notes);
	flow_notes(f, &notes);
	for (size_t i = 0; i < group->n_steps; i++) {
		const struct step *step = &group->steps[i];
		if (phrase_from_changes(before, step)) {
			flow_need(f, px(f, 20) + step_height(f, step));
			flow_gap(f, 5);
			flow_text(
			    f, &style, phrase_from(group, step, f->arena));
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
