/* SPDX-License-Identifier: MIT */
/*
 * How time and gap grow with sizes and pieces, as a table and as a picture.
 *
 *     bench_growth [FILE.svg [SECONDS]]
 *
 * Orders of 10 to 1000 sizes and 100 to 100,000 pieces on rolls of 45 in x 10 yd
 * (draw_large(), seed 1), two and three stages; SECONDS (default 20) of CPU time for each.
 * `first` is when the plan was within one percent of the bound, `time` when it ended.
 */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "clock.h"
#include "draw.h"
#include "inspect.h"

struct order {
	size_t sizes;
	int64_t pieces;
};

static const struct order orders[] = {{10, 100}, {10, 1000}, {30, 300},
    {30, 1000}, {30, 10000}, {100, 1000}, {100, 10000}, {300, 3000},
    {300, 10000}, {1000, 10000}, {1000, 100000}};
#define N_ORDERS (sizeof(orders) / sizeof(orders[0]))

struct result {
	double seconds, first, gap;
	int64_t rolls, bound;
};

struct watch {
	double begun, end, first;
};

static double gap_of(length plan, length bound)
{
	return bound > 0 ? 100.0 * (double)(plan - bound) / (double)bound : 100;
}

static bool watch(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct watch *w = ctx;

	(void)steps;
	if (w->first == 0 && best != NULL && bounds != NULL &&
	    gap_of(best->strip_length, bounds->strip_length) <= 1)
		w->first = cpu() - w->begun;
	return cpu() < w->end;
}

static struct result run(const struct order *o, int stages, double seconds)
{
	struct problem *p = draw_large(1, stages, o->sizes, o->pieces);
	struct watch w = {.begun = cpu(), .end = cpu() + seconds};
	struct plan_job job = {.progress = watch, .ctx = &w};
	struct plan *plan = NULL;
	struct result r;
	struct err err;

	if (!plan_make(p, &job, &plan, &err) || !plan_inspect(p, plan, &err)) {
		fprintf(stderr, "bench_growth: %s\n", err.text);
		exit(1);
	}
	r = (struct result){.seconds = cpu() - w.begun,
	    .first = w.first,
	    .gap = gap_of(plan->totals.strip_length, plan->bounds.strip_length),
	    .rolls = plan->totals.fresh_rolls,
	    .bound = plan->bounds.fresh_rolls};
	plan_delete(plan);
	problem_delete(p);
	return r;
}

/* --- the picture: two charts, pieces along, logarithms both ways ---------------------- */

#define LEFT 70
#define CHART_WIDTH 330
#define CHART_HEIGHT 240
#define TOP 50

static double place(double value, double low, double high, double room)
{
	value = value < low ? low : value > high ? high : value;
	return room * (log10(value) - log10(low)) / (log10(high) - log10(low));
}

struct axis {
	const char *title;
	double low, high;
	double left;
};

static void draw_axis(FILE *f, const struct axis *a)
{
	fprintf(f, "<text x=\"%g\" y=\"30\" font-weight=\"bold\">%s</text>\n",
	    a->left, a->title);
	fprintf(f,
	    "<rect x=\"%g\" y=\"%d\" width=\"%d\" height=\"%d\" fill=\"none\" "
	    "stroke=\"#888\"/>\n",
	    a->left, TOP, CHART_WIDTH, CHART_HEIGHT);
	for (double y = a->low; y <= a->high * 1.01; y *= 10) {
		double at = TOP + CHART_HEIGHT -
			    place(y, a->low, a->high, CHART_HEIGHT);

		fprintf(f,
		    "<path d=\"M%g %.1fh%d\" stroke=\"#ddd\"/><text x=\"%g\" "
		    "y=\"%.1f\" text-anchor=\"end\">%g</text>\n",
		    a->left, at, CHART_WIDTH, a->left - 6, at + 4, y);
	}
	for (double x = 100; x <= 100000; x *= 10)
		fprintf(f,
		    "<text x=\"%.1f\" y=\"%d\" "
		    "text-anchor=\"middle\">%g</text>\n",
		    a->left + place(x, 100, 100000, CHART_WIDTH),
		    TOP + CHART_HEIGHT + 18, x);
	fprintf(f,
	    "<text x=\"%g\" y=\"%d\" text-anchor=\"middle\">pieces</text>\n",
	    a->left + CHART_WIDTH / 2.0, TOP + CHART_HEIGHT + 36);
}

static void draw_marks(FILE *f, const struct axis *a, const double *values,
    const char *colour, bool round)
{
	for (size_t i = 0; i < N_ORDERS; i++) {
		double x = a->left + place((double)orders[i].pieces, 100,
					 100000, CHART_WIDTH),
		       y = TOP + CHART_HEIGHT -
			   place(values[i], a->low, a->high, CHART_HEIGHT);
		double r = 2 + log10((double)orders[i].sizes) * 1.8;

		if (round)
			fprintf(f,
			    "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" "
			    "fill=\"none\" stroke=\"%s\" "
			    "stroke-width=\"2\"/>\n",
			    x, y, r, colour);
		else
			fprintf(f,
			    "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" "
			    "height=\"%.1f\" fill=\"none\" stroke=\"%s\" "
			    "stroke-width=\"2\"/>\n",
			    x - r, y - r, 2 * r, 2 * r, colour);
	}
}

static void draw(FILE *f, const struct result *two, const struct result *three)
{
	const struct axis time = {"CPU seconds", 0.001, 100, LEFT},
			  gap = {"length above the bound, percent", 0.001, 10,
			      LEFT + CHART_WIDTH + 80};
	double values[N_ORDERS];

	fprintf(f,
	    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" "
	    "height=\"%d\" font-family=\"sans-serif\" font-size=\"12\">\n"
	    "<title>Time and gap over sizes and pieces</title>\n"
	    "<rect width=\"100%%\" height=\"100%%\" fill=\"white\"/>\n",
	    LEFT + 2 * CHART_WIDTH + 110, TOP + CHART_HEIGHT + 75);
	for (int chart = 0; chart < 2; chart++) {
		const struct axis *a = chart == 0 ? &time : &gap;

		draw_axis(f, a);
		for (size_t i = 0; i < N_ORDERS; i++)
			values[i] = chart == 0 ? two[i].seconds : two[i].gap;
		draw_marks(f, a, values, "#1a6faf", true);
		for (size_t i = 0; i < N_ORDERS; i++)
			values[i] =
			    chart == 0 ? three[i].seconds : three[i].gap;
		draw_marks(f, a, values, "#b5541c", false);
	}
	fprintf(f,
	    "<text x=\"%d\" y=\"%d\">circles: two stages; squares: three; the "
	    "larger, the more sizes (10, 30, 100, 300, 1000); at the lower "
	    "edge: "
	    "0.001 or less</text>\n</svg>\n",
	    LEFT, TOP + CHART_HEIGHT + 60);
}

int main(int argc, char **argv)
{
	static struct result results[2][N_ORDERS];
	double seconds = argc > 2 ? atof(argv[2]) : 20;

	printf(
	    "stages  sizes  pieces   rolls  bound    gap %%   first s   time "
	    "s\n");
	for (int s = 0; s < 2; s++)
		for (size_t i = 0; i < N_ORDERS; i++) {
			struct result *r = &results[s][i];

			*r = run(&orders[i], s + 2, seconds);
			printf("%6d %6zu %7" PRId64 " %7" PRId64 " %6" PRId64
			       " %8.4f  %8.3f %8.3f\n",
			    s + 2, orders[i].sizes, orders[i].pieces, r->rolls,
			    r->bound, r->gap, r->first, r->seconds);
			fflush(stdout);
		}
	if (argc > 1) {
		FILE *f = fopen(argv[1], "w");

		if (f == NULL)
			return 1;
		draw(f, results[0], results[1]);
		fclose(f);
	}
	return 0;
}
