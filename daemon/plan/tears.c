/* SPDX-License-Identifier: MIT */
/*
 * tears.c - tears before there is a plan.
 *
 * The plan that is written spreads what may stay on (the oversize) over the pieces; here
 * it is enough to know whether something is torn off or not.  In one place the two may
 * differ: a segment that is widened takes in a piece that was a little narrower.  So
 * these numbers lead a search, and what a plan has is counted again from the plan.
 */
#include "tears.h"

int64_t part_tears(const struct model *m, length height,
    const struct pattern *p, const struct part *part)
{
	int64_t tears = 1 + (int64_t)part->n;
	length sum = 0;

	for (size_t k = part->first; k < part->first + part->n; k++) {
		const struct way *w = &m->ways[p->ways[k]];

		sum += w->h;
		tears += part->width - w->w > m->oversize;
	}
	return tears - (height - sum <= (length)part->n * m->oversize);
}

int64_t pattern_tears(
    const struct model *m, const struct pattern *p, const struct frame *frame)
{
	length rest = frame->whole - p->used, stretch = 0;
	int64_t tears = 0;

	for (size_t i = 0; i < p->n_parts; i++) {
		tears += part_tears(m, p->height, p, &p->parts[i]);
		stretch += pattern_stretch(m, p, i);
	}
	return tears - (rest <= stretch);
}

static int compare_lengths(length a, length b)
{
	return (a > b) - (a < b);
}

int pattern_compare(
    const struct model *m, const struct pattern *a, const struct pattern *b)
{
	int d = compare_lengths(b->height, a->height);

	for (size_t i = 0; i < a->n_parts && i < b->n_parts && d == 0; i++) {
		const struct part *x = &a->parts[i], *y = &b->parts[i];

		d = compare_lengths(y->width, x->width);
		for (size_t k = 0; k < x->n && k < y->n && d == 0; k++) {
			const struct way *v = &m->ways[a->ways[x->first + k]];
			const struct way *w = &m->ways[b->ways[y->first + k]];

			d = compare_lengths(w->w, v->w);
			if (d == 0)
				d = compare_lengths(w->h, v->h);
		}
		if (d == 0)
			d = (x->n > y->n) - (x->n < y->n);
	}
	return d != 0 ? d
		      : (a->n_parts > b->n_parts) - (a->n_parts < b->n_parts);
}

static length used_to(const struct used *used, size_t run, length from)
{
	for (size_t k = 0; k < used->n_laid; k++)
		if (used->laid[k].run == run)
			from += used->laid[k].pattern->height;
	return from;
}

static length roll_length(const struct model *m, const struct bin *bin)
{
	const struct stock *stock = &m->problem->stock[bin->stock];

	return bin->quarter ? stock->width : stock->length;
}

/* A strip's end is torn unless it is the roll's; so is the gap before a clean run. */
int64_t used_tears(const struct model *m, const struct used *used)
{
	const struct bin *bin = &m->bins[used->bin];
	int64_t tears = (int64_t)used->n_laid;

	for (size_t r = 0; r < bin->n_runs; r++) {
		length at = bin->runs[r].at, to = used_to(used, r, at);

		tears += to > at && at > 0;
		tears -= to > at && to == roll_length(m, bin);
	}
	return tears;
}

length used_end(const struct model *m, const struct used *used)
{
	const struct bin *bin = &m->bins[used->bin];
	length end = 0;

	for (size_t r = 0; r < bin->n_runs; r++) {
		length at = bin->runs[r].at, to = used_to(used, r, at);

		end = to > at ? to : end;
	}
	return roll_length(m, bin) - end;
}
