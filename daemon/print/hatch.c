/* SPDX-License-Identifier: MIT */
/*
 * hatch.c - patterns as plain lines.
 *
 * Waste and kept paper are slanted, one way and both ways; a member's pieces are upright
 * or plain and paler, so that the pencil code stays the darkest thing on them.
 */
#include "hatch.h"

#define SLANT_STEP 5.0
#define KEEP_STEP 9.0
#define PIECE_STEP 6.0
#define DOT 0.9

struct hatch hatch_of(enum fill fill)
{
	switch (fill) {
	case FILL_WASTE:
		return (struct hatch){0.35, 0.5};
	case FILL_KEEP:
		return (struct hatch){0.35, 0.5};
	case FILL_DOTS:
	case FILL_PLUS:
		return (struct hatch){0.6, 0.7};
	default:
		return (struct hatch){0.7, 0.5};
	}
}

/* x + y = constant (down = -1) or x - y = constant (down = 1), cut to the box. */
static void slanted(
    const struct box *b, double step, int down, hatch_line_fn *line, void *ctx)
{
	for (double t = step; t < b->w + b->h; t += step) {
		double x1 = t < b->h ? 0 : t - b->h, y1 = t < b->h ? t : b->h;
		double x2 = t < b->w ? t : b->w, y2 = t < b->w ? 0 : t - b->w;
		if (down > 0) {
			x1 = b->w - x1;
			x2 = b->w - x2;
		}
		line(ctx, b->x + x1, b->y + y1, b->x + x2, b->y + y2);
	}
}

static void upright(
    const struct box *b, bool across, hatch_line_fn *line, void *ctx)
{
	double end = across ? b->h : b->w;

	for (double t = PIECE_STEP / 2; t < end; t += PIECE_STEP) {
		if (across)
			line(ctx, b->x, b->y + t, b->x + b->w, b->y + t);
		else
			line(ctx, b->x + t, b->y, b->x + t, b->y + b->h);
	}
}

static void signs(
    const struct box *b, bool plus, hatch_line_fn *line, void *ctx)
{
	double half = plus ? 2 * DOT : DOT / 2;

	for (double y = PIECE_STEP / 2; y < b->h - half; y += PIECE_STEP) {
		for (double x = PIECE_STEP / 2; x < b->w - half;
		     x += PIECE_STEP) {
			line(ctx, b->x + x - half, b->y + y, b->x + x + half,
			    b->y + y);
			if (plus)
				line(ctx, b->x + x, b->y + y - half, b->x + x,
				    b->y + y + half);
		}
	}
}

void hatch_lines(
    enum fill fill, const struct box *box, hatch_line_fn *line, void *ctx)
{
	switch (fill) {
	case FILL_WASTE:
		slanted(box, SLANT_STEP, -1, line, ctx);
		break;
	case FILL_KEEP:
		slanted(box, KEEP_STEP, -1, line, ctx);
		slanted(box, KEEP_STEP, 1, line, ctx);
		break;
	case FILL_DOTS:
		signs(box, false, line, ctx);
		break;
	case FILL_PLUS:
		signs(box, true, line, ctx);
		break;
	case FILL_ACROSS:
		upright(box, true, line, ctx);
		break;
	case FILL_DOWN:
		upright(box, false, line, ctx);
		break;
	default:
		break;
	}
}

void torn_lines(const struct box *box, hatch_line_fn *line, void *ctx)
{
	unsigned seed = 7; /* the same fibres on every page */
	double x = box->x, y = box->y, end = box->x + box->w;

	while (x < end) {
		seed = seed * 1103515245u + 12345u;
		double next_x = x + 1.5 + (seed >> 16 & 7) * 0.5;
		double next_y = box->y + ((int)(seed >> 20 & 15) - 7) * 0.17;
		if (next_x > end)
			next_x = end;
		line(ctx, x, y, next_x, next_y);
		x = next_x;
		y = next_y;
	}
}

enum fill hatch_of_member(size_t member)
{
	static const enum fill fills[] = {
	    FILL_WHITE, FILL_DOTS, FILL_ACROSS, FILL_PLUS, FILL_DOWN};

	return fills[member % (sizeof(fills) / sizeof(fills[0]))];
}
