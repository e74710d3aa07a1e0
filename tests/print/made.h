/* SPDX-License-Identifier: MIT */
/*
 * Plans made at random by laying them out first and asking for exactly what lies there, so
 * that they hold whatever a plan may: gaps, stacks, trims, several papers and rolls, strips
 * that repeat, and lengths that are on no ruler.  The same seed gives the same plan.
 */
#ifndef TESTS_PRINT_MADE_H
#define TESTS_PRINT_MADE_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "plan_new.h"
#include "sheet.h"

#define MADE_MEMBERS 12
#define MADE_PIECES 400

struct made {
	uint64_t state;
	length grid;
	struct problem *problem;
	struct plan *plan;
	struct sheet_request requests[MADE_PIECES];
	struct sheet_member members[MADE_MEMBERS];
	char names[MADE_MEMBERS][16];
	struct sheet_paper paper;
	struct sheet_input input;
};

/* splitmix64 */
static inline uint64_t made_next(struct made *m)
{
	uint64_t z = m->state += UINT64_C(0x9e3779b97f4a7c15);
	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ z >> 27) * UINT64_C(0x94d049bb133111eb);
	return z ^ z >> 31;
}

static inline int64_t made_between(struct made *m, int64_t low, int64_t high)
{
	return low + (int64_t)(made_next(m) % (uint64_t)(high - low + 1));
}

static inline length made_length(struct made *m, length low, length high)
{
	return made_between(m, (low + m->grid - 1) / m->grid, high / m->grid) *
	       m->grid;
}

static inline void made_piece(
    struct made *m, struct placed *p, length at, length across, length along)
{
	size_t i = m->problem->n_pieces;
	bool turned = made_between(m, 0, 3) == 0;
	p->at = at;
	p->across = across;
	p->along = along;
	p->turned = turned;
	size_t member = (size_t)made_between(m, 0, MADE_MEMBERS - 1);
	for (size_t k = 0; k < i; k++) {
		const struct piece *q = &m->problem->pieces[k];
		if (q->across == (turned ? along : across) &&
		    q->along == (turned ? across : along) &&
		    made_between(m, 0, 1) == 0)
			i = k;
	}
	struct piece *asked = &m->problem->pieces[i];
	p->piece = i;
	asked->count++;
	if (i < m->problem->n_pieces)
		return;
	m->problem->n_pieces++;
	m->requests[i].member = member;
	asked->name = "piece";
	asked->turn = true;
	asked->across = turned ? along : across;
	asked->along = turned ? across : along;
}

static inline void made_segment(
    struct made *m, const struct strip *strip, struct segment *s)
{
	int64_t kind = made_between(m, 0, 3);
	size_t n = kind < 2 ? 1 : (size_t)made_between(m, 1, 3);
	length at = 0;
	s->pieces = arena_array(m->plan->arena, n, sizeof(*s->pieces));
	for (size_t k = 0; k < n; k++) {
		length left = strip->height - at;
		if (left < 4 * m->grid)
			break;
		length gap = made_between(m, 0, 5) == 0
				 ? made_length(m, m->grid, left / 4)
				 : 0;
		length along = kind < 2 ? strip->height - at
					: made_length(m, m->grid, left - gap);
		if (kind < 2)
			gap = 0;
		length across = made_between(m, 0, 3)
				    ? s->width
				    : made_length(m, m->grid, s->width);
		made_piece(
		    m, &s->pieces[s->n_pieces++], at + gap, across, along);
		at += gap + along;
	}
}

static inline void made_strip(
    struct made *m, const struct roll *roll, struct strip *strip)
{
	length at = 0;
	strip->segments =
	    arena_array(m->plan->arena, 6, sizeof(*strip->segments));
	while (strip->n_segments < 6) {
		length left = roll->width - at;
		if (left < 4 * m->grid)
			break;
		length gap = made_between(m, 0, 7) == 0
				 ? made_length(m, m->grid, left / 4)
				 : 0;
		length width = made_length(m, m->grid, left - gap);
		if (made_between(m, 0, 5) == 0)
			width = left - gap;
		struct segment *s = &strip->segments[strip->n_segments++];
		s->at = at + gap;
		s->width = width;
		made_segment(m, strip, s);
		at += gap + width;
		if (made_between(m, 0, 5) == 0)
			break;
	}
}

/* The strip before once more, with other owners here and there. */
static inline void made_repeat(
    struct made *m, const struct strip *from, struct strip *to)
{
	to->n_segments = from->n_segments;
	to->segments = arena_array(
	    m->plan->arena, from->n_segments, sizeof(*to->segments));
	for (size_t i = 0; i < from->n_segments; i++) {
		to->segments[i] = from->segments[i];
		to->segments[i].pieces =
		    arena_array(m->plan->arena, from->segments[i].n_pieces,
			sizeof(*to->segments[i].pieces));
		for (size_t k = 0; k < from->segments[i].n_pieces; k++) {
			struct placed *p = &to->segments[i].pieces[k];
			*p = from->segments[i].pieces[k];
			if (m->problem->n_pieces + 1 < MADE_PIECES &&
			    made_between(m, 0, 2) == 0) {
				struct piece *asked =
				    &m->problem->pieces[m->problem->n_pieces];
				*asked = m->problem->pieces[p->piece];
				asked->count = 0;
				m->requests[m->problem->n_pieces].member =
				    (size_t)made_between(
					m, 0, MADE_MEMBERS - 1);
				p->piece = m->problem->n_pieces++;
			}
			m->problem->pieces[p->piece].count++;
		}
	}
}

static inline void made_roll(struct made *m, struct roll *roll)
{
	length at = 0;
	roll->strips = arena_array(m->plan->arena, 8, sizeof(*roll->strips));
	while (roll->n_strips < 8) {
		struct strip *strip = &roll->strips[roll->n_strips];
		length left = roll->length - at;
		bool again = roll->n_strips > 0 && made_between(m, 0, 1) &&
			     strip[-1].height <= left;
		if (left < 8 * m->grid ||
		    m->problem->n_pieces + 24 > MADE_PIECES)
			break;
		length gap = made_between(m, 0, 6) == 0
				 ? made_length(m, m->grid, left / 8)
				 : 0;
		if (again)
			gap = 0;
		strip->at = at + gap;
		strip->height = again ? strip[-1].height
				: made_between(m, 0, 9) == 0
				    ? left - gap
				    : made_length(m, 4 * m->grid, left - gap);
		if (again)
			made_repeat(m, strip - 1, strip);
		else
			made_strip(m, roll, strip);
		roll->n_strips++;
		at = strip->at + strip->height;
	}
}

static inline void made_new(struct made *m, uint64_t seed)
{
	static const length grids[] = {
	    INCH / 16, INCH / 8, MM, MM / 2, INCH / 64, 1};
	static const enum measure_system systems[] = {
	    MEASURE_INCH, MEASURE_MM, MEASURE_CM};
	memset(m, 0, sizeof(*m));
	m->state = seed;
	m->grid = grids[made_between(m, 0, 5)];
	m->problem = problem_new(3, MADE_PIECES);
	m->problem->n_pieces = 0;
	for (size_t i = 0; i < 3; i++) {
		struct stock *stock = &m->problem->stock[i];
		stock->name = i ? "roll-end" : "roll";
		stock->width = made_length(m, 300 * MM, 1500 * MM);
		stock->length = made_length(m, 500 * MM, 9150 * MM);
		stock->available = UNLIMITED;
		stock->fresh = i == 0;
	}
	m->plan = plan_new(3, MADE_PIECES);
	for (size_t i = 0; i < 3; i++) {
		struct roll *roll = &m->plan->rolls[i];
		roll->stock = i;
		roll->width = m->problem->stock[i].width;
		roll->length = m->problem->stock[i].length;
		made_roll(m, roll);
	}
	m->plan->n_unplaced = m->problem->n_pieces;
	for (size_t i = 0; i < MADE_MEMBERS; i++) {
		snprintf(m->names[i], sizeof(m->names[i]), "member %zu", i + 1);
		m->members[i].name = m->names[i];
	}
	m->paper = (struct sheet_paper){.name = "cold press 300",
	    .grams = 300,
	    .problem = m->problem,
	    .plan = m->plan,
	    .requests = m->requests};
	m->input = (struct sheet_input){.workshop = "made up",
	    .number = (int64_t)seed,
	    .system = systems[made_between(m, 0, 2)],
	    .keep = made_between(m, 0, 1) ? 150 * MM : 0,
	    .table = made_between(m, 0, 1) ? 2000 * MM : 0,
	    .straightedge = made_between(m, 0, 1) ? 400 * MM : 0,
	    .papers = &m->paper,
	    .n_papers = 1,
	    .members = m->members,
	    .n_members = MADE_MEMBERS};
}

static inline void made_delete(struct made *m)
{
	problem_delete(m->problem);
	plan_delete(m->plan);
}

#endif
