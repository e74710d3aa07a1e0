/* SPDX-License-Identifier: MIT */
/*
 * ip_branch.c - what to split a branch on.
 *
 * Splitting on a single strip is lopsided: one more of it says much, one less says
 * nothing, for a hundred others are nearly as good.  Sums of many strips say something on
 * both sides: how many are at least so high, how many hold a size so often, how many hold
 * two sizes together (Ryan and Foster 1981, Vanderbeck 2011; from memory).  A single
 * strip is the last resort, and it always settles.
 */
#include <stdlib.h>

#include "alloc.h"
#include "ip_own.h"

#define GROUP_WEIGHT 3
#define PAIR_WEIGHT 0.9
#define CHOICES 3
#define TRIES 3 /* of a side, before its past is trusted */

struct choice {
	struct set set;
	double value, weight;
};

/* The columns that x uses, and what may be split. */
struct support {
	struct tree *t;
	size_t *column;
	size_t n;
	struct choice choice[CHOICES];
	size_t n_choices;
};

static int64_t count_in(const struct ip_column *c, size_t row)
{
	for (size_t k = 0; k < c->n; k++)
		if (c->entries[k].row == row)
			return c->entries[k].count;
	return 0;
}

/* Keep the CHOICES furthest from whole, in falling order. */
static void weigh(
    struct support *s, const struct set *set, double value, double weight)
{
	struct choice c = {*set, value, brokenness(value) * weight};
	size_t i = s->n_choices;

	if (c.weight <= 0)
		return;
	if (i == CHOICES && c.weight <= s->choice[CHOICES - 1].weight)
		return;
	if (i == CHOICES)
		i--;
	else
		s->n_choices++;
	for (; i > 0 && s->choice[i - 1].weight < c.weight; i--)
		s->choice[i] = s->choice[i - 1];
	s->choice[i] = c;
}

static void weigh_groups(struct support *s)
{
	const struct ip *ip = s->t->ip;

	for (size_t f = 0; f < ip->n_firsts; f++) {
		struct set set = {
		    .kind = SET_GROUP, .b = SIZE_MAX, .from = ip->firsts[f]};
		double sum = 0;

		for (size_t k = 0; k < s->n; k++)
			if (ip->group[s->column[k]] >= set.from)
				sum += s->t->x[s->column[k]];
		weigh(s, &set, sum, GROUP_WEIGHT);
	}
}

/* Strips that hold row a at least `from` times, b as well if it is a row. */
static double sum_with(const struct support *s, const struct set *set)
{
	const struct ip *ip = s->t->ip;
	double sum = 0;

	for (size_t k = 0; k < s->n; k++) {
		const struct ip_column *c = &ip->columns[s->column[k]];

		if (count_in(c, set->a) >= set->from &&
		    (set->b == SIZE_MAX || count_in(c, set->b) >= set->from_b))
			sum += s->t->x[s->column[k]];
	}
	return sum;
}

static void weigh_rows(struct support *s)
{
	const struct ip *ip = s->t->ip;

	for (size_t a = 0; a < ip->n_rows; a++) {
		struct set set = {
		    .kind = SET_ROWS, .a = a, .b = SIZE_MAX, .from = 1};

		for (; set.from <= 8; set.from++) {
			double sum = sum_with(s, &set);

			if (sum < WHOLE)
				break;
			weigh(s, &set, sum, 1);
		}
	}
}

static void weigh_pairs(struct support *s)
{
	const struct ip *ip = s->t->ip;

	for (size_t a = 0; a < ip->n_rows; a++)
		for (size_t b = a + 1; b < ip->n_rows; b++) {
			struct set set = {.kind = SET_ROWS,
			    .a = a,
			    .b = b,
			    .from = 1,
			    .from_b = 1};

			weigh(s, &set, sum_with(s, &set), PAIR_WEIGHT);
		}
}

/* As it is but for errors of the LP: both sides are smaller than the branch. */
static bool is_within(double value, int64_t low, int64_t high)
{
	return value >= (double)low && value <= (double)high;
}

static bool choose_column(const struct support *s, struct branch *b)
{
	double best = -1;

	for (size_t k = 0; k < s->n; k++) {
		size_t j = s->column[k];
		double v = s->t->x[j], f = v - (double)(int64_t)v;

		if (brokenness(v) >= 0 && f > best + WHOLE &&
		    is_within(v, s->t->low[j], s->t->high[j])) {
			best = f;
			*b = (struct branch){false, j, v, true};
		}
	}
	return best >= 0;
}

/* By how much the LP rises on one side of the split; the gap itself when it is cut. */
static double try_side(
    struct tree *t, size_t i, int64_t low, int64_t high, double from)
{
	int64_t was_low = t->sets[i].low, was_high = t->sets[i].high;
	double most = (double)tree_target(t) + 1 - from, gain;

	relax_bound_set(t, i, low, high);
	gain = relax_try(t) - from;
	relax_bound_set(t, i, was_low, was_high);
	return gain < 0 ? 0 : gain > most ? most : gain;
}

/* The expected gain on a side: tried while little is known of the set. */
static double expect(
    struct tree *t, size_t i, int side, double value, double from)
{
	int64_t whole = (int64_t)value;
	double part = value - (double)whole;
	double unit = side == 0 ? part : 1 - part, gain;
	struct set *s = &t->sets[i];

	if (s->tries[side] >= TRIES)
		return s->gain[side] / s->tries[side] * unit;
	gain = side == 0 ? try_side(t, i, s->low, whole, from)
			 : try_side(t, i, whole + 1, s->high, from);
	s->gain[side] += gain / unit;
	s->tries[side]++;
	return gain;
}

/* The choice whose two sides both gain: their product decides. */
static bool choose_set(struct support *s, struct branch *b)
{
	struct tree *t = s->t;
	double best = -1, from = simplex_value(t->lp);

	for (size_t k = 0; k < s->n_choices; k++) {
		const struct choice *c = &s->choice[k];
		size_t i = relax_add_set(t, &c->set);
		double down, up, score;

		if (!is_within(c->value, t->sets[i].low, t->sets[i].high))
			continue;
		down = expect(t, i, 0, c->value, from);
		up = expect(t, i, 1, c->value, from);
		score = (down + 0.01) * (up + 0.01);
		if (score > best) {
			best = score;
			*b = (struct branch){true, i, c->value, up < down};
		}
	}
	return best >= 0;
}

bool branch_choose(struct tree *t, struct branch *b)
{
	struct support s = {.t = t};
	bool found;

	relax_drop_sets(t);
	s.column = xcalloc(t->ip->n_columns + 1, sizeof(*s.column));
	for (size_t j = 0; j < t->ip->n_columns; j++)
		if (t->x[j] > 1e-9)
			s.column[s.n++] = j;
	weigh_groups(&s);
	if (t->ip->cuts) {
		weigh_rows(&s);
		weigh_pairs(&s);
	}
	found = choose_set(&s, b) || choose_column(&s, b);
	free(s.column);
	return found;
}
