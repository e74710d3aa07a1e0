/* SPDX-License-Identifier: MIT */
/*
 * worth.c - what a roll can hold at given prices.
 *
 * Gilmore and Gomory's two levels (1965): v(h), the dearest strip of each height, then
 * the dearest set of strips within each clean run.  A plan may be thought of with every
 * strip lowered to its tallest piece, so heights are those of ways and no more strips of
 * a height are needed than there are pieces that tall.  All in whole numbers, cut off
 * searches count at their bound: the result is never too low.
 */
#include "bounds.h"

#include <stdlib.h>

#include "alloc.h"
#include "bars.h"
#include "knap.h"
#include "strips.h"

#define RUN_NODES (1 << 18)

struct heights {
	struct item *items; /* size: height, value: dearest strip */
	size_t n;
	int64_t num, den; /* the best value for a unit of height */
	bool complete;
};

/* In two stages a strip of height h holds a piece just so high: this many there are. */
static int64_t pieces_of_height(
    const struct model *m, const struct frame *f, length h)
{
	int64_t n = 0;

	for (size_t k = 0; k < f->n_ways; k++)
		if (m->ways[f->ways[k]].h == h)
			n += m->sizes[f->ways[k] / 2].demand;
	return n;
}

static bool find_values(const struct model *m, size_t frame,
    const int64_t price[], const int64_t most[], struct budget *budget,
    struct heights *out)
{
	struct strips *s = strips_new(m, frame, true);
	size_t n = strips_n_heights(s);

	*out = (struct heights){
	    .items = xcalloc(n + 1, sizeof(*out->items)), .den = 1};
	strips_set(s, price, most);
	for (size_t k = 0; k < n && !budget->stopped; k++) {
		length h = strips_height(s, k);
		int64_t bound;

		strips_best(s, k, 0, &bound);
		budget_spend(budget, strips_steps(s));
		if (bound <= 0)
			continue;
		out->items[out->n++] = (struct item){h, bound,
		    m->stages == 2 ? pieces_of_height(m, &m->frames[frame], h)
				   : INT64_MAX,
		    k};
		if ((wide)bound * out->den > (wide)out->num * h) {
			out->num = bound;
			out->den = h;
		}
	}
	out->complete = strips_complete(s);
	strips_delete(s);
	qsort(out->items, out->n, sizeof(*out->items), knap_before);
	return !budget->stopped;
}

static int64_t dearest_runs(
    const struct heights *hs, const struct bin *bin, struct budget *budget)
{
	struct knap *k = knap_new(RUN_NODES);
	int64_t *count = xcalloc(hs->n + 1, sizeof(*count));
	int64_t sum = 0;

	for (size_t r = 0; r < bin->n_runs; r++) {
		int64_t bound = 0, steps = 0;

		knap_best(k, hs->items, hs->n, bin->runs[r].length, 0, count,
		    &bound, &steps);
		budget_spend(budget, steps);
		sum += bound;
	}
	free(count);
	knap_delete(k);
	return sum;
}

static int64_t dearest_bars(
    const struct model *m, const struct bin *bin, int64_t row)
{
	wide sum = 0;

	for (size_t r = 0; r < bin->n_runs; r++)
		sum += (wide)row * heights_reach(m, &m->frames[bin->frame],
				       bin->runs[r].length);
	return sum > INT64_MAX / 4 ? INT64_MAX / 4 : (int64_t)sum;
}

/* The worth of a bin, and of a unit of its length. */
static void raise_worth(const struct model *m, const struct bin *bin,
    int64_t worth, int64_t num, int64_t den, struct worth *w)
{
	if (worth > w->stock[bin->stock])
		w->stock[bin->stock] = worth;
	if (m->problem->stock[bin->stock].fresh &&
	    (wide)num * w->den > (wide)w->num * den) {
		w->num = num;
		w->den = den;
	}
}

static bool worth_of_frame(const struct model *m, size_t frame,
    const int64_t most[], struct budget *budget, struct worth *w)
{
	struct heights hs;
	bool ok = find_values(m, frame, w->size, most, budget, &hs);
	int64_t row = 0;

	if (ok && !hs.complete)
		row = bars_dearest(m, frame, w->size, budget);
	for (size_t b = 0; b < m->n_bins && ok; b++) {
		const struct bin *bin = &m->bins[b];

		if (bin->frame != frame)
			continue;
		if (hs.complete)
			raise_worth(m, bin, dearest_runs(&hs, bin, budget),
			    hs.num, hs.den, w);
		else
			raise_worth(
			    m, bin, dearest_bars(m, bin, row), row, 1, w);
	}
	free(hs.items);
	return ok && !budget->stopped;
}

bool worth_by_prices(
    const struct model *m, struct budget *budget, struct worth *w)
{
	int64_t *most = xcalloc(m->n_sizes, sizeof(*most));
	bool ok = true;

	for (size_t i = 0; i < m->n_sizes; i++)
		most[i] = m->sizes[i].demand;
	for (size_t i = 0; i < m->problem->n_stock; i++)
		w->stock[i] = 0;
	w->num = 0;
	w->den = 1;
	for (size_t f = 0; f < m->n_frames && ok; f++)
		ok = worth_of_frame(m, f, most, budget, w);
	free(most);
	return ok;
}
