/* SPDX-License-Identifier: MIT */
/*
 * picture.c - small pictures for the web pages.
 *
 * They stand inside HTML under a policy that allows no style attribute and no script, so
 * everything is said with presentation attributes.  Patterns and letters carry the meaning;
 * a picture printed in black and white says the same.
 */
#include "picture.h"

#include <stdio.h>
#include <string.h>

#include "canvas.h"
#include "hatch.h"
#include "markup.h"
#include "sheet_model.h"
#include "catalogue.h"

#define WIDE 360.0  /* of a plan's picture */
#define SIDE 26.0   /* room for strip numbers */
#define STUB 44.0   /* of what is left on a roll, at most */
#define PIECE 220.0 /* the longer side of a torn sheet */

struct picture {
	struct text *out;
	const struct sheet *sheet;
	const struct sheet_roll *roll;
	const char *id;
	size_t only;
	double scale;
};

static void number(struct text *out, const char *name, double value)
{
	char buf[CANVAS_NUMBER_MAX];
	text_addf(out, " %s=\"%s\"", name, canvas_number(buf, value));
}

static void rect(struct picture *p, struct box b, const char *fill, double line)
{
	text_add(p->out, "<rect");
	number(p->out, "x", b.x);
	number(p->out, "y", b.y);
	number(p->out, "width", b.w);
	number(p->out, "height", b.h);
	if (*fill == '#' || strcmp(fill, "none") == 0) {
		text_addf(p->out, " fill=\"%s\"", fill);
	} else {
		text_add(p->out, " fill=\"url(#");
		markup_text(p->out, p->id);
		text_addf(p->out, "-%s)\"", fill);
	}
	if (line > 0) {
		text_add(p->out, " stroke=\"#000\"");
		number(p->out, "stroke-width", line);
	}
	text_add(p->out, "/>\n");
}

/* Sizes are guessed: a wide letter is nine tenths as wide as it is high. */
static double fitting_size(double w, double h, size_t letters, double most)
{
	double size = most;

	if (size > h * 0.75)
		size = h * 0.75;
	if (letters > 0 && size > w / ((double)letters * 0.95))
		size = w / ((double)letters * 0.95);
	return size;
}

static void label(struct picture *p, double x, double y, double size,
    const char *anchor, const char *s)
{
	text_add(p->out, "<text");
	number(p->out, "x", x);
	number(p->out, "y", y + size * 0.36);
	number(p->out, "font-size", size);
	text_addf(p->out,
	    " text-anchor=\"%s\" font-family=\"DejaVu Sans, sans-serif\" "
	    "fill=\"#000\"",
	    anchor);
	text_add(p->out, ">");
	markup_text(p->out, s);
	text_add(p->out, "</text>\n");
}

static void plate(struct picture *p, struct box b, const char *s)
{
	size_t letters = utf8_length(s);
	double size = fitting_size(b.w - 4, b.h - 2, letters, 18);

	if (size < 4)
		return;
	double w = size * 0.95 * (double)letters;
	rect(p,
	    (struct box){
		b.x + (b.w - w) / 2, b.y + b.h / 2 - size * 0.6, w, size * 1.2},
	    "#fff", 0);
	label(p, b.x + b.w / 2, b.y + b.h / 2, size, "middle", s);
}

static void pattern(struct picture *p, const char *name, const char *path)
{
	text_add(p->out, "<pattern id=\"");
	markup_text(p->out, p->id);
	text_addf(p->out,
	    "-%s\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\">"
	    "<rect width=\"6\" height=\"6\" fill=\"#fff\"/>"
	    "<path d=\"%s\" fill=\"none\" stroke=\"#555\" "
	    "stroke-width=\"0.7\"/></pattern>\n",
	    name, path);
}

static const char *const member_patterns[] = {
    "#fff", "dots", "across", "plus", "down"};

static void patterns(struct picture *p)
{
	text_add(p->out, "<defs>\n");
	pattern(p, "waste", "M-1 7L7 -1M-1 1L1 -1M5 7L7 5");
	pattern(p, "keep",
	    "M-1 7L7 -1M-1 1L1 -1M5 7L7 5M-1 -1L7 7M5 -1L7 1M-1 5L1 7");
	pattern(p, "dots", "M2.6 3h.8");
	pattern(p, "across", "M0 3h6");
	pattern(p, "plus", "M2 3h2M3 2v2");
	pattern(p, "down", "M3 0v6");
	text_add(p->out, "</defs>\n");
}

static void rest(struct picture *p, struct box b, length across, length along)
{
	if (b.w > 0.2 && b.h > 0.2)
		rect(p, b,
		    sheet_keeps(p->sheet, across, along) ? "keep" : "waste",
		    0.5);
}

static void draw_piece(struct picture *p, struct box b, size_t piece)
{
	size_t member = sheet_owner(p->sheet, p->roll->paper, piece);
	size_t n = sizeof(member_patterns) / sizeof(member_patterns[0]);

	if (p->only != SIZE_MAX && p->only != member) {
		rect(p, b, "#ddd", 1);
		return;
	}
	rect(p, b, member_patterns[member % n], 1);
	plate(p, b, p->sheet->hands[member].code);
}

static void draw_segment(struct picture *p, const struct strip *strip,
    const struct segment *segment, double x, double bottom)
{
	double w = (double)segment->width * p->scale;
	length done = 0;

	for (size_t k = 0; k < segment->n_pieces; k++) {
		const struct placed *placed = &segment->pieces[k];
		double pw = (double)placed->across * p->scale;
		double h = (double)placed->along * p->scale;
		double y = bottom - (double)placed->at * p->scale - h;
		if (placed->at > done)
			rest(p,
			    (struct box){x, y + h, w,
				(double)(placed->at - done) * p->scale},
			    segment->width, placed->at - done);
		draw_piece(p, (struct box){x, y, pw, h}, placed->piece);
		rest(p, (struct box){x + pw, y, w - pw, h},
		    segment->width - placed->across, placed->along);
		done = placed->at + placed->along;
	}
	double left = (double)(strip->height - done) * p->scale;
	rest(p,
	    (struct box){x, bottom - (double)strip->height * p->scale, w, left},
	    segment->width, strip->height - done);
}

static void draw_strip_of(
    struct picture *p, const struct strip *strip, double bottom)
{
	double h = (double)strip->height * p->scale;
	length done = 0;

	for (size_t i = 0; i < strip->n_segments; i++) {
		const struct segment *segment = &strip->segments[i];
		double x = SIDE + (double)segment->at * p->scale;
		rest(p,
		    (struct box){SIDE + (double)done * p->scale, bottom - h,
			(double)(segment->at - done) * p->scale, h},
		    segment->at - done, strip->height);
		draw_segment(p, strip, segment, x, bottom);
		done = segment->at + segment->width;
	}
	rest(p,
	    (struct box){SIDE + (double)done * p->scale, bottom - h,
		(double)(p->roll->roll->width - done) * p->scale, h},
	    p->roll->roll->width - done, strip->height);
	rect(
	    p, (struct box){SIDE, bottom - h, WIDE - SIDE - 2, h}, "none", 1.6);
}

static const struct sheet_roll *find_roll(
    const struct sheet *sheet, size_t paper, size_t roll)
{
	for (size_t i = 0; i < sheet->n_rolls; i++) {
		if (sheet->rolls[i].paper == paper && roll-- == 0)
			return &sheet->rolls[i];
	}
	return NULL;
}

static void open_svg(struct picture *p, double w, double h, const char *title)
{
	char bw[CANVAS_NUMBER_MAX], bh[CANVAS_NUMBER_MAX];

	text_addf(p->out,
	    "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" "
	    "viewBox=\"0 0 %s %s\"",
	    canvas_number(bw, w), canvas_number(bh, h));
	text_addf(
	    p->out, " width=\"%s\" height=\"%s\" aria-labelledby=\"", bw, bh);
	markup_text(p->out, p->id);
	text_add(p->out, "-title\">\n<title id=\"");
	markup_text(p->out, p->id);
	text_add(p->out, "-title\">");
	markup_text(p->out, title);
	text_add(p->out, "</title>\n");
}

static void draw_roll(struct picture *p, double top, double bottom)
{
	const struct roll *r = p->roll->roll;
	length done = 0;
	char buf[32];

	if (p->roll->left > 0) {
		struct box b = {SIDE, 1, WIDE - SIDE - 2, top - 1};
		char size[LENGTH_TEXT_MAX], s[LENGTH_TEXT_MAX + 32];
		rect(p, b,
		    sheet_keeps_left(p->sheet, p->roll) ? "keep" : "waste",
		    0.8);
		mark_print(size, p->roll->left, &p->sheet->ruler);
		snprintf(s, sizeof(s), _("left: %s"), size);
		rect(p, (struct box){WIDE / 2 - 60, top / 2 - 9, 140, 18},
		    "#fff", 0);
		label(p, WIDE / 2 + 10, top / 2, 13, "middle", s);
	}
	for (size_t i = 0; i < r->n_strips; i++) {
		const struct strip *strip = &r->strips[i];
		double y = bottom - (double)strip->at * p->scale;
		double h = (double)strip->height * p->scale;
		double gap = (double)(strip->at - done) * p->scale;
		rest(p, (struct box){SIDE, y, WIDE - SIDE - 2, gap}, 0, 0);
		draw_strip_of(p, strip, y);
		snprintf(buf, sizeof(buf), "%zu", i + 1);
		double size = fitting_size(SIDE - 4, h, strlen(buf), 14);
		if (size >= 4)
			label(p, SIDE - 4, y - h / 2, size, "end", buf);
		done = strip->at + strip->height;
	}
}

void plan_picture_svg(const struct sheet *sheet, size_t paper, size_t roll,
    size_t only_member, const char *id, struct text *out)
{
	struct picture p = {
	    .out = out, .sheet = sheet, .id = id, .only = only_member};
	char title[256];

	catalogue_use(sheet->input->language);
	p.roll = find_roll(sheet, paper, roll);
	if (!p.roll)
		return;
	p.scale = (WIDE - SIDE - 2) / (double)p.roll->roll->width;
	double left = (double)p.roll->left * p.scale;
	double top = p.roll->left > 0 ? (left < 24        ? 24
					    : left > STUB ? STUB
							  : left)
				      : 1;
	double bottom = top + (double)p.roll->need_length * p.scale;
	snprintf(title, sizeof(title),
	    p.roll->stock->flat ? _("Sheet %zu, %s: %zu strips, to scale")
				: _("Roll %zu, %s: %zu strips, to scale"),
	    p.roll->number, sheet->input->papers[paper].name,
	    p.roll->roll->n_strips);
	open_svg(&p, WIDE, bottom + 22, title);
	patterns(&p);
	draw_roll(&p, top, bottom);
	label(&p, SIDE + (WIDE - SIDE) / 2, bottom + 12, 12, "middle",
	    _("near edge"));
	text_add(out, "</svg>\n");
}

/* --- the straightedge ---------------------------------------------------------------------- */

static void path(struct picture *p, const char *d, double line)
{
	text_addf(p->out, "<path d=\"%s\" fill=\"none\" stroke=\"#000\"", d);
	number(p->out, "stroke-width", line);
	text_add(p->out, "/>\n");
}

void pull_picture_svg(
    const struct sheet *sheet, const char *id, struct text *out)
{
	struct picture p = {.out = out, .sheet = sheet, .id = id};
	bool near = sheet->input->pull == PULL_NEAR;

	catalogue_use(sheet->input->language);
	open_svg(&p, WIDE, 196,
	    near ? _("what comes off is pulled") : _("what stays is pulled"));
	rect(&p, (struct box){20, 2, 320, 150}, "#fff", 1.6);
	rect(&p, (struct box){6, near ? 44 : 76, 348, 32}, "#ddd", 1.6);
	label(&p, WIDE / 2, near ? 60 : 92, 16, "middle",
	    _("straightedge: press"));
	if (near) {
		path(&p, "M40 76v8M110 76v8M180 76v8M250 76v8M320 76v8", 1.6);
		path(&p, "M60 92v50m-7 -9l7 9l7 -9M300 92v50m-7 -9l7 9l7 -9",
		    2.4);
	} else {
		path(&p, "M40 76v-8M110 76v-8M180 76v-8M250 76v-8M320 76v-8",
		    1.6);
		path(&p, "M60 60v-50m-7 9l7 -9l7 9M300 60v-50m-7 9l7 -9l7 9",
		    2.4);
	}
	label(
	    &p, WIDE / 2, near ? 116 : 34, 16, "middle", _("pull up, slowly"));
	label(&p, WIDE / 2, 164, 15, "middle", _("NEAR"));
	label(&p, WIDE / 2, 184, 15, "middle",
	    near ? _("what comes off is pulled") : _("what stays is pulled"));
	text_add(out, "</svg>\n");
}

/* --- one torn sheet ------------------------------------------------------------------------ */

static void size_label(struct picture *p, double x, double y,
    const char *anchor, const char *name, length across, length along,
    enum measure_system system)
{
	struct ruler ruler = {system, 1}; /* whatever it is, exactly */
	char size[MARK_TEXT_MAX], s[MARK_TEXT_MAX + 64];

	if (system == MEASURE_INCH)
		ruler.step = INCH / 64;
	else
		ruler.step = MM / 10;
	mark_print_size(size, across, along, &ruler, "×");
	snprintf(s, sizeof(s), "%s %s", name, size);
	label(p, x, y, 14, anchor, s);
}

void piece_picture_svg(length across, length along, length finished_across,
    length finished_along, enum measure_system system, const char *id,
    struct text *out)
{
	struct picture p = {.out = out, .id = id, .only = SIZE_MAX};
	length longer = across > along ? across : along;
	bool inside = finished_across > 0 && finished_along > 0 &&
		      finished_across <= across && finished_along <= along;

	catalogue_use(NULL);
	if (across <= 0 || along <= 0)
		return;
	p.scale = PIECE / (double)longer;
	double w = (double)across * p.scale, h = (double)along * p.scale;
	double width = 300, x = (width - w) / 2, y = 6;
	open_svg(&p, width, h + (inside ? 60 : 40),
	    inside ? _("Torn sheet with its picture area, to scale")
		   : _("Torn sheet, to scale"));
	patterns(&p);
	rect(&p, (struct box){x, y, w, h}, inside ? "waste" : "#fff", 1.6);
	if (inside) {
		double fw = (double)finished_across * p.scale;
		double fh = (double)finished_along * p.scale;
		rect(&p,
		    (struct box){x + (w - fw) / 2, y + (h - fh) / 2, fw, fh},
		    "#fff", 1);
		size_label(&p, width / 2, y + h + 36, "middle", _("picture"),
		    finished_across, finished_along, system);
	}
	size_label(&p, width / 2, y + h + 16, "middle", _("torn"), across,
	    along, system);
	text_add(out, "</svg>\n");
}
