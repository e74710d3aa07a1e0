/* SPDX-License-Identifier: MIT */
/*
 * draw_roll.c - a roll to scale.
 *
 * Ten yards of paper on one page would leave a piece the size of a thumbnail; so a long
 * roll is broken into views side by side, each break between two strips and shown torn.
 * The near end is at the bottom of the first view, as on the table.
 */
#include "draw.h"

#include <math.h>

#include "hatch.h"
#include "catalogue.h"

#define VIEWS_MAX 3
#define VIEW_GAP 34.0 /* between views: room for strip numbers */
#define STUB 44.0     /* of what is left on a roll, at most */

const char *draw_code(
    const struct flow *f, const struct sheet_roll *roll, size_t piece)
{
	return f->sheet->hands[sheet_owner(f->sheet, roll->paper, piece)].code;
}

/* A label on a white plate, as large as fits. */
static void draw_plate(struct flow *f, struct box room, const char *s)
{
	struct style style = style_of(f, 16, true);
	for (double size = px(f, 16); size >= 5; size -= size > 10 ? 2 : 1) {
		style.size = size;
		struct box text = canvas_measure(f->canvas, 0, &style, s);
		double pad = 1 + size * 0.12; /* a J reaches out of its box */
		if (text.w + 4 * pad > room.w || text.h + 2 * pad > room.h)
			continue;
		struct box plate = {room.x + (room.w - text.w) / 2 - pad,
		    room.y + (room.h - text.h) / 2, text.w + 2 * pad, text.h};
		canvas_rect(f->canvas, plate, FILL_WHITE, 0);
		canvas_label(f->canvas, room, &style, s);
		return;
	}
}

static void draw_rest(
    struct flow *f, struct box box, length across, length along)
{
	if (box.w > 0.2 && box.h > 0.2)
		canvas_rect(f->canvas, box,
		    sheet_keeps(f->sheet, across, along) ? FILL_KEEP
							 : FILL_WASTE,
		    0.4);
}

/* One segment: at the left of its pieces, near edge at the bottom. */
static void draw_segment(struct flow *f, const struct sheet_roll *roll,
    const struct strip *strip, const struct segment *segment, struct box box,
    const char *label)
{
	double sx = box.w / (double)segment->width,
	       sy = box.h / (double)strip->height;
	length done = 0;

	for (size_t k = 0; k < segment->n_pieces; k++) {
		const struct placed *p = &segment->pieces[k];
		double w = (double)p->across * sx, h = (double)p->along * sy;
		double y = box.y + box.h - (double)(p->at + p->along) * sy;
		size_t member = sheet_owner(f->sheet, roll->paper, p->piece);
		struct box piece = {box.x, y, w, h};
		if (p->at > done)
			draw_rest(f,
			    (struct box){box.x, y + h, box.w,
				(double)(p->at - done) * sy},
			    segment->width, p->at - done);
		canvas_rect(f->canvas, piece,
		    label ? FILL_WHITE : hatch_of_member(member), 1);
		draw_plate(
		    f, piece, label ? label : f->sheet->hands[member].code);
		if (p->across < segment->width)
			draw_rest(f, (struct box){box.x + w, y, box.w - w, h},
			    segment->width - p->across, p->along);
		done = p->at + p->along;
	}
	if (done < strip->height)
		draw_rest(f,
		    (struct box){box.x, box.y, box.w,
			(double)(strip->height - done) * sy},
		    segment->width, strip->height - done);
}

void draw_strip_body(struct flow *f, const struct sheet_roll *roll,
    const struct strip *strip, struct box box, bool codes)
{
	double sx = box.w / (double)roll->roll->width;
	length done = 0;

	for (size_t s = 0; s < strip->n_segments; s++) {
		const struct segment *segment = &strip->segments[s];
		struct box b = {box.x + (double)segment->at * sx, box.y,
		    (double)segment->width * sx, box.h};
		if (segment->at > done)
			draw_rest(f,
			    (struct box){box.x + (double)done * sx, box.y,
				(double)(segment->at - done) * sx, box.h},
			    segment->at - done, strip->height);
		draw_segment(f, roll, strip, segment, b,
		    codes ? NULL : arena_printf(f->arena, "%zu", s + 1));
		done = segment->at + segment->width;
	}
	if (done < roll->roll->width)
		draw_rest(f,
		    (struct box){box.x + (double)done * sx, box.y,
			(double)(roll->roll->width - done) * sx, box.h},
		    roll->roll->width - done, strip->height);
	canvas_rect(f->canvas, box, FILL_NONE, 1.4);
}

/* --- views -------------------------------------------------------------------------------- */

struct views {
	size_t n;
	double width, height; /* of one view, in points */
	double strips;        /* of height, what strips may take */
	double scale;         /* points a unit */
};

/* Views needed when a view holds `capacity` of length and breaks only between strips. */
static size_t count_views(const struct sheet_roll *roll, length capacity)
{
	size_t n = 1;
	length start = 0;

	for (size_t i = 0; i < roll->roll->n_strips; i++) {
		const struct strip *strip = &roll->roll->strips[i];
		length end = strip->at + strip->height;
		if (end - start > capacity) {
			start = strip->at;
			n++;
		}
	}
	return n;
}

/* The longest stretch that one view must hold: a strip with what is set aside before it. */
static length tallest(const struct sheet_roll *roll)
{
	length most = 1, done = 0;

	for (size_t i = 0; i < roll->roll->n_strips; i++) {
		length end =
		    roll->roll->strips[i].at + roll->roll->strips[i].height;
		if (end - done > most)
			most = end - done;
		done = end;
	}
	return most;
}

/* As large as n views side by side allow; scale 0 when the roll does not go into them. */
static struct views try_views(const struct flow *f,
    const struct sheet_roll *roll, double height, size_t n)
{
	struct views v = {.n = n, .height = height};

	/* what is left on the roll is shown as a stub above the last strip */
	v.strips = height - (roll->left > 0 ? px(f, STUB) : 0);
	v.width = (f->width - (double)n * px(f, VIEW_GAP)) / (double)n;
	v.scale = v.width / (double)roll->roll->width;
	/* a tall strip on a narrow roll: no view holds it at this scale */
	double most = (v.strips - px(f, 12)) / (double)tallest(roll);
	if (v.scale > most)
		v.scale = most;
	double least = v.scale * 0.5;
	while (count_views(roll, (length)floor(v.strips / v.scale)) > n &&
	       v.scale > least)
		v.scale *= 0.98;
	if (n < VIEWS_MAX &&
	    count_views(roll, (length)floor(v.strips / v.scale)) > n)
		v.scale = 0;
	v.width = v.scale * (double)roll->roll->width;
	return v;
}

/* The number of views that shows pieces largest; one that is used to its end is no higher than it must be. */
static struct views choose_views(
    const struct flow *f, const struct sheet_roll *roll, double height)
{
	struct views best = try_views(f, roll, height, 1);

	for (size_t n = 2; n <= VIEWS_MAX; n++) {
		struct views v = try_views(f, roll, height, n);
		if (v.scale > best.scale * 1.05)
			best = v;
	}
	if (count_views(roll, (length)floor(best.strips / best.scale)) == 1) {
		double used =
		    (double)(roll->roll->length - roll->left) * best.scale;
		double left = (double)roll->left * best.scale;
		double stub = px(f, STUB) + 10;
		best.height = used + (left < stub ? left : stub) + 1;
		if (best.height > height)
			best.height = height;
	}
	return best;
}

static void draw_left(
    struct flow *f, const struct sheet_roll *roll, struct box box)
{
	struct style style = style_of(f, BODY, false);

	if (roll->left <= 0 || box.h < px(f, 18))
		return;
	canvas_rect(f->canvas, box,
	    sheet_keeps_left(f->sheet, roll) ? FILL_KEEP : FILL_WASTE, 0.8);
	char size[LENGTH_TEXT_MAX];
	mark_print(size, roll->left, &f->sheet->ruler);
	const char *s = arena_printf(f->arena, _("left: %s"), size);
	struct box text = canvas_measure(f->canvas, 0, &style, s);
	if (text.w + 6 > box.w)
		return;
	canvas_rect(f->canvas,
	    (struct box){box.x + (box.w - text.w) / 2 - 2,
		box.y + (box.h - text.h) / 2, text.w + 4, text.h},
	    FILL_WHITE, 0);
	canvas_label(f->canvas, box, &style, s);
}

/* Strips from index `from` upwards into one view; returns the index after the last. */
static size_t draw_view(struct flow *f, const struct sheet_roll *roll,
    const struct views *v, size_t from, double x, double bottom)
{
	const struct roll *r = roll->roll;
	struct style style = style_of(f, BODY, true);
	length start = from == 0 ? 0 : r->strips[from].at;
	double y = bottom;
	size_t i;

	style.align = ALIGN_RIGHT;
	for (i = from; i < r->n_strips; i++) {
		const struct strip *strip = &r->strips[i];
		length done =
		    i > from ? r->strips[i - 1].at + r->strips[i - 1].height
			     : start;
		double gap = (double)(strip->at - done) * v->scale;
		double h = (double)strip->height * v->scale;
		if ((double)(strip->at + strip->height - start) * v->scale >
			v->strips + 0.01 &&
		    i > from)
			break;
		if (gap > 0)
			draw_rest(
			    f, (struct box){x, y - gap, v->width, gap}, 0, 0);
		y -= gap + h;
		draw_strip_body(
		    f, roll, strip, (struct box){x, y, v->width, h}, true);
		const char *number = arena_printf(f->arena, "%zu", i + 1);
		if (h >= px(f, 14))
			flow_label(f,
			    (struct box){x - px(f, 30), y, px(f, 28), h},
			    &style, number);
	}
	if (i < r->n_strips) {
		canvas_torn(f->canvas, x - 4, y - 4, v->width + 8);
		canvas_torn(f->canvas, x - 4, y - 8, v->width + 8);
	} else {
		double room = y - (bottom - v->height),
		       h = (double)roll->left * v->scale;
		bool broken = h > room;
		if (broken)
			h = room - 8 < px(f, STUB) ? room - 8 : px(f, STUB);
		draw_left(f, roll, (struct box){x, y - h, v->width, h});
		if (broken && h > px(f, 18))
			canvas_torn(f->canvas, x - 4, y - h - 4, v->width + 8);
	}
	return i;
}

static void draw_legend(struct flow *f)
{
	const struct {
		enum fill fill;
		const char *name;
	} legend[] = {{FILL_WASTE, _("waste")}, {FILL_KEEP, _("kept")}};
	struct style style = style_of(f, BODY, false);
	double x = f->left;

	for (size_t i = 0; i < 2; i++) {
		canvas_rect(f->canvas,
		    (struct box){x, f->y + px(f, 2), px(f, 24), px(f, 12)},
		    legend[i].fill, 0.6);
		x += px(f, 28);
		x += canvas_text(f->canvas,
			 (struct box){x, f->y, px(f, 80), px(f, 16)}, &style,
			 legend[i].name)
			 .w +
		     px(f, 16);
	}
	const char *rest =
	    _("Letters: pencil codes. Figures: strips. Near edge below.");
	double room = f->left + f->width - x;
	if (canvas_measure(f->canvas, 0, &style, rest).w > room) {
		f->y += px(f, 18);
		flow_text(f, &style, rest);
		flow_gap(f, 2);
		return;
	}
	canvas_text(
	    f->canvas, (struct box){x, f->y, room, px(f, 16)}, &style, rest);
	f->y += px(f, 20);
}

void draw_roll_picture(struct flow *f, const struct sheet_roll *roll)
{
	struct style style = style_of(f, BODY, false);
	struct notes notes = {0};

	f->section = phrase_roll(f->sheet, roll, f->arena);
	flow_page(f);
	flow_heading(f, 1, f->section);
	flow_text(f, &style,
	    arena_printf(f->arena, _("%s, %s%s%s%s%s"), roll->label,
		phrase_roll_size(f->sheet, roll, "×", f->arena),
		*roll->place ? ", " : "", roll->place,
		*roll->lot ? _(", lot ") : "", roll->lot));
	flow_gap(f, 4);
	notes_roll(f->sheet, roll, f->arena, &notes);
	flow_notes(f, &notes);
	draw_legend(f);
	flow_need(f, px(f, 200));
	struct views v = choose_views(f, roll, f->bottom - f->y - px(f, 6));
	size_t next = 0, column = 0;
	do {
		if (column == v.n) {
			flow_page(f);
			column = 0;
		}
		double x = f->left + px(f, VIEW_GAP) +
			   (double)column * (f->width / (double)v.n);
		next = draw_view(f, roll, &v, next, x, f->y + v.height);
		column++;
	} while (next < roll->roll->n_strips);
	f->y += v.height;
}
