/* SPDX-License-Identifier: MIT */
/*
 * dive.c - from fractions to whole strips.
 *
 * What the LP wants whole is taken at once; then the strip with the largest fraction,
 * the LP is solved again for what is left, with new strips that hold no more than that,
 * and so on until nothing is left.  Little is lost on the way, since each later strip is
 * made for the pieces that remain.
 */
#include "master.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define NEARLY 0.0001
#define ROUNDS_IN_DIVE 12

void picks_free(struct picks *p)
{
	free(p->pattern);
	free(p->copies);
	*p = (struct picks){0};
}

void picks_add(struct picks *p, const struct pattern *pattern, int64_t copies)
{
	p->total += copies * pattern->height;
	for (size_t i = 0; i < p->n; i++)
		if (p->pattern[i] == pattern) {
			p->copies[i] += copies;
			return;
		}
	if (p->n == p->cap) {
		p->cap = p->cap == 0 ? 16 : 2 * p->cap;
		p->pattern = xrealloc(p->pattern, p->cap, sizeof(*p->pattern));
		p->copies = xrealloc(p->copies, p->cap, sizeof(*p->copies));
	}
	p->pattern[p->n] = pattern;
	p->copies[p->n++] = copies;
}

/* How often the column helps without a single piece too many. */
static int64_t useful_copies(const struct column *c, const int64_t left[])
{
	int64_t copies = INT64_MAX;

	for (size_t i = 0; i < c->n; i++)
		if (left[c->size[i]] / c->count[i] < copies)
			copies = left[c->size[i]] / c->count[i];
	return copies;
}

static void take(
    const struct column *c, int64_t copies, int64_t left[], struct picks *out)
{
	picks_add(out, c->pattern, copies);
	for (size_t i = 0; i < c->n; i++)
		left[c->size[i]] -= copies * c->count[i];
}

/* Whole parts of the LP solution; returns whether there were any. */
static bool take_whole(struct master *ma, int64_t left[], struct picks *out)
{
	bool any = false;

	for (size_t i = 0; i < ma->n_in_lp; i++) {
		const struct column *c = &ma->columns.list[i];
		int64_t copies =
		    (int64_t)floor(master_fraction(ma, i) + NEARLY);
		int64_t useful = useful_copies(c, left);

		if (copies > useful)
			copies = useful;
		if (copies <= 0)
			continue;
		take(c, copies, left, out);
		any = true;
	}
	return any;
}

/* A number in 0..1 that depends on the bias and the column alone. */
static double stir(int bias, size_t i)
{
	uint64_t z = (uint64_t)bias * UINT64_C(0x9e3779b97f4a7c15) +
		     i * UINT64_C(0xbf58476d1ce4e5b9);

	z = (z ^ z >> 31) * UINT64_C(0x94d049bb133111eb);
	return (double)(z >> 40) / (double)(1 << 24);
}

/* The one strip more: the largest fraction, pieces too many held against it. */
static bool take_one(
    struct master *ma, int bias, int64_t left[], struct picks *out)
{
	size_t best = SIZE_MAX;
	double best_score = 0;

	for (size_t i = 0; i < ma->n_in_lp; i++) {
		const struct column *c = &ma->columns.list[i];
		double fraction = master_fraction(ma, i), score;
		area all = 0, good = 0;

		if (fraction < 1e-6)
			continue;
		for (size_t k = 0; k < c->n; k++) {
			const struct size *s = &ma->model->sizes[c->size[k]];
			int64_t there =
			    left[c->size[k]] > 0 ? left[c->size[k]] : 0;

			all += c->count[k] * s->a * s->b;
			good += (c->count[k] < there ? c->count[k] : there) *
				s->a * s->b;
		}
		score = fraction * (double)good / (double)all;
		if (bias > 0)
			score *= 0.6 + 0.4 * stir(bias, i);
		if (score > best_score) {
			best_score = score;
			best = i;
		}
	}
	if (best == SIZE_MAX)
		return false;
	take(&ma->columns.list[best], 1, left, out);
	return true;
}

static bool nothing_left(const struct model *m, const int64_t left[])
{
	for (size_t i = 0; i < m->n_sizes; i++)
		if (left[i] > 0)
			return false;
	return true;
}

bool picks_drop_surplus(const struct model *m, size_t frame,
    struct arena *arena, int64_t left[], struct picks *out)
{
	struct picks lean = {0};

	for (size_t i = 0; i < out->n; i++) {
		int64_t copies = out->copies[i];

		while (copies > 0) {
			const struct pattern *p = pattern_without_surplus(
			    m, arena, out->pattern[i], &m->frames[frame], left);

			if (p == out->pattern[i])
				break;
			if (p != NULL)
				picks_add(&lean, p, 1);
			copies--;
		}
		if (copies > 0)
			picks_add(&lean, out->pattern[i], copies);
	}
	picks_free(out);
	*out = lean;
	for (size_t i = 0; i < m->n_sizes; i++)
		if (left[i] < 0)
			return false;
	return true;
}

bool master_dive(
    struct master *ma, const int64_t need[], int bias, struct picks *out)
{
	const struct model *m = ma->model;
	int64_t *left = xcalloc(m->n_sizes, sizeof(*left));
	int64_t *rest = xcalloc(m->n_sizes, sizeof(*rest));
	bool going = true;

	memcpy(left, need, m->n_sizes * sizeof(*left));
	while (going && !nothing_left(m, left)) {
		for (size_t i = 0; i < m->n_sizes; i++)
			rest[i] = left[i] > 0 ? left[i] : 0;
		master_solve(ma, rest, ROUNDS_IN_DIVE, NULL);
		if (ma->budget->stopped)
			break;
		going =
		    take_whole(ma, left, out) || take_one(ma, bias, left, out);
	}
	going = nothing_left(m, left);
	if (going)
		going = picks_drop_surplus(
		    m, ma->frame, ma->columns.arena, left, out);
	free(rest);
	free(left);
	return going;
}
