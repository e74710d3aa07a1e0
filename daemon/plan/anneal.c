/* SPDX-License-Identifier: MIT */
/*
 * anneal.c - pieces change places.
 *
 * A strip is as high as its highest stack, so a plan gets shorter when the stacks of a
 * strip get even and its segments fill the width.  Dives and rebuilding (dive.c,
 * rebuild.c) choose whole strips and leave both to chance at the end, where few pieces
 * are left to choose from.  Here single pieces move: onto another stack, into a new one,
 * in exchange for one or a few others, or whole stacks change strips; turned where they
 * may be.  A move that costs length is made now and then, ever more seldom (simulated
 * annealing: Kirkpatrick and others 1983, from memory).
 *
 * A strip's height alone would be a poor guide, since lowering it takes a move at every
 * one of its highest stacks.  So a quarter of what counts is the area that the stacks take
 * up as they are, each as wide as its segment: paper that is freed on top of a stack is
 * nearer to being saved than paper lost beside a narrow piece.
 *
 * Millions of moves a second, since a move touches two strips.  Too warm a start destroys
 * what the strips are good for, and cooling does not bring it back.
 */
#include "anneal.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define MOVES_A_PIECE 4000
#define MOVES_MOST 1500000
#define HOT 20 /* temperatures, in 10,000ths of a mean side of a piece */
#define COLD 2
#define STAGES 32      /* of cooling */
#define MOVES_ASK 1000 /* moves between two looks at the budget */
#define STEPS_A_MOVE 30
#define WHOLE 8 /* parts of what counts; of these STACKS as stacks are now */
#define STACKS 2
#define SOME 3 /* pieces that change places at once, on each side */

struct item { /* one piece */
	uint32_t way, stack, at;
};

struct stack {
	length height, width;
	uint32_t strip, at; /* place in the strip */
	uint32_t n, cap;
	uint32_t *items;
};

struct tier { /* a strip */
	length height, width;
	area cost;
	uint32_t n, cap;
	uint32_t *stacks;
};

struct anneal {
	const struct model *m;
	length room, longest;
	bool *allowed; /* by way */
	struct item *items, *best_items;
	uint32_t n_items;
	struct stack *stacks;
	uint32_t *best_strip; /* of each stack in the best plan */
	uint32_t n_stacks, cap_stacks;
	uint32_t *spare; /* stacks without pieces */
	uint32_t n_spare;
	struct tier *tiers;
	uint32_t n_tiers;
	length total, lowest;
	uint64_t dice;
	area temperature;
};

/* Pieces to be put elsewhere; after they were, where they came from. */
struct move {
	uint32_t item[2 * SOME], way[2 * SOME], stack[2 * SOME];
	uint32_t n;
};

static uint64_t next_dice(struct anneal *a)
{
	uint64_t z = a->dice += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	return z ^ (z >> 31);
}

static uint32_t draw(struct anneal *a, uint32_t n)
{
	return (uint32_t)(((next_dice(a) >> 32) * n) >> 32);
}

static const struct way *way_of(const struct anneal *a, uint32_t item)
{
	return &a->m->ways[a->items[item].way];
}

static uint32_t new_stack(struct anneal *a)
{
	if (a->n_spare > 0)
		return a->spare[--a->n_spare];
	if (a->n_stacks == a->cap_stacks) {
		uint32_t cap = 2 * a->cap_stacks + 64;

		a->stacks = xrealloc(a->stacks, cap, sizeof(*a->stacks));
		a->spare = xrealloc(a->spare, cap, sizeof(*a->spare));
		a->best_strip =
		    xrealloc(a->best_strip, cap, sizeof(*a->best_strip));
		a->cap_stacks = cap;
	}
	a->stacks[a->n_stacks] = (struct stack){0};
	return a->n_stacks++;
}

static void attach(struct anneal *a, uint32_t s, uint32_t t)
{
	struct tier *tier = &a->tiers[t];

	if (tier->n == tier->cap) {
		tier->cap = 2 * tier->cap + 8;
		tier->stacks =
		    xrealloc(tier->stacks, tier->cap, sizeof(*tier->stacks));
	}
	a->stacks[s].strip = t;
	a->stacks[s].at = tier->n;
	tier->stacks[tier->n++] = s;
}

static void detach(struct anneal *a, uint32_t s)
{
	struct tier *tier = &a->tiers[a->stacks[s].strip];
	uint32_t last = tier->stacks[--tier->n];

	tier->stacks[a->stacks[s].at] = last;
	a->stacks[last].at = a->stacks[s].at;
}

static void drop_if_empty(struct anneal *a, uint32_t s)
{
	if (a->stacks[s].n > 0)
		return;
	detach(a, s);
	a->spare[a->n_spare++] = s;
}

static void lift(struct anneal *a, uint32_t i)
{
	struct item *item = &a->items[i];
	struct stack *s = &a->stacks[item->stack];
	const struct way *w = way_of(a, i);
	uint32_t last = s->items[--s->n];

	s->items[item->at] = last;
	a->items[last].at = item->at;
	s->height -= w->h;
	if (w->w < s->width)
		return;
	s->width = 0;
	for (uint32_t k = 0; k < s->n; k++)
		if (way_of(a, s->items[k])->w > s->width)
			s->width = way_of(a, s->items[k])->w;
}

static void put(struct anneal *a, uint32_t i, uint32_t way, uint32_t stack)
{
	struct stack *s = &a->stacks[stack];
	const struct way *w = &a->m->ways[way];

	if (s->n == s->cap) {
		s->cap = 2 * s->cap + 8;
		s->items = xrealloc(s->items, s->cap, sizeof(*s->items));
	}
	a->items[i] = (struct item){way, stack, s->n};
	s->items[s->n++] = i;
	s->height += w->h;
	if (w->w > s->width)
		s->width = w->w;
}

/* What a strip measures and costs. */
static void weigh(struct anneal *a, uint32_t t)
{
	struct tier *tier = &a->tiers[t];
	area taken = 0;

	tier->height = tier->width = 0;
	for (uint32_t k = 0; k < tier->n; k++) {
		const struct stack *s = &a->stacks[tier->stacks[k]];

		tier->width += s->width;
		if (s->height > tier->height)
			tier->height = s->height;
		taken += s->height * s->width;
	}
	taken += (a->room - tier->width) * tier->height;
	tier->cost = (WHOLE - STACKS) * tier->height * a->room + STACKS * taken;
}

/* In 64ths of a half-life: how unlikely a draw was. */
static int64_t draw_rarity(struct anneal *a)
{
	uint64_t u = (next_dice(a) >> 44) | 1; /* below 2^20 */
	int halvings = 0;

	while (u >> (19 - halvings) == 0)
		halvings++;
	return (halvings + 1) * 64 -
	       (int64_t)(((u << (halvings + 1)) & 0xfffff) * 64 >> 20);
}

static bool accepts(struct anneal *a, area more)
{
	return more <= 0 || more <= a->temperature * draw_rarity(a) / 64;
}

/* What two strips (or one, twice) cost and measure together. */
struct pair {
	area cost;
	length height;
	bool good; /* they fit the roll */
};

static struct pair look_at(const struct anneal *a, uint32_t x, uint32_t y)
{
	const struct tier *t = &a->tiers[x], *u = &a->tiers[y];
	struct pair p = {.cost = t->cost, .height = t->height};

	p.good = t->width <= a->room && u->width <= a->room &&
		 t->height <= a->longest && u->height <= a->longest;
	if (x != y) {
		p.cost += u->cost;
		p.height += u->height;
	}
	return p;
}

static void plan_move(struct move *mv, uint32_t i, uint32_t way, uint32_t stack)
{
	mv->item[mv->n] = i;
	mv->way[mv->n] = way;
	mv->stack[mv->n++] = stack;
}

static void carry_out(struct anneal *a, struct move *mv)
{
	for (uint32_t k = 0; k < mv->n; k++)
		lift(a, mv->item[k]);
	for (uint32_t k = 0; k < mv->n; k++) {
		struct item old = a->items[mv->item[k]];

		put(a, mv->item[k], mv->way[k], mv->stack[k]);
		mv->way[k] = old.way;
		mv->stack[k] = old.stack;
	}
}

/* A move between strips x and y, taken back if it costs too much. */
static bool try_move(struct anneal *a, struct move *mv, uint32_t x, uint32_t y)
{
	struct pair before = look_at(a, x, y), after;

	carry_out(a, mv);
	weigh(a, x);
	weigh(a, y);
	after = look_at(a, x, y);
	if (after.good && accepts(a, after.cost - before.cost)) {
		a->total += after.height - before.height;
		return true;
	}
	carry_out(a, mv);
	weigh(a, x);
	weigh(a, y);
	return false;
}

/* The piece as it lies or, less often, turned. */
static uint32_t some_way(struct anneal *a, uint32_t i)
{
	uint32_t way = a->items[i].way;

	return a->allowed[way ^ 1] && draw(a, 8) < 3 ? way ^ 1 : way;
}

/* Onto the stack of q. */
static void move_over(struct anneal *a, uint32_t p, uint32_t q)
{
	struct move mv = {.n = 0};
	uint32_t s = a->items[p].stack, t = a->items[q].stack;

	plan_move(&mv, p, some_way(a, p), t);
	if (try_move(a, &mv, a->stacks[s].strip, a->stacks[t].strip))
		drop_if_empty(a, s);
}

/* Into a new stack of q's strip, if there may be room. */
static void move_apart(struct anneal *a, uint32_t p, uint32_t q)
{
	struct move mv = {.n = 0};
	uint32_t s = a->items[p].stack, from = a->stacks[s].strip,
		 to = a->stacks[a->items[q].stack].strip, way = some_way(a, p),
		 t;
	length room = a->room - a->tiers[to].width +
		      (from == to ? a->stacks[s].width : 0);

	if (a->m->ways[way].w > room)
		return;
	t = new_stack(a);
	attach(a, t, to);
	plan_move(&mv, p, way, t);
	if (try_move(a, &mv, from, to))
		drop_if_empty(a, s);
	drop_if_empty(a, t);
}

static void exchange(struct anneal *a, uint32_t p, uint32_t q)
{
	struct move mv = {.n = 0};
	uint32_t s = a->items[p].stack, t = a->items[q].stack;

	if (a->items[p].way / 2 == a->items[q].way / 2)
		return;
	plan_move(&mv, p, some_way(a, p), t);
	plan_move(&mv, q, some_way(a, q), s);
	try_move(a, &mv, a->stacks[s].strip, a->stacks[t].strip);
}

/* One to three pieces of a stack, for the move of them to another. */
static void plan_some(
    struct anneal *a, struct move *mv, uint32_t from, uint32_t to)
{
	const struct stack *s = &a->stacks[from];
	uint32_t most = 1 + draw(a, SOME), at = draw(a, s->n);

	for (uint32_t k = 0; k < s->n && k < most; k++) {
		plan_move(mv, s->items[at], some_way(a, s->items[at]), to);
		at = at + 1 < s->n ? at + 1 : 0;
	}
}

static void exchange_some(struct anneal *a, uint32_t p, uint32_t q)
{
	struct move mv = {.n = 0};
	uint32_t s = a->items[p].stack, t = a->items[q].stack;

	if (s == t)
		return;
	plan_some(a, &mv, s, t);
	plan_some(a, &mv, t, s);
	try_move(a, &mv, a->stacks[s].strip, a->stacks[t].strip);
}

static void change_strips(struct anneal *a, uint32_t s, uint32_t t)
{
	uint32_t x = a->stacks[s].strip, y = a->stacks[t].strip;

	detach(a, s);
	detach(a, t);
	attach(a, s, y);
	attach(a, t, x);
	weigh(a, x);
	weigh(a, y);
}

static void exchange_stacks(struct anneal *a, uint32_t p, uint32_t q)
{
	uint32_t s = a->items[p].stack, t = a->items[q].stack;
	uint32_t x = a->stacks[s].strip, y = a->stacks[t].strip;
	struct pair before = look_at(a, x, y), after;

	if (x == y)
		return;
	change_strips(a, s, t);
	after = look_at(a, x, y);
	if (after.good && accepts(a, after.cost - before.cost))
		a->total += after.height - before.height;
	else
		change_strips(a, s, t);
}

static void one_move(struct anneal *a)
{
	uint32_t p = draw(a, a->n_items), q = draw(a, a->n_items);
	uint32_t kind = draw(a, 16);

	if (p == q)
		return;
	if (kind < 3)
		move_over(a, p, q);
	else if (kind < 10)
		exchange(a, p, q);
	else if (kind < 11)
		move_apart(a, p, q);
	else if (kind < 15)
		exchange_some(a, p, q);
	else
		exchange_stacks(a, p, q);
}

static void keep_best(struct anneal *a)
{
	a->lowest = a->total;
	memcpy(a->best_items, a->items, a->n_items * sizeof(*a->items));
	for (uint32_t s = 0; s < a->n_stacks; s++)
		a->best_strip[s] = a->stacks[s].strip;
}

static void cool(struct anneal *a, length goal, struct budget *budget)
{
	int64_t moves = (int64_t)a->n_items * MOVES_A_PIECE;
	area unit = 0; /* a mean side right across the roll */

	for (uint32_t i = 0; i < a->n_items; i++)
		unit += (way_of(a, i)->w + way_of(a, i)->h) / 2;
	unit = unit / a->n_items * a->room * WHOLE;
	moves = moves < MOVES_MOST ? moves : MOVES_MOST;
	for (int64_t i = 0; i < moves && a->lowest > goal; i++) {
		if (i % MOVES_ASK == 0) {
			a->temperature =
			    unit / 10000 *
			    (HOT -
				(HOT - COLD) * (i * STAGES / moves) / STAGES);
			if (!budget_spend(budget, MOVES_ASK * STEPS_A_MOVE))
				return;
		}
		one_move(a);
		if (a->total < a->lowest)
			keep_best(a);
	}
}

static void load_strip(struct anneal *a, const struct pattern *p)
{
	uint32_t t = a->n_tiers++;

	for (size_t i = 0; i < p->n_parts; i++) {
		uint32_t s = new_stack(a);

		attach(a, s, t);
		for (size_t k = 0; k < p->parts[i].n; k++)
			put(a, a->n_items++,
			    (uint32_t)p->ways[p->parts[i].first + k], s);
	}
	weigh(a, t);
	a->total += a->tiers[t].height;
}

static void load(struct anneal *a, const struct model *m, size_t frame,
    const struct picks *picks)
{
	const struct frame *f = &m->frames[frame];
	size_t strips = 0, pieces = 0;

	for (size_t i = 0; i < picks->n; i++) {
		strips += (size_t)picks->copies[i];
		pieces += (size_t)picks->copies[i] * picks->pattern[i]->n_ways;
	}
	a->m = m;
	a->room = f->width;
	a->longest = f->longest;
	a->allowed = xcalloc(2 * m->n_sizes, sizeof(*a->allowed));
	for (size_t k = 0; k < f->n_ways; k++)
		a->allowed[f->ways[k]] = true;
	a->tiers = xcalloc(strips + 1, sizeof(*a->tiers));
	a->items = xcalloc(pieces + 1, sizeof(*a->items));
	a->best_items = xcalloc(pieces + 1, sizeof(*a->best_items));
	for (size_t i = 0; i < picks->n; i++)
		for (int64_t c = 0; c < picks->copies[i]; c++)
			load_strip(a, picks->pattern[i]);
	keep_best(a);
}

static void unload(struct anneal *a)
{
	for (uint32_t t = 0; t < a->n_tiers; t++)
		free(a->tiers[t].stacks);
	for (uint32_t s = 0; s < a->n_stacks; s++)
		free(a->stacks[s].items);
	free(a->tiers);
	free(a->stacks);
	free(a->spare);
	free(a->best_strip);
	free(a->items);
	free(a->best_items);
	free(a->allowed);
}

static void restore_best(struct anneal *a)
{
	for (uint32_t t = 0; t < a->n_tiers; t++)
		a->tiers[t].n = 0;
	for (uint32_t s = 0; s < a->n_stacks; s++) {
		a->stacks[s].n = 0;
		a->stacks[s].height = a->stacks[s].width = 0;
	}
	for (uint32_t i = 0; i < a->n_items; i++) {
		uint32_t s = a->best_items[i].stack;

		if (a->stacks[s].n == 0)
			attach(a, s, a->best_strip[s]);
		put(a, i, a->best_items[i].way, s);
	}
	for (uint32_t t = 0; t < a->n_tiers; t++)
		weigh(a, t);
}

static void write_strip(const struct anneal *a, const struct tier *tier,
    struct arena *arena, struct picks *out)
{
	struct pattern *p;
	size_t n = 0;

	for (uint32_t k = 0; k < tier->n; k++)
		n += a->stacks[tier->stacks[k]].n;
	p = pattern_new(arena, tier->height, tier->n, n);
	for (uint32_t k = 0; k < tier->n; k++) {
		const struct stack *s = &a->stacks[tier->stacks[k]];

		pattern_add_part(p, s->width);
		for (uint32_t i = 0; i < s->n; i++)
			pattern_add_way(p, a->items[s->items[i]].way);
	}
	pattern_sort(a->m, p);
	picks_add(out, p, 1);
}

void anneal_picks(const struct model *m, size_t frame,
    const struct picks *picks, length goal, uint64_t luck,
    struct budget *budget, struct arena *arena, struct picks *out)
{
	struct anneal a = {.dice = luck};

	load(&a, m, frame, picks);
	if (a.n_items > 1 &&
	    m->n_sizes > 1) /* of one size, none can change places */
		cool(&a, goal, budget);
	restore_best(&a);
	for (uint32_t t = 0; t < a.n_tiers; t++)
		if (a.tiers[t].n > 0)
			write_strip(&a, &a.tiers[t], arena, out);
	unload(&a);
}
