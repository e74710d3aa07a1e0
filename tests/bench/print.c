/* SPDX-License-Identifier: MIT */
/*
 * print - how long a tear sheet takes, beside the same number of rectangles, lines and texts
 * drawn straight onto a cairo PDF surface with pango.
 *
 *     print [PIECES]          prints: pages, shapes, the two times and their ratio
 *
 * The plain drawing shapes each text as our canvas does (same fonts, once) and places
 * everything where the sheet has it; it makes no model, no layout, no second look.  Both are
 * timed in processor time, the best of several runs.
 */
#include <cairo-pdf.h>
#include <pango/pangocairo.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "alloc.h"
#include "canvas.h"
#include "hatch.h"
#include "plan.h"
#include "sheet_model.h"

#define MEMBERS 30
#define RUNS 7

static double now(void)
{
	struct timespec t;
	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static struct problem *make_problem(int64_t n)
{
	static const length sizes[][2] = {
	    {19, 25}, {23, 31}, {13, 17}, {21, 29}, {15, 23}};
	struct problem *problem = problem_new(1, 3 * MEMBERS);
	problem->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 360 * INCH,
	    .price = 19200,
	    .available = UNLIMITED,
	    .fresh = true};
	for (size_t i = 0; i < problem->n_pieces; i++) {
		int64_t from = n * (int64_t)i / (int64_t)problem->n_pieces;
		int64_t to = n * (int64_t)(i + 1) / (int64_t)problem->n_pieces;
		problem->pieces[i] = (struct piece){.name = "piece",
		    .across = sizes[i % 5][0] * INCH / 2,
		    .along = sizes[i % 5][1] * INCH / 2,
		    .count = to - from,
		    .turn = i % 2 == 0};
	}
	return problem;
}

static cairo_status_t on_bytes(
    void *ctx, const unsigned char *bytes, unsigned len)
{
	text_add_bytes(ctx, bytes, len);
	return CAIRO_STATUS_SUCCESS;
}

static void on_line(void *ctx, double x1, double y1, double x2, double y2)
{
	cairo_move_to(ctx, x1, y1);
	cairo_line_to(ctx, x2, y2);
}

static void plain_text(
    cairo_t *cr, const struct item *item, PangoFontDescription *font)
{
	PangoLayout *layout = pango_cairo_create_layout(cr);
	pango_font_description_set_absolute_size(
	    font, item->style.size * PANGO_SCALE);
	pango_layout_set_font_description(layout, font);
	pango_layout_set_width(layout, (int)(item->room.w * PANGO_SCALE));
	pango_layout_set_text(layout, item->text, -1);
	cairo_move_to(cr, item->box.x, item->box.y);
	pango_cairo_show_layout(cr, layout);
	g_object_unref(layout);
}

static void plain_item(
    cairo_t *cr, const struct item *item, PangoFontDescription *font)
{
	const struct box *b = &item->box;
	switch (item->kind) {
	case ITEM_RECT:
		cairo_rectangle(cr, b->x, b->y, b->w, b->h);
		cairo_stroke(cr);
		hatch_lines(item->fill, b, on_line, cr);
		cairo_stroke(cr);
		break;
	case ITEM_TORN:
		torn_lines(b, on_line, cr);
		cairo_stroke(cr);
		break;
	case ITEM_LINE:
		on_line(cr, b->x, b->y, b->x + b->w, b->y + b->h);
		cairo_stroke(cr);
		break;
	case ITEM_TEXT:
		plain_text(cr, item, font);
		break;
	default:
		break;
	}
}

static double plain(const struct canvas *c)
{
	struct text out;
	double from = now();
	text_init(&out, TEAR_SHEET_MAX);
	cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
	    on_bytes, &out, c->width, c->height);
	cairo_t *cr = cairo_create(surface);
	PangoFontDescription *font =
	    pango_font_description_from_string("DejaVu Sans");
	for (size_t p = 0; p < c->n_pages; p++) {
		for (size_t i = 0; i < c->pages[p].n; i++)
			plain_item(cr, &c->pages[p].items[i], font);
		cairo_show_page(cr);
	}
	pango_font_description_free(font);
	cairo_destroy(cr);
	cairo_surface_finish(surface);
	cairo_surface_destroy(surface);
	text_free(&out);
	return now() - from;
}

static double ours(const struct sheet_input *input)
{
	struct text out;
	struct err err;
	double from = now();
	text_init(&out, TEAR_SHEET_MAX);
	struct sheet *sheet = sheet_new(input);
	if (!sheet_pdf(sheet, &out, &err))
		abort();
	sheet_delete(sheet);
	text_free(&out);
	return now() - from;
}

int main(int argc, char **argv)
{
	struct problem *problem = make_problem(argc > 1 ? atoll(argv[1]) : 750);
	struct plan *plan = NULL;
	struct plan_job job = {.steps = 200000};
	struct err err;
	struct sheet_member members[MEMBERS] = {{0}};
	struct sheet_request requests[3 * MEMBERS];
	double best = 1e9, best_plain = 1e9;
	size_t shapes = 0;

	if (!plan_make(problem, &job, &plan, &err)) {
		fprintf(stderr, "%s\n", err.text);
		return 1;
	}
	for (size_t i = 0; i < 3 * MEMBERS; i++)
		requests[i].member = i / 3;
	struct sheet_paper paper = {.name = "cold press 300",
	    .grams = 300,
	    .problem = problem,
	    .plan = plan,
	    .requests = requests};
	struct sheet_input input = {.workshop = "bench",
	    .number = 1,
	    .keep = 6 * INCH,
	    .papers = &paper,
	    .n_papers = 1,
	    .members = members,
	    .n_members = MEMBERS};
	struct sheet *sheet = sheet_new(&input);
	size_t pages = sheet_pages(sheet);
	for (size_t p = 0; p < pages; p++)
		shapes += (*sheet->drawn)->pages[p].n;
	for (int i = 0; i < RUNS; i++) {
		double t = plain(*sheet->drawn), u = ours(&input);
		best_plain = t < best_plain ? t : best_plain;
		best = u < best ? u : best;
	}
	printf(
	    "pages %zu  shapes %zu  sheet %.1f ms  plain %.1f ms  ratio %.2f\n",
	    pages, shapes, best * 1e3, best_plain * 1e3, best / best_plain);
	sheet_delete(sheet);
	plan_delete(plan);
	problem_delete(problem);
	print_shutdown();
	return 0;
}
