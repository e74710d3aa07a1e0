/* SPDX-License-Identifier: MIT */
/* scale.c - lengths divided by their common measure, and multiplied again. */
#include "scale.h"

#include <string.h>

length scale_of(const struct problem *problem)
{
	length unit = length_gcd(problem->sliver, problem->oversize);

	for (size_t i = 0; i < problem->n_stock; i++) {
		const struct stock *s = &problem->stock[i];

		unit = length_gcd(s->width, length_gcd(s->length, unit));
		for (size_t k = 0; k < s->n_spoiled; k++)
			unit = length_gcd(s->spoiled[k].from,
			    length_gcd(s->spoiled[k].to, unit));
	}
	for (size_t i = 0; i < problem->n_pieces; i++)
		unit = length_gcd(problem->pieces[i].across,
		    length_gcd(problem->pieces[i].along, unit));
	return unit == 0 ? 1 : unit;
}

static void scale_stock(struct problem *p, struct stock *s, length unit)
{
	struct run *runs =
	    arena_array(p->arena, s->n_spoiled + 1, sizeof(*runs));

	for (size_t k = 0; k < s->n_spoiled; k++)
		runs[k] = (struct run){
		    s->spoiled[k].from / unit, s->spoiled[k].to / unit};
	s->width /= unit;
	s->length /= unit;
	s->spoiled = runs;
}

struct problem *scale_down(const struct problem *problem, length unit)
{
	struct problem *p = problem_new(problem->n_stock, problem->n_pieces);

	p->stages = problem->stages;
	p->prefer_price = problem->prefer_price;
	p->sliver = problem->sliver / unit;
	p->oversize = problem->oversize / unit;
	p->milliseconds = problem->milliseconds;
	memcpy(p->stock, problem->stock, p->n_stock * sizeof(*p->stock));
	memcpy(p->pieces, problem->pieces, p->n_pieces * sizeof(*p->pieces));
	for (size_t i = 0; i < p->n_stock; i++)
		scale_stock(p, &p->stock[i], unit);
	for (size_t i = 0; i < p->n_pieces; i++) {
		p->pieces[i].across /= unit;
		p->pieces[i].along /= unit;
	}
	return p;
}

static void scale_strip(struct strip *strip, length unit)
{
	strip->at *= unit;
	strip->height *= unit;
	for (size_t i = 0; i < strip->n_segments; i++) {
		struct segment *segment = &strip->segments[i];

		segment->at *= unit;
		segment->width *= unit;
		for (size_t k = 0; k < segment->n_pieces; k++) {
			segment->pieces[k].at *= unit;
			segment->pieces[k].across *= unit;
			segment->pieces[k].along *= unit;
		}
	}
}

void scale_up(struct plan *plan, length unit)
{
	for (size_t i = 0; i < plan->n_rolls; i++) {
		plan->rolls[i].width *= unit;
		plan->rolls[i].length *= unit;
		for (size_t k = 0; k < plan->rolls[i].n_strips; k++)
			scale_strip(&plan->rolls[i].strips[k], unit);
	}
	plan->totals.strip_length *= unit;
	plan->bounds.strip_length *= unit;
}
