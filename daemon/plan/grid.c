/* SPDX-License-Identifier: MIT */
/*
 * grid.c - one strip from stacks, stacks from ways.
 *
 * stack[l][x] is the dearest stack up to x cells high from the first l layers; a layer is
 * one way, once, twice, four times, as far as it is needed.  Ways enter by rising width,
 * so the table after the last way of width v serves segments of width v (Gilmore and
 * Gomory 1965, and the prefix device).  For one height the best row of segments is then a
 * knapsack over the width.
 *
 * Neither knows that the segments of a row draw on the same demand.  So a row is taken
 * segment by segment, and when one of them can no longer be had, the rest of the row is
 * worked out anew from what is left.
 */
#include "grid.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define WIDTH_CELLS 720
#define HEIGHT_CELLS 1440
#define HEIGHTS_LOOKED_AT 24
#define HEIGHTS_TRIED 3
#define VALUE_MOST ((int64_t)1 << 29) /* of a whole strip: values are 32 bits */

struct layer {
	size_t way;
	int32_t copies;
	int32_t up; /* cells */
	int32_t value;
};

struct width { /* ways up to this width make its stacks */
	int32_t cells;
	size_t n_layers;
};

struct choice { /* a height and the density it promises */
	int32_t height;
	int64_t promise;
};

struct taken {           /* one segment */
	size_t first, n; /* into chosen */
};

struct grid {
	const struct model *m;
	const struct frame *f;
	length unit_w, unit_h, tallest;
	int32_t width, height; /* cells */
	size_t *ways;          /* of the frame, by rising width */
	int32_t *way_w, *way_h, *value;
	struct layer *layers;
	size_t n_layers, most_layers;
	int32_t *stack; /* (most_layers + 1) rows of height + 1 */
	struct width *widths;
	size_t n_widths;
	int32_t *row;     /* dearest row up to a width */
	int32_t *segment; /* the width that ends there, -1: none */
	struct choice *choices;
	int64_t *left;
	size_t *chosen; /* ways of the strip being taken */
	size_t n_chosen, cap_chosen;
	struct taken *taken;
	size_t n_taken;
	int64_t steps;
};

/* Layers for the largest demand that a stack can use. */
static size_t count_layers(const struct grid *g)
{
	size_t n = 0;

	for (size_t k = 0; k < g->f->n_ways; k++)
		for (int64_t left = g->height / g->way_h[k], c = 1; left > 0;
		     left -= c, c *= 2)
			n++;
	return n;
}

struct grid *grid_new(const struct model *m, size_t frame)
{
	struct grid *g = xcalloc(1, sizeof(*g));
	size_t n = m->frames[frame].n_ways;
	length high;

	g->m = m;
	g->f = &m->frames[frame];
	g->ways = xcalloc(n + 1, sizeof(*g->ways));
	frame_by_width(m, g->f, g->ways, &g->unit_w, &g->unit_h);
	high = n > 0 ? m->ways[g->f->ways[0]].h : 1;
	g->tallest =
	    4 * high > g->f->longest / 6 ? 4 * high : g->f->longest / 6;
	if (g->tallest > g->f->longest)
		g->tallest = g->f->longest;
	if (g->unit_w == 0)
		g->unit_w = g->unit_h = 1;
	if (g->f->width / g->unit_w > WIDTH_CELLS)
		g->unit_w = ceil_div(g->f->width, WIDTH_CELLS);
	if (g->tallest / g->unit_h > HEIGHT_CELLS)
		g->unit_h = ceil_div(g->tallest, HEIGHT_CELLS);
	g->width = (int32_t)(g->f->width / g->unit_w);
	g->height = (int32_t)(g->tallest / g->unit_h);
	g->way_w = xcalloc(n + 1, sizeof(*g->way_w));
	g->way_h = xcalloc(n + 1, sizeof(*g->way_h));
	g->value = xcalloc(n + 1, sizeof(*g->value));
	for (size_t k = 0; k < n; k++) {
		const struct way *w = &m->ways[g->ways[k]];

		g->way_w[k] = (int32_t)ceil_div(w->w, g->unit_w);
		g->way_h[k] = (int32_t)ceil_div(w->h, g->unit_h);
	}
	g->most_layers = count_layers(g);
	g->layers = xcalloc(g->most_layers + 1, sizeof(*g->layers));
	g->stack = xcalloc(
	    (g->most_layers + 1) * (size_t)(g->height + 1), sizeof(*g->stack));
	g->widths = xcalloc(n + 1, sizeof(*g->widths));
	g->row = xcalloc((size_t)g->width + 1, sizeof(*g->row));
	g->segment = xcalloc((size_t)g->width + 1, sizeof(*g->segment));
	g->choices = xcalloc((size_t)g->height + 1, sizeof(*g->choices));
	g->left = xcalloc(m->n_sizes + 1, sizeof(*g->left));
	g->taken = xcalloc((size_t)g->width + 1, sizeof(*g->taken));
	return g;
}

void grid_delete(struct grid *g)
{
	if (g == NULL)
		return;
	free(g->ways);
	free(g->way_w);
	free(g->way_h);
	free(g->value);
	free(g->layers);
	free(g->stack);
	free(g->widths);
	free(g->row);
	free(g->segment);
	free(g->choices);
	free(g->left);
	free(g->chosen);
	free(g->taken);
	free(g);
}

length grid_tallest(const struct grid *g)
{
	return g->tallest;
}

int64_t grid_steps(struct grid *g)
{
	int64_t steps = g->steps;

	g->steps = 0;
	return steps;
}

/* Prices so that a strip full of the densest piece stays below VALUE_MOST. */
static void set_values(struct grid *g, const int64_t price[])
{
	int64_t num = 0, den = 1;

	for (size_t k = 0; k < g->f->n_ways; k++) {
		int64_t p = price[g->m->ways[g->ways[k]].size];
		int64_t cells = (int64_t)g->way_w[k] * g->way_h[k];

		if ((wide)p * den > (wide)num * cells) {
			num = p;
			den = cells;
		}
	}
	for (size_t k = 0; k < g->f->n_ways; k++) {
		wide p = price[g->m->ways[g->ways[k]].size];

		g->value[k] = num == 0
				  ? 0
				  : (int32_t)(p * VALUE_MOST / num * den /
					      ((wide)g->width * g->height));
	}
}

/* dst[x] = max(src[x], src[x - up] + value) */
static void add_layer(const int32_t *restrict src, int32_t *restrict dst,
    int32_t height, const struct layer *l)
{
	memcpy(dst, src, (size_t)l->up * sizeof(*dst));
	for (int32_t x = l->up; x <= height; x++) {
		int32_t with = src[x - l->up] + l->value;

		dst[x] = src[x] > with ? src[x] : with;
	}
}

static int32_t *stack_row(const struct grid *g, size_t layers)
{
	return &g->stack[layers * (size_t)(g->height + 1)];
}

static void add_way(struct grid *g, size_t k, int32_t height, int32_t width)
{
	int64_t left = g->left[g->m->ways[g->ways[k]].size];

	if (g->way_w[k] > width || g->value[k] == 0)
		return;
	if (left > height / g->way_h[k])
		left = height / g->way_h[k];
	for (int32_t c = 1; left > 0; c *= 2) {
		int32_t copies = c < left ? c : (int32_t)left;
		struct layer *l = &g->layers[g->n_layers];

		left -= copies;
		*l = (struct layer){g->ways[k], copies, copies * g->way_h[k],
		    copies * g->value[k]};
		add_layer(stack_row(g, g->n_layers),
		    stack_row(g, g->n_layers + 1), height, l);
		g->n_layers++;
	}
}

/* The tables for stacks up to `height`, segments up to `width`, from g->left. */
static void make_stacks(struct grid *g, int32_t height, int32_t width)
{
	g->n_layers = g->n_widths = 0;
	memset(stack_row(g, 0), 0, (size_t)(height + 1) * sizeof(*g->stack));
	for (size_t k = 0; k < g->f->n_ways;) {
		int32_t v = g->way_w[k];
		size_t before = g->n_layers;

		for (; k < g->f->n_ways && g->way_w[k] == v; k++)
			add_way(g, k, height, width);
		if (g->n_layers > before)
			g->widths[g->n_widths++] =
			    (struct width){v, g->n_layers};
	}
	g->steps += (int64_t)g->n_layers * height / 4;
}

/* The dearest row up to `width` in a strip of this height; its segments in g->segment. */
static int32_t make_row(struct grid *g, int32_t height, int32_t width)
{
	int32_t dearest = 0;

	memset(g->row, 0, (size_t)(width + 1) * sizeof(*g->row));
	memset(g->segment, -1, (size_t)(width + 1) * sizeof(*g->segment));
	for (size_t i = 0; i < g->n_widths; i++) {
		int32_t v = g->widths[i].cells;
		int32_t value = stack_row(g, g->widths[i].n_layers)[height];

		if (value <= dearest)
			continue; /* a narrower one holds as much */
		dearest = value;
		for (int32_t x = v; x <= width; x++)
			if (g->row[x - v] + value > g->row[x]) {
				g->row[x] = g->row[x - v] + value;
				g->segment[x] = (int32_t)i;
			}
		g->steps += (width - v) / 2;
	}
	return g->row[width];
}

static void choose_way(struct grid *g, size_t way)
{
	if (g->n_chosen == g->cap_chosen) {
		g->cap_chosen = 2 * g->cap_chosen + 64;
		g->chosen =
		    xrealloc(g->chosen, g->cap_chosen, sizeof(*g->chosen));
	}
	g->chosen[g->n_chosen++] = way;
}

/*
 * Take the dearest stack for this width out of g->left.  False: a size has run out; then
 * only `force` takes it, without what is not there.
 */
static bool take_segment(
    struct grid *g, const struct width *width, int32_t height, bool force)
{
	struct taken t = {.first = g->n_chosen};
	int32_t x = height;
	bool ok = true;

	for (size_t l = width->n_layers; l-- > 0;) {
		const struct layer *layer = &g->layers[l];

		if (stack_row(g, l + 1)[x] == stack_row(g, l)[x])
			continue;
		x -= layer->up;
		for (int32_t c = 0; c < layer->copies; c++)
			if (g->left[layer->way / 2] > 0) {
				g->left[layer->way / 2]--;
				choose_way(g, layer->way);
			} else {
				ok = false;
			}
	}
	if (!ok && !force) {
		while (g->n_chosen > t.first)
			g->left[g->chosen[--g->n_chosen] / 2]++;
		return false;
	}
	t.n = g->n_chosen - t.first;
	if (t.n > 0)
		g->taken[g->n_taken++] = t;
	return true;
}

/* As much of the row as can be had; returns the width left, unchanged when nothing was. */
static int32_t take_row(struct grid *g, int32_t height, int32_t width)
{
	int32_t rest = width;

	for (int32_t x = width; x > 0;) {
		const struct width *w;

		if (g->segment[x] < 0) {
			x--;
			continue;
		}
		w = &g->widths[g->segment[x]];
		if (!take_segment(g, w, height, rest == width))
			return rest;
		rest -= w->cells;
		x -= w->cells;
	}
	return rest;
}

/* A strip of this height out of need, into g->taken and g->chosen; its value. */
static int64_t take_strip(
    struct grid *g, const int64_t need[], const int64_t price[], int32_t height)
{
	int32_t width = g->width, before;
	int64_t value = 0;

	memcpy(g->left, need, g->m->n_sizes * sizeof(*need));
	g->n_taken = g->n_chosen = 0;
	do {
		before = width;
		make_stacks(g, height, width);
		if (make_row(g, height, width) > 0)
			width = take_row(g, height, width);
	} while (width < before);
	for (size_t k = 0; k < g->n_chosen; k++)
		value += price[g->chosen[k] / 2];
	return value;
}

static length height_taken(const struct grid *g)
{
	length most = 0;

	for (size_t i = 0; i < g->n_taken; i++) {
		length sum = 0;

		for (size_t k = 0; k < g->taken[i].n; k++)
			sum += g->m->ways[g->chosen[g->taken[i].first + k]].h;
		most = sum > most ? sum : most;
	}
	return most;
}

static struct pattern *make_pattern(const struct grid *g, struct arena *arena)
{
	struct pattern *p =
	    pattern_new(arena, height_taken(g), g->n_taken, g->n_chosen);

	for (size_t i = 0; i < g->n_taken; i++) {
		const size_t *ways = &g->chosen[g->taken[i].first];
		length width = 0;

		for (size_t k = 0; k < g->taken[i].n; k++)
			if (g->m->ways[ways[k]].w > width)
				width = g->m->ways[ways[k]].w;
		pattern_add_part(p, width);
		for (size_t k = 0; k < g->taken[i].n; k++)
			pattern_add_way(p, ways[k]);
	}
	pattern_sort(g->m, p);
	return p;
}

static int compare_choices(const void *x, const void *y)
{
	const struct choice *a = x, *b = y;

	if (a->promise != b->promise)
		return a->promise > b->promise ? -1 : 1;
	return (a->height > b->height) - (a->height < b->height);
}

/* Somewhat more, by up to one in 1024 / most. */
static int64_t stir(int64_t value, int64_t most, uint64_t luck, int32_t k)
{
	uint64_t z = luck + (uint64_t)(k + 1) * UINT64_C(0x9e3779b97f4a7c15);

	if (luck == 0)
		return value;
	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	return value / 1024 *
	       (1024 + (int64_t)((z ^ (z >> 31)) % (uint64_t)(most + 1)));
}

/* Heights by what a row could hold if a segment more or less could be split. */
static size_t promise_heights(struct grid *g, int32_t highest, uint64_t luck)
{
	size_t n = 0;

	for (int32_t h = 1; h <= highest; h++)
		g->choices[h - 1] = (struct choice){h, 0};
	for (size_t i = 0; i < g->n_widths; i++) {
		const int32_t *stack = stack_row(g, g->widths[i].n_layers);
		int64_t cells = g->widths[i].cells;
		int64_t fit = g->width / cells * cells + g->width;

		for (int32_t h = 1; h <= highest; h++) {
			int64_t d = (stack[h] * fit * 128) / (cells * h);

			if (d > g->choices[h - 1].promise)
				g->choices[h - 1].promise = d;
		}
	}
	for (int32_t h = 0; h < highest; h++)
		if (g->choices[h].promise > 0) {
			g->choices[n] = g->choices[h];
			g->choices[n].promise =
			    stir(g->choices[n].promise, 30, luck, h);
			n++;
		}
	qsort(g->choices, n, sizeof(*g->choices), compare_choices);
	g->steps += (int64_t)g->n_widths * highest / 2 + highest;
	return n;
}

/* Of the promising heights those with the densest rows, best first. */
static size_t look_at_heights(struct grid *g, int32_t highest, uint64_t luck)
{
	size_t n = promise_heights(g, highest, luck);

	n = n < HEIGHTS_LOOKED_AT ? n : HEIGHTS_LOOKED_AT;
	for (size_t i = 0; i < n; i++) {
		struct choice *c = &g->choices[i];

		c->promise = stir((int64_t)make_row(g, c->height, g->width) *
				      65536 / c->height,
		    10, luck, c->height);
	}
	qsort(g->choices, n, sizeof(*g->choices), compare_choices);
	return n < HEIGHTS_TRIED ? n : HEIGHTS_TRIED;
}

struct pattern *grid_strip(struct grid *g, const int64_t need[],
    const int64_t price[], length room, bool exact, uint64_t luck,
    struct arena *arena)
{
	int32_t highest = room / g->unit_h < g->height
			      ? (int32_t)(room / g->unit_h)
			      : g->height;
	struct pattern *best = NULL;
	int64_t best_value = 0;
	size_t n = 1;

	set_values(g, price);
	memcpy(g->left, need, g->m->n_sizes * sizeof(*need));
	g->choices[0] = (struct choice){highest, 0};
	if (!exact) {
		make_stacks(g, highest, g->width);
		n = look_at_heights(g, highest, luck);
	}
	for (size_t i = 0; i < n && highest > 0; i++) {
		int64_t value =
		    take_strip(g, need, price, g->choices[i].height);

		if (g->n_taken > 0 &&
		    (best == NULL || (wide)value * best->height >
					 (wide)best_value * height_taken(g))) {
			best = make_pattern(g, arena);
			best_value = value;
		}
	}
	return best;
}
