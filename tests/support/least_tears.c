/* SPDX-License-Identifier: MIT */
/*
 * least_tears.c - every way to divide a handful of pieces over segments, strips and rolls.
 *
 * Bottom up over sets of pieces: the fewest tears of a segment of some width in a strip of
 * some height, of a row of segments, of strips of some height in all, of rolls.  The tears
 * are counted from docs/plan.md, "The rules", and with no code of the planner.
 */
#include "least_tears.h"

#include <stdlib.h>
#include <string.h>

#define SETS (1 << TEARS_PIECES)
#define SPAN (TEARS_LENGTH + 1)
#define NEVER 100000

struct search {
	const struct problem *problem;
	struct piece ones[TEARS_PIECES];
	int n;
	int width, length_;
	int segment[SETS][SPAN];    /* in a strip of one height, by width */
	int row[SETS][SPAN];        /* by the sum of widths */
	int strip[SPAN][SETS];      /* by height */
	int roll[SETS][SPAN];       /* by the sum of heights */
	struct totals placed[SETS]; /* best for this set */
};

static int least(int a, int b)
{
	return a < b ? a : b;
}

/* One stack of exactly these pieces, each lying as `turned` says. */
static void try_stack(struct search *s, int set, int turned, int height)
{
	int across = 0, sum = 0, tears = 1, pieces = 0;

	for (int pass = 0; pass < 2; pass++)
		for (int i = 0; i < s->n; i++) {
			const struct piece *p = &s->ones[i];
			bool swap = turned >> i & 1;
			int w = (int)(swap ? p->along : p->across);

			if (!(set >> i & 1))
				continue;
			if (pass == 0) {
				if (swap && !p->turn)
					return;
				across = w > across ? w : across;
				sum += (int)(swap ? p->across : p->along);
				pieces++;
			} else {
				tears += w < across;
			}
		}
	if (sum > height || across > s->width)
		return;
	tears += pieces - (sum == height);
	s->segment[set][across] = least(s->segment[set][across], tears);
}

static void find_segments(struct search *s, int height)
{
	for (int set = 1; set < 1 << s->n; set++) {
		for (int v = 0; v <= s->width; v++)
			s->segment[set][v] = NEVER;
		if ((set & (set - 1)) != 0 && s->problem->stages == 2)
			continue;
		for (int turned = set;; turned = (turned - 1) & set) {
			try_stack(s, set, turned, height);
			if (turned == 0)
				break;
		}
	}
}

static void find_strips(struct search *s, int height)
{
	find_segments(s, height);
	for (int v = 0; v <= s->width; v++)
		s->row[0][v] = v == 0 ? 0 : NEVER;
	for (int set = 1; set < 1 << s->n; set++) {
		int *row = s->row[set];

		for (int v = 0; v <= s->width; v++)
			row[v] = NEVER;
		for (int part = set; part > 0; part = (part - 1) & set)
			for (int v = 1; v <= s->width; v++)
				for (int u = v; u <= s->width &&
						s->segment[part][v] < NEVER;
				     u++)
					row[u] = least(row[u],
					    s->segment[part][v] +
						s->row[set ^ part][u - v]);
		s->strip[height][set] = NEVER;
		for (int v = 1; v <= s->width; v++)
			s->strip[height][set] = least(
			    s->strip[height][set], row[v] - (v == s->width));
	}
}

static void find_rolls(struct search *s)
{
	for (int height = 1; height <= s->length_; height++)
		find_strips(s, height);
	for (int l = 0; l <= s->length_; l++)
		s->roll[0][l] = l == 0 ? 0 : NEVER;
	for (int set = 1; set < 1 << s->n; set++)
		for (int l = 0; l <= s->length_; l++) {
			int *best = &s->roll[set][l];

			*best = NEVER;
			for (int part = set; part > 0; part = (part - 1) & set)
				for (int h = 1; h <= l; h++)
					*best = least(*best,
					    s->strip[h][part] + 1 +
						s->roll[set ^ part][l - h]);
		}
}

static bool is_less(const struct totals *a, const struct totals *b)
{
	if (a->fresh_rolls != b->fresh_rolls)
		return a->fresh_rolls < b->fresh_rolls;
	if (a->strip_length != b->strip_length)
		return a->strip_length < b->strip_length;
	return a->tears < b->tears;
}

static void place(struct search *s)
{
	for (int set = 1; set < 1 << s->n; set++) {
		s->placed[set].fresh_rolls = NEVER;
		for (int part = set; part > 0; part = (part - 1) & set)
			for (int l = 1; l <= s->length_; l++) {
				struct totals t = s->placed[set ^ part];

				if (s->roll[part][l] >= NEVER)
					continue;
				t.fresh_rolls++;
				t.strip_length += l;
				t.tears += s->roll[part][l] - (l == s->length_);
				if (is_less(&t, &s->placed[set]))
					s->placed[set] = t;
			}
	}
}

static bool load(struct search *s)
{
	const struct problem *p = s->problem;

	if (p->n_stock != 1 || !p->stock[0].fresh || p->stock[0].flat ||
	    p->stock[0].n_spoiled > 0 || p->sliver > 0 || p->oversize > 0 ||
	    p->stock[0].width > TEARS_LENGTH ||
	    p->stock[0].length > TEARS_LENGTH)
		return false;
	s->width = (int)p->stock[0].width;
	s->length_ = (int)p->stock[0].length;
	for (size_t i = 0; i < p->n_pieces; i++)
		for (int64_t c = 0; c < p->pieces[i].count; c++) {
			if (s->n == TEARS_PIECES)
				return false;
			s->ones[s->n++] = p->pieces[i];
		}
	return true;
}

bool tears_least(const struct problem *problem, struct totals *best)
{
	struct search *s = calloc(1, sizeof(*s));
	bool ok;

	s->problem = problem;
	ok = load(s);
	if (ok) {
		find_rolls(s);
		place(s);
		*best = s->placed[(1 << s->n) - 1];
		ok = best->fresh_rolls < NEVER;
	}
	free(s);
	return ok;
}
