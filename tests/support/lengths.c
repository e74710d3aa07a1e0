/* SPDX-License-Identifier: MIT */
/*
 * lengths.c - dynamic programming over what is left.
 *
 * least[s] is the least length for the pieces of state s, a number in mixed base of how
 * many of each entry are left.  Any strip may come first, so least[s] is the least of its
 * height plus least[what it leaves].  Nothing is shared with the planner: no prices, no
 * linear program, no cuts.
 *
 * Three stages: the least width in which a content stands in a strip of height h is again
 * dynamic programming, over the stack that is taken away last; the least height of a
 * content is the first at which that width fits.
 */
#include "lengths.h"

#include <stdlib.h>
#include <string.h>

#define STATES_MOST 20000
#define SIZES_MOST 8
#define STRIPS_MOST 20000

struct row {
	length height;
	int64_t count[SIZES_MOST];
};

struct search {
	const struct problem *p;
	size_t n;
	length height;
	struct row now, *list;
	size_t n_list;
};

/* The narrower way that is no higher than the strip; 0: none. */
static length width_in(const struct piece *q, length height)
{
	length w = q->along <= height ? q->across : 0;

	if (q->turn && q->across <= height && (w == 0 || q->along < w))
		w = q->along;
	return w;
}

/* Every row that could take no piece more. */
static void list_rows(struct search *s, size_t i, length room)
{
	length w;

	if (i == s->n) {
		for (size_t k = 0; k < s->n; k++) {
			w = width_in(&s->p->pieces[k], s->height);
			if (w > 0 && w <= room &&
			    s->now.count[k] < s->p->pieces[k].count)
				return;
		}
		s->now.height = s->height;
		if (s->n_list < STRIPS_MOST)
			s->list[s->n_list++] = s->now;
		return;
	}
	w = width_in(&s->p->pieces[i], s->height);
	for (int64_t c = 0; c <= s->p->pieces[i].count && c * w <= room; c++) {
		s->now.count[i] = c;
		list_rows(s, i + 1, room - c * w);
		if (w == 0)
			break;
	}
	s->now.count[i] = 0;
}

static void list_all(struct search *s)
{
	for (size_t i = 0; i < s->n; i++)
		for (int turned = 0; turned < 2; turned++) {
			const struct piece *q = &s->p->pieces[i];

			s->height = turned ? q->across : q->along;
			if ((!turned || q->turn) &&
			    (turned ? q->along : q->across) <=
				s->p->stock[0].width)
				list_rows(s, 0, s->p->stock[0].width);
		}
}

/* What row r leaves of state s. */
static size_t leave(const struct search *s, size_t state, const struct row *r)
{
	size_t left = 0, base = 1;

	for (size_t i = 0; i < s->n; i++) {
		size_t digits = (size_t)s->p->pieces[i].count + 1;
		int64_t here = (int64_t)(state % digits) - r->count[i];

		left += (here > 0 ? (size_t)here : 0) * base;
		base *= digits;
		state /= digits;
	}
	return left;
}

#define STATES_MOST_3 300

static size_t digits_of(const struct search *s, size_t state, int64_t count[])
{
	size_t pieces = 0;

	for (size_t i = 0; i < s->n; i++) {
		size_t base = (size_t)s->p->pieces[i].count + 1;

		count[i] = (int64_t)(state % base);
		state /= base;
		pieces += (size_t)count[i];
	}
	return pieces;
}

/* The least width of a stack of these pieces no higher than h; 0: none is. */
static length stack_width(const struct search *s, size_t state, length h)
{
	int64_t count[SIZES_MOST];
	length best = 0;

	digits_of(s, state, count);
	for (size_t k = 0; k < 2 * s->n;
	     k++) { /* the width of one of the ways */
		length v = k % 2 ? s->p->pieces[k / 2].along
				 : s->p->pieces[k / 2].across,
		       sum = 0;

		for (size_t i = 0; i < s->n; i++) {
			const struct piece *q = &s->p->pieces[i];
			length high = q->across <= v ? q->along : 0;

			if (q->turn && q->along <= v &&
			    (high == 0 || q->across < high))
				high = q->across;
			sum += high > 0 ? count[i] * high : count[i] * (h + 1);
		}
		if (sum <= h && (best == 0 || v < best))
			best = v;
	}
	return best;
}

static bool holds(const struct search *s, size_t all, size_t part)
{
	int64_t a[SIZES_MOST], b[SIZES_MOST];

	digits_of(s, all, a);
	digits_of(s, part, b);
	for (size_t i = 0; i < s->n; i++)
		if (b[i] > a[i])
			return false;
	return true;
}

/* height[c] for every content that fits a strip of height h and none lower. */
static void contents_of_height(
    const struct search *s, size_t states, length h, length height[])
{
	length *stack = calloc(states, sizeof(*stack));
	length *width = calloc(states, sizeof(*width));

	for (size_t c = 1; c < states; c++) {
		stack[c] = stack_width(s, c, h);
		width[c] = stack[c] > 0 ? stack[c] : INT64_MAX / 4;
		for (size_t t = 1; t < c; t++)
			if (stack[t] > 0 &&
			    width[c - t] + stack[t] < width[c] &&
			    holds(s, c, t))
				width[c] = width[c - t] + stack[t];
		if (width[c] <= s->p->stock[0].width && height[c] == 0)
			height[c] = h;
	}
	free(stack);
	free(width);
}

static length least_three(const struct search *s, size_t states)
{
	length *height = calloc(states, sizeof(*height));
	length *least = calloc(states, sizeof(*least));
	length answer, most = 0;

	for (size_t i = 0; i < s->n; i++)
		most += s->p->pieces[i].count *
			(s->p->pieces[i].across + s->p->pieces[i].along);
	for (length h = 1; h <= most && height[states - 1] == 0; h++)
		contents_of_height(s, states, h, height);
	for (size_t state = 1; state < states; state++) {
		least[state] =
		    height[state] > 0 ? height[state] : INT64_MAX / 4;
		for (size_t c = 1; c < state; c++)
			if (height[c] > 0 &&
			    least[state - c] + height[c] < least[state] &&
			    holds(s, state, c))
				least[state] = least[state - c] + height[c];
	}
	answer = least[states - 1];
	free(height);
	free(least);
	return answer;
}

length lengths_least(const struct problem *problem)
{
	struct search s = {.p = problem, .n = problem->n_pieces};
	size_t states = 1;
	length *least, answer;

	for (size_t i = 0; i < s.n && states <= STATES_MOST; i++)
		states *= (size_t)problem->pieces[i].count + 1;
	if (states > STATES_MOST || s.n > SIZES_MOST)
		return -1;
	if (problem->stages == 3)
		return states > STATES_MOST_3 ? -1 : least_three(&s, states);
	s.list = calloc(STRIPS_MOST, sizeof(*s.list));
	least = calloc(states, sizeof(*least));
	list_all(&s);
	for (size_t state = 1; state < states; state++) {
		least[state] = INT64_MAX;
		for (size_t k = 0; k < s.n_list; k++) {
			size_t left = leave(&s, state, &s.list[k]);

			if (left < state && least[left] < INT64_MAX &&
			    least[left] + s.list[k].height < least[state])
				least[state] = least[left] + s.list[k].height;
		}
	}
	answer = s.n_list == STRIPS_MOST ? -1 : least[states - 1];
	free(least);
	free(s.list);
	return answer;
}
