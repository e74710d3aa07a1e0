/* SPDX-License-Identifier: MIT */
/* draw.c - seeded problems: tiny ones for the oracle, classes, large orders. */
#include "draw.h"

uint64_t dice_next(struct dice *d)
{
	uint64_t z = d->state += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	return z ^ (z >> 31);
}

int64_t dice_between(struct dice *d, int64_t least, int64_t most)
{
	return least + (int64_t)(dice_next(d) % (uint64_t)(most - least + 1));
}

static bool one_in(struct dice *d, int64_t n)
{
	return dice_between(d, 1, n) == 1;
}

static void draw_spoiled(struct dice *d, struct problem *p, struct stock *s)
{
	struct run *runs = arena_array(p->arena, 2, sizeof(*runs));
	length at = 0;

	for (size_t k = 0; k < 2 && at + 2 < s->length; k++) {
		runs[k].from = dice_between(d, at, s->length - 2);
		runs[k].to =
		    dice_between(d, runs[k].from + 1, runs[k].from + 2);
		at = runs[k].to + 1;
		s->n_spoiled++;
	}
	s->spoiled = runs;
}

static void draw_tiny_stock(
    struct dice *d, struct problem *p, struct stock *s, size_t i)
{
	s->name = arena_printf(p->arena, "stock %zu", i + 1);
	s->width = dice_between(d, 5, 12);
	s->length = dice_between(d, 5, 12);
	s->price = dice_between(d, 0, 4) * 10;
	s->available =
	    i > 0 || one_in(d, 5) ? dice_between(d, 1, 2) : UNLIMITED;
	s->flat = one_in(d, 4);
	s->fresh = (s->available == UNLIMITED && !s->flat) || one_in(d, 4);
	if (!s->flat && one_in(d, 4))
		draw_spoiled(d, p, s);
}

struct problem *draw_tiny(uint64_t seed)
{
	struct dice d = {seed};
	size_t n_stock = (size_t)dice_between(&d, 1, 3),
	       n_sizes = (size_t)dice_between(&d, 1, 4);
	struct problem *p = problem_new(n_stock, n_sizes);
	int64_t left = 6;

	p->stages = (int)dice_between(&d, 2, 3);
	p->prefer_price = one_in(&d, 3);
	if (one_in(&d, 3)) {
		p->sliver = dice_between(&d, 1, 3);
		p->oversize = dice_between(&d, 0, 1);
	}
	for (size_t i = 0; i < n_stock; i++)
		draw_tiny_stock(&d, p, &p->stock[i], i);
	for (size_t i = 0; i < n_sizes; i++) {
		struct piece *q = &p->pieces[i];

		q->name = arena_printf(p->arena, "piece %zu", i + 1);
		q->across = dice_between(&d, 1, 7);
		q->along = dice_between(&d, 1, 7);
		q->count = dice_between(
		    &d, 1, left - (int64_t)(n_sizes - i - 1) > 3 ? 3 : 1);
		left -= q->count;
		q->turn = one_in(&d, 2);
	}
	return p;
}

struct sheet {
	length across, along;
};

/* Sizes a painter asks for, in inches and in ISO 216 millimetres. */
static const struct sheet inch_sheets[] = {
    {5 * INCH, 7 * INCH},
    {7 * INCH, 10 * INCH},
    {8 * INCH, 10 * INCH},
    {9 * INCH, 12 * INCH},
    {10 * INCH, 14 * INCH},
    {11 * INCH, 14 * INCH},
    {11 * INCH, 15 * INCH},
    {12 * INCH, 16 * INCH},
    {14 * INCH, 20 * INCH},
    {15 * INCH, 22 * INCH},
    {16 * INCH, 20 * INCH},
    {18 * INCH, 24 * INCH},
    {22 * INCH, 30 * INCH},
    {12 * INCH, 12 * INCH},
    {6 * INCH, 6 * INCH},
};
static const struct sheet mm_sheets[] = {
    {105 * MM, 148 * MM},
    {148 * MM, 210 * MM},
    {210 * MM, 297 * MM},
    {297 * MM, 420 * MM},
    {240 * MM, 320 * MM},
    {300 * MM, 400 * MM},
    {180 * MM, 250 * MM},
    {380 * MM, 560 * MM},
};

static struct sheet draw_sheet(struct dice *d, bool mixed)
{
	if (mixed && one_in(d, 2)) {
		struct sheet s = mm_sheets[dice_between(
		    d, 0, sizeof(mm_sheets) / sizeof(*mm_sheets) - 1)];
		length margin = dice_between(d, 0, 2) * 10 * MM;

		return (struct sheet){s.across + margin, s.along + margin};
	} else {
		struct sheet s = inch_sheets[dice_between(
		    d, 0, sizeof(inch_sheets) / sizeof(*inch_sheets) - 1)];
		length margin = dice_between(d, 0, 4) * (INCH / 4);

		return (struct sheet){s.across + margin, s.along + margin};
	}
}

static void set_roll(struct stock *s, length width, length len, money price)
{
	*s = (struct stock){.name = "roll",
	    .width = width,
	    .length = len,
	    .price = price,
	    .available = UNLIMITED,
	    .fresh = true};
}

struct problem *draw_class(uint64_t seed, int stages, bool mixed)
{
	static const length widths[] = {
	    44 * INCH, 45 * INCH, 51 * INCH, 55 * INCH, 60 * INCH};
	struct dice d = {seed};
	size_t n_sizes = (size_t)dice_between(&d, 3, 31);
	struct problem *p = problem_new(1, n_sizes);
	int64_t most = dice_between(&d, 2, 40);
	length width;

	p->stages = stages;
	width = widths[dice_between(&d, 0, 4)];
	set_roll(&p->stock[0], width, (one_in(&d, 4) ? 5 : 10) * YARD, 19200);
	for (size_t i = 0; i < n_sizes; i++) {
		struct sheet s = draw_sheet(&d, mixed);

		p->pieces[i] =
		    (struct piece){.across = s.across, .along = s.along};
		p->pieces[i].name = arena_printf(p->arena, "member %zu", i + 1);
		p->pieces[i].count = dice_between(&d, 1, most);
		p->pieces[i].turn = !one_in(&d, 4);
	}
	return p;
}

struct problem *draw_large(
    uint64_t seed, int stages, size_t n_sizes, int64_t n_pieces)
{
	struct dice d = {seed};
	struct problem *p = problem_new(1, n_sizes);
	int64_t most = 2 * n_pieces / (int64_t)n_sizes - 1;

	p->stages = stages;
	set_roll(&p->stock[0], 45 * INCH, 10 * YARD, 19200);
	for (size_t i = 0; i < n_sizes; i++) {
		struct piece *q = &p->pieces[i];

		q->name = arena_printf(p->arena, "size %zu", i + 1);
		q->across = dice_between(&d, 32, 240) * (INCH / 8);
		q->along = dice_between(&d, 32, 240) * (INCH / 8);
		q->count = dice_between(&d, 1, most < 1 ? 1 : most);
		q->turn = one_in(&d, 2);
	}
	return p;
}

struct problem *draw_endless(struct dice *d, const struct endless *e)
{
	struct problem *p = problem_new(1, e->n);

	p->stages = e->stages;
	set_roll(&p->stock[0], e->width, 100000, 0);
	for (size_t i = 0; i < e->n; i++) {
		struct piece *q = &p->pieces[i];

		q->name = arena_printf(p->arena, "piece %zu", i + 1);
		q->across = dice_between(d, e->least, e->most);
		q->along = dice_between(d, e->least, e->most);
		q->count = dice_between(d, 1, e->many);
		q->turn = dice_between(d, 0, 1) == 1;
	}
	return p;
}
