/* SPDX-License-Identifier: MIT */
/*
 * tidy.c - the order of strips on a roll, and no strip higher than it need be.
 *
 * A strip comes from a table of heights, so whoever made it may have asked for more height
 * than its pieces take: on stock that does not count as length nothing else would lower
 * it, and its pieces would all be torn twice.
 */
#include "tidy.h"

#include <stdlib.h>

/* Wide segments first, then by the ways in them: equal patterns side by side. */
static int compare_content(const struct pattern *a, const struct pattern *b)
{
	for (size_t i = 0; i < a->n_parts && i < b->n_parts; i++) {
		const struct part *x = &a->parts[i], *y = &b->parts[i];

		if (x->width != y->width)
			return x->width > y->width ? -1 : 1;
		for (size_t k = 0; k < x->n && k < y->n; k++) {
			size_t v = a->ways[x->first + k],
			       w = b->ways[y->first + k];

			if (v != w)
				return v < w ? -1 : 1;
		}
		if (x->n != y->n)
			return x->n < y->n ? -1 : 1;
	}
	return (a->n_parts > b->n_parts) - (a->n_parts < b->n_parts);
}

static int compare_laid(const void *x, const void *y)
{
	const struct laid *a = x, *b = y;
	const struct pattern *p = a->pattern, *q = b->pattern;
	int d = (a->run > b->run) - (a->run < b->run);

	if (d == 0)
		d = (p->height < q->height) - (p->height > q->height);
	if (d == 0)
		d = (p->used < q->used) - (p->used > q->used);
	if (d == 0)
		d = compare_content(p, q);
	return d != 0 ? d : (a->at > b->at) - (a->at < b->at);
}

void draft_tidy(struct draft *draft)
{
	for (size_t i = 0; i < draft->n_used; i++) {
		struct used *used = &draft->used[i];
		const struct clean *runs = draft->model->bins[used->bin].runs;
		length at = 0;

		if (used->n_laid > 0)
			qsort(used->laid, used->n_laid, sizeof(*used->laid),
			    compare_laid);
		for (size_t k = 0; k < used->n_laid; k++) {
			if (k == 0 ||
			    used->laid[k].run != used->laid[k - 1].run)
				at = runs[used->laid[k].run].at;
			used->laid[k].at = at;
			at += used->laid[k].pattern->height;
		}
	}
}

void draft_lower(struct draft *draft)
{
	const struct model *m = draft->model;

	for (size_t i = 0; i < draft->n_used; i++) {
		struct used *used = &draft->used[i];
		const struct frame *frame =
		    &m->frames[m->bins[used->bin].frame];
		const struct pattern *was = NULL, *is = NULL;

		for (size_t k = 0; k < used->n_laid; k++) {
			if (used->laid[k].pattern != was) {
				was = used->laid[k].pattern;
				is = pattern_tighten(
				    m, draft->arena, was, frame);
			}
			used->laid[k].pattern = is;
		}
	}
	draft_count(draft);
}
