/* SPDX-License-Identifier: MIT */
/*
 * lengths.c - dynamic programming over what is left.
 *
 * least[s] is the least length for the pieces of state s, a number in mixed base of how
 * many of each entry are left.  Any strip may come first, so least[s] is the least of its
 * height plus least[what it leaves].  Nothing is shared with the planner: no prices, no
 * linear program, no cuts.
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

length lengths_least(const struct problem *problem)
{
	struct search s = {.p = problem, .n = problem->n_pieces};
	size_t states = 1;
	length *least, answer;

	for (size_t i = 0; i < s.n && states <= STATES_MOST; i++)
		states *= (size_t)problem->pieces[i].count + 1;
	if (states > STATES_MOST || s.n > SIZES_MOST)
		return -1;
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
