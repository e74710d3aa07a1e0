/* SPDX-License-Identifier: MIT */
/*
 * raster.c - stacks for all heights, rows of stacks for all heights.
 *
 * stack[l][h] is the dearest stack up to h cells high from the first l layers; a layer is
 * one way, once, twice, four times, as far as it is needed.  Ways enter by rising width,
 * so the table after the last way of width v serves segments of width v.  row[x][h] is
 * the dearest row of segments up to x cells wide in a strip h high:
 *     row[x][h] = max(row[x-1][h], row[x-v][h] + stack[v][h] over all widths v).
 * Both are Gilmore and Gomory's (1965), one level deeper; what makes it quick is that
 * every step is the same for all heights, a plain loop over neighbouring numbers.  It is
 * done for a tile of heights at a time, whose tables stay in the processor's cache.
 *
 * Where lengths have no large common divisor, cells are larger and sizes rounded down.
 * Heights stay so.  Widths are made wider again, cell by cell, as long as no row of pieces
 * that fits on the roll is wider than the raster: few pieces lie beside each other, so
 * hardly anything is lost across.
 */
#include "raster.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "knap.h"

#define WIDTH_CELLS 400
#define ROW_NODES (1 << 16)
#define PASSES 8
#define TILE 512
#define STEP_CELLS 16 /* cells a step */

struct layer {
	size_t way;
	int32_t copies, up, value;
};

struct width { /* ways up to this width make its stacks */
	int32_t cells;
	size_t n_layers;
};

struct raster {
	const struct model *m;
	const struct frame *f;
	length unit_w, unit_h;
	int32_t width, height; /* cells */
	bool exact;
	size_t *ways; /* of the frame, by rising width */
	int32_t *way_w, *way_h;
	struct layer *layers;
	size_t n_layers;
	int32_t *stack; /* a row of height + 1 for 0, 1, ... layers */
	struct width *widths;
	size_t n_widths;
	int32_t *row;  /* (width + 1) rows of height + 1 */
	int64_t steps; /* of the making */
};

/* Of the cells about so large those that cut off least, by area. */
static length choose_unit(const struct raster *r, length about)
{
	length best = about;
	wide least = -1;

	for (length u = about; u <= about + about / 4; u++) {
		wide lost = 0;

		for (size_t k = 0; k < r->f->n_ways; k++) {
			const struct way *w = &r->m->ways[r->f->ways[k]];

			lost += (wide)(w->h % u) * r->m->sizes[w->size].demand *
				w->w;
		}
		if (least < 0 || lost < least) {
			least = lost;
			best = u;
		}
	}
	return best;
}

/* No strip lowered to its highest stack is higher. */
static length tallest(const struct raster *r)
{
	length sum = 0;

	for (size_t k = 0; k < r->f->n_ways; k++) {
		const struct way *w = &r->m->ways[r->f->ways[k]];

		sum += w->h * r->m->sizes[w->size].demand;
		if (sum > r->f->longest)
			return r->f->longest;
	}
	return sum;
}

/* Larger cells until there are few enough of them. */
static void choose_cells(struct raster *r, int64_t cells)
{
	length w = r->f->width, h = tallest(r), least = 1;

	if ((wide)(w / r->unit_w) * (h / r->unit_h) <= cells) {
		r->exact = true;
		return;
	}
	if (w / r->unit_w > WIDTH_CELLS)
		r->unit_w = ceil_div(w, WIDTH_CELLS);
	while ((wide)(w / r->unit_w) * (h / least) > cells)
		least += least / 16 + 1;
	if (least > r->unit_h)
		r->unit_h = choose_unit(r, least);
}

/* The most cells that pieces beside each other take, or more. */
static int64_t widest_row(
    struct raster *r, struct knap *knap, struct item items[], int64_t chosen[])
{
	int64_t bound = 0, steps = 0;

	for (size_t k = 0; k < r->f->n_ways; k++)
		items[k] = (struct item){r->m->ways[r->ways[k]].w, r->way_w[k],
		    r->m->sizes[r->m->ways[r->ways[k]].size].demand, k};
	qsort(items, r->f->n_ways, sizeof(*items), knap_before);
	knap_best(
	    knap, items, r->f->n_ways, r->f->width, 0, chosen, &bound, &steps);
	r->steps += steps;
	return bound;
}

/*
 * Rounded down, widths lose up to a cell each.  As long as no row of pieces that fits
 * comes out wider than the raster, they may be wider again.
 */
static void widen(struct raster *r)
{
	size_t n = r->f->n_ways;
	struct knap *knap = knap_new(ROW_NODES);
	struct item *items = xcalloc(n, sizeof(*items));
	int64_t *chosen = xcalloc(n, sizeof(*chosen));
	bool any = true;

	for (int pass = 0; pass < PASSES && any; pass++) {
		any = false;
		for (size_t k = n; k-- > 0;) {
			r->way_w[k]++;
			if (widest_row(r, knap, items, chosen) <= r->width)
				any = true;
			else
				r->way_w[k]--;
		}
	}
	free(chosen);
	free(items);
	knap_delete(knap);
}

/* By rising width in cells, which is not quite that in units any more. */
static void sort_again(struct raster *r)
{
	for (size_t k = 1; k < r->f->n_ways; k++)
		for (size_t j = k; j > 0 && r->way_w[j] < r->way_w[j - 1];
		     j--) {
			size_t way = r->ways[j];
			int32_t w = r->way_w[j], h = r->way_h[j];

			r->ways[j] = r->ways[j - 1];
			r->way_w[j] = r->way_w[j - 1];
			r->way_h[j] = r->way_h[j - 1];
			r->ways[j - 1] = way;
			r->way_w[j - 1] = w;
			r->way_h[j - 1] = h;
		}
}

static size_t count_layers(const struct raster *r)
{
	size_t n = 0;

	for (size_t k = 0; k < r->f->n_ways; k++)
		for (int64_t left = r->height / r->way_h[k], c = 1; left > 0;
		     left -= c, c *= 2)
			n++;
	return n;
}

struct raster *raster_new(const struct model *m, size_t frame, int64_t cells)
{
	struct raster *r = xcalloc(1, sizeof(*r));
	size_t n = m->frames[frame].n_ways;
	bool ok = n > 0;

	r->m = m;
	r->f = &m->frames[frame];
	r->ways = xcalloc(n + 1, sizeof(*r->ways));
	r->way_w = xcalloc(n + 1, sizeof(*r->way_w));
	r->way_h = xcalloc(n + 1, sizeof(*r->way_h));
	r->widths = xcalloc(n + 1, sizeof(*r->widths));
	frame_by_width(m, r->f, r->ways, &r->unit_w, &r->unit_h);
	if (ok)
		choose_cells(r, cells);
	for (size_t k = 0; k < n; k++) {
		const struct way *w = &m->ways[r->ways[k]];

		r->way_w[k] = (int32_t)(w->w / r->unit_w);
		r->way_h[k] = (int32_t)(w->h / r->unit_h);
		ok = ok && r->way_w[k] > 0 && r->way_h[k] > 0;
	}
	if (!ok) {
		raster_delete(r);
		return NULL;
	}
	r->width = (int32_t)(r->f->width / r->unit_w);
	r->height = (int32_t)(tallest(r) / r->unit_h);
	if (!r->exact) {
		widen(r);
		sort_again(r);
	}
	n = count_layers(r);
	r->layers = xcalloc(n + 1, sizeof(*r->layers));
	r->stack =
	    xcalloc((n + 1) * (size_t)(r->height + 1), sizeof(*r->stack));
	r->row = xcalloc(
	    (size_t)(r->width + 1) * (size_t)(r->height + 1), sizeof(*r->row));
	return r;
}

void raster_delete(struct raster *r)
{
	if (r == NULL)
		return;
	free(r->ways);
	free(r->way_w);
	free(r->way_h);
	free(r->layers);
	free(r->stack);
	free(r->widths);
	free(r->row);
	free(r);
}

int32_t raster_heights(const struct raster *r)
{
	return r->height;
}

length raster_unit(const struct raster *r)
{
	return r->unit_h;
}

int64_t raster_ceiling(const struct raster *r, const int64_t price[])
{
	wide most = 0;

	for (size_t k = 0; k < r->f->n_ways; k++) {
		wide cells = (wide)r->way_w[k] * r->way_h[k];
		wide all = ((wide)price[r->m->ways[r->ways[k]].size] *
				   r->width * r->height +
			       cells - 1) /
			   cells;

		most = all > most ? all : most;
	}
	return most > INT64_MAX ? INT64_MAX : (int64_t)most;
}

static int32_t *stack_row(const struct raster *r, size_t layers)
{
	return &r->stack[layers * (size_t)(r->height + 1)];
}

static int32_t *row_of(const struct raster *r, int32_t x)
{
	return &r->row[(size_t)x * (size_t)(r->height + 1)];
}

/* dst[i] = max(dst[i], src[i] + more[i]) */
static void take_dearer(int32_t *restrict dst, const int32_t *restrict src,
    const int32_t *restrict more, size_t n)
{
	for (size_t i = 0; i < n; i++) {
		int32_t with = src[i] + more[i];

		dst[i] = dst[i] > with ? dst[i] : with;
	}
}

/* dst[h] = max(src[h], src[h - up] + value) */
static void add_layer(struct raster *r, const struct layer *l)
{
	const int32_t *src = stack_row(r, r->n_layers);
	int32_t *restrict dst = stack_row(r, r->n_layers + 1);

	memcpy(dst, src, (size_t)l->up * sizeof(*dst));
	for (int32_t h = l->up; h <= r->height; h++) {
		int32_t with = src[h - l->up] + l->value;

		dst[h] = src[h] > with ? src[h] : with;
	}
	r->layers[r->n_layers++] = *l;
}

static void add_way(
    struct raster *r, size_t k, const int64_t price[], const int64_t most[])
{
	size_t size = r->m->ways[r->ways[k]].size;
	int64_t left = most[size];

	if (price[size] == 0)
		return;
	if (left > r->height / r->way_h[k])
		left = r->height / r->way_h[k];
	for (int64_t c = 1; left > 0; c *= 2) {
		int32_t copies = (int32_t)(c < left ? c : left);
		struct layer l = {r->ways[k], copies, copies * r->way_h[k],
		    copies * (int32_t)price[size]};

		left -= copies;
		add_layer(r, &l);
	}
}

static void make_stacks(
    struct raster *r, const int64_t price[], const int64_t most[])
{
	r->n_layers = r->n_widths = 0;
	memset(stack_row(r, 0), 0, (size_t)(r->height + 1) * sizeof(*r->stack));
	for (size_t k = 0; k < r->f->n_ways;) {
		int32_t v = r->way_w[k];
		size_t before = r->n_layers;

		for (; k < r->f->n_ways && r->way_w[k] == v; k++)
			add_way(r, k, price, most);
		if (r->n_layers > before)
			r->widths[r->n_widths++] =
			    (struct width){v, r->n_layers};
	}
}

static void make_rows(struct raster *r, size_t from, size_t n)
{
	memset(row_of(r, 0) + from, 0, n * sizeof(*r->row));
	for (int32_t x = 1; x <= r->width; x++) {
		int32_t *dst = row_of(r, x) + from;

		memcpy(dst, row_of(r, x - 1) + from, n * sizeof(*dst));
		for (size_t i = 0; i < r->n_widths && r->widths[i].cells <= x;
		     i++)
			take_dearer(dst,
			    row_of(r, x - r->widths[i].cells) + from,
			    stack_row(r, r->widths[i].n_layers) + from, n);
	}
}

bool raster_set(struct raster *r, const int64_t price[], const int64_t most[],
    struct budget *budget)
{
	size_t all = (size_t)r->height + 1;

	budget_spend(budget, r->steps);
	r->steps = 0;
	make_stacks(r, price, most);
	for (size_t from = 0; from < all; from += TILE) {
		size_t n = all - from < TILE ? all - from : TILE;
		int64_t cells = (int64_t)(r->n_widths * n) * r->width +
				(int64_t)(r->n_layers * n);

		make_rows(r, from, n);
		if (!budget_spend(budget, cells / STEP_CELLS + 1))
			return false;
	}
	return true;
}

int64_t raster_value(const struct raster *r, int32_t h)
{
	return row_of(r, r->width)[h];
}

static void count_stack(
    const struct raster *r, size_t layers, int32_t h, int64_t count[])
{
	for (size_t l = layers; l-- > 0;)
		if (stack_row(r, l + 1)[h] != stack_row(r, l)[h]) {
			h -= r->layers[l].up;
			count[r->layers[l].way / 2] += r->layers[l].copies;
		}
}

void raster_content(const struct raster *r, int32_t h, int64_t count[])
{
	int32_t x = r->width;

	memset(count, 0, r->m->n_sizes * sizeof(*count));
	while (x > 0) {
		int32_t value = row_of(r, x)[h];
		size_t i = 0;

		if (value == row_of(r, x - 1)[h]) {
			x--;
			continue;
		}
		while (row_of(r, x - r->widths[i].cells)[h] +
			   stack_row(r, r->widths[i].n_layers)[h] !=
		       value)
			i++;
		count_stack(r, r->widths[i].n_layers, h, count);
		x -= r->widths[i].cells;
	}
}
