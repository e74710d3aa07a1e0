/* SPDX-License-Identifier: MIT */
/*
 * rebuild.c - ruin and recreate for three stages.
 *
 * A plan is built strip by strip, each the densest that can be had from what is left
 * (grid.c).  By area alone the first strips would be perfect and the last ones take what
 * nobody wanted: wide pieces, which share a row with few others.  So these are dearer from
 * the start, and sizes that lag behind become dearer on the way (in the manner of
 * sequential value correction: Mukhacheva and others, from memory).  At 300 sizes and
 * 10,000 pieces that took the length from 2.4 percent above the bound to 0.4.
 *
 * Then parts of a few strips, wasteful ones first, are planned anew within the length
 * they had, again and again (ruin and recreate: Schrimpf and others 2000, from memory).
 * What is left over must always fit into the length that is left, so most attempts end
 * early.
 */
#include "rebuild.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "anneal.h"
#include "grid.h"
#include "master.h"
#include "rolls.h"

#define REBUILD_MEMORY ((size_t)1 << 30)
#define STRIPS_FEW 50
#define DRIFT 4    /* grains above the best */
#define GRAIN 50   /* of a mean side of a piece, where steps are smaller */
#define POLISH 200 /* once in so many rounds */
#define PARTS_MOST 8

struct rebuild {
	struct maker *mk;
	const struct model *m;
	struct grid *grid;
	struct arena *scratch; /* strips of the attempt in hand */
	int64_t *price, *need, *left, *area;
	uint64_t dice;
	/* the plan in hand, strip by strip */
	struct arena *arena;
	const struct pattern **strips;
	size_t n, cap;
	length total, lowest, offered;
	length grain; /* hardly longer */
	/* the part taken out */
	size_t out[PARTS_MOST];
	size_t n_out;
};

struct mood {               /* of one building */
	int64_t hard, even; /* see set_prices() */
	bool lucky;         /* heights by chance among the good ones */
};

static uint64_t next_dice(struct rebuild *r)
{
	uint64_t z = r->dice += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	return z ^ (z >> 31);
}

/* What makes a size hard to place: its smaller side (or its width) across the roll. */
static length hard_side(const struct rebuild *r, size_t i)
{
	const struct size *size = &r->m->sizes[i];

	return size->turn && size->b < size->a ? size->b : size->a;
}

/*
 * Areas, and more for what is hard to place (`hard` in 1024 for a piece as wide as the
 * roll), for what lags behind the rest (`even`), and by chance (less than `luck`).
 */
static void set_prices(
    struct rebuild *r, int64_t hard, int64_t even, uint64_t luck)
{
	length width = r->m->frames[0].width;
	wide rest = 0, all = 0;

	for (size_t i = 0; i < r->m->n_sizes; i++) {
		rest += (wide)r->left[i] * r->area[i];
		all += (wide)r->need[i] * r->area[i];
	}
	for (size_t i = 0; i < r->m->n_sizes; i++) {
		int64_t more = hard * hard_side(r, i) / width;

		if (even > 0)
			more += even *
				(r->left[i] * 1024 / r->need[i] -
				    (int64_t)(rest * 1024 / all)) /
				1024;
		if (luck > 0)
			more += (int64_t)(next_dice(r) % luck);
		r->price[i] =
		    r->area[i] / 1024 * (1024 + (more > -512 ? more : -512));
	}
}

static area area_left(const struct rebuild *r)
{
	area sum = 0;

	for (size_t i = 0; i < r->m->n_sizes; i++)
		sum += r->left[i] * r->area[i];
	return sum;
}

static struct pattern *strip(
    struct rebuild *r, length room, bool exact, uint64_t luck)
{
	struct pattern *p = grid_strip(
	    r->grid, r->left, r->price, room, exact, luck, r->scratch);

	budget_spend(&r->mk->budget, grid_steps(r->grid));
	return p;
}

static bool holds_all(const struct rebuild *r, const struct pattern *p)
{
	size_t n = 0;

	for (size_t i = 0; i < r->m->n_sizes; i++)
		n += (size_t)r->left[i];
	return p != NULL && p->n_ways == n;
}

/* All that is left in one strip within `room`, as low as can be found; NULL: not so. */
static struct pattern *last_strip(struct rebuild *r, length room)
{
	length low = ceil_div(area_left(r), r->m->frames[0].width);
	struct pattern *best;

	if (room > grid_tallest(r->grid))
		room = grid_tallest(r->grid);
	if (low > room)
		return NULL;
	best = strip(r, room, true, 0);
	if (!holds_all(r, best))
		return NULL;
	while (low < best->height && !r->mk->budget.stopped) {
		length half = low + (best->height - low) / 2;
		struct pattern *p = strip(r, half, true, 0);

		if (holds_all(r, p))
			best = p;
		else
			low = half + 1;
	}
	return best;
}

/* r->left into strips of no more than `limit` in all; false: this way it does not go. */
static bool build(
    struct rebuild *r, length limit, const struct mood *mood, struct picks *out)
{
	length width = r->m->frames[0].width;
	area rest = area_left(r);

	while (rest > 0 && !r->mk->budget.stopped) {
		length room = limit - out->total;
		struct pattern *p;
		int64_t copies = 1;

		if ((wide)rest > (wide)room * width)
			return false;
		if (mood->even > 0)
			set_prices(r, mood->hard, mood->even, 0);
		p = last_strip(r, room);
		if (p == NULL) {
			p = strip(
			    r, room, false, mood->lucky ? next_dice(r) : 0);
			if (p == NULL)
				return false;
			copies = pattern_copies(r->m, p, r->left);
			if (copies > (limit - out->total) / p->height)
				copies = (limit - out->total) / p->height;
		}
		picks_add(out, p, copies);
		pattern_take(p, copies, r->left);
		rest -= copies * pattern_area(r->m, p);
	}
	return rest == 0;
}

static void add_strip(struct rebuild *r, const struct pattern *p)
{
	if (r->n == r->cap) {
		r->cap = 2 * r->cap + 64;
		r->strips = xrealloc(r->strips, r->cap, sizeof(*r->strips));
	}
	r->strips[r->n++] = pattern_copy(r->arena, p);
	r->total += p->height;
}

/* Onto rolls; for many strips that is work, and done seldom. */
static void offer(struct rebuild *r)
{
	struct picks picks = {0};

	for (size_t i = 0; i < r->n; i++)
		picks_add(&picks, r->strips[i], 1);
	maker_offer(r->mk, rolls_pack(r->m, 0, &picks, &r->mk->budget));
	picks_free(&picks);
	r->offered = r->total;
}

/* Begin with the strips of the best plan so far. */
static void load_best(struct rebuild *r)
{
	const struct draft *d = r->mk->best;

	for (size_t i = 0; i < d->n_used; i++)
		for (size_t k = 0; k < d->used[i].n_laid; k++)
			add_strip(r, d->used[i].laid[k].pattern);
	r->offered = r->lowest = r->total;
}

static void first_plans(struct rebuild *r)
{
	static const struct mood moods[] = {{300, 100, false}, {300, 0, false},
	    {800, 0, false}, {300, 300, true}, {100, 0, true},
	    {600, 100, true}};
	size_t passes = 1;

	for (size_t pass = 0; pass < passes && !r->mk->budget.stopped; pass++) {
		const struct mood *mood = &moods[pass];
		struct picks picks = {0};

		memcpy(r->left, r->need, r->m->n_sizes * sizeof(*r->left));
		set_prices(r, mood->hard, 0, 0);
		if (build(r, INT64_MAX / 4, mood, &picks)) {
			passes = picks.n > 100
				     ? 1
				     : sizeof(moods) / sizeof(moods[0]);
			maker_offer(
			    r->mk, rolls_pack(r->m, 0, &picks, &r->mk->budget));
		}
		picks_free(&picks);
		arena_delete(r->scratch);
		r->scratch = arena_new(REBUILD_MEMORY);
	}
}

static void take_out(struct rebuild *r, size_t i)
{
	for (size_t k = 0; k < r->n_out; k++)
		if (r->out[k] == i)
			return;
	r->out[r->n_out++] = i;
	pattern_take(r->strips[i], -1, r->left);
}

/* Waste of a strip for its height decides between a few drawn. */
static size_t draw_wasteful(struct rebuild *r)
{
	length width = r->m->frames[0].width;
	size_t best = 0;
	area most = -1;

	for (int i = 0; i < 3; i++) {
		size_t k = (size_t)(next_dice(r) % r->n);
		area waste = r->strips[k]->height * width -
			     pattern_area(r->m, r->strips[k]);

		if (waste > most) {
			most = waste;
			best = k;
		}
	}
	return best;
}

static length choose_part(struct rebuild *r)
{
	size_t many = 2 + (size_t)(next_dice(r) % 4);
	length height = 0;

	many = many < r->n ? many : r->n;
	r->n_out = 0;
	memset(r->left, 0, r->m->n_sizes * sizeof(*r->left));
	for (size_t i = 0; i < 4 * many && r->n_out < many; i++)
		take_out(r, r->n_out % 2 == 0 ? draw_wasteful(r)
					      : (size_t)(next_dice(r) % r->n));
	for (size_t k = 0; k < r->n_out; k++)
		height += r->strips[r->out[k]]->height;
	return height;
}

static int compare_falling(const void *x, const void *y)
{
	size_t a = *(const size_t *)x, b = *(const size_t *)y;

	return (a < b) - (a > b);
}

static void put_in(struct rebuild *r, const struct picks *picks)
{
	qsort(r->out, r->n_out, sizeof(*r->out), compare_falling);
	for (size_t k = 0; k < r->n_out; k++) {
		r->total -= r->strips[r->out[k]]->height;
		r->strips[r->out[k]] = r->strips[--r->n];
	}
	for (size_t i = 0; i < picks->n; i++)
		for (int64_t c = 0; c < picks->copies[i]; c++)
			add_strip(r, picks->pattern[i]);
}

/* Now and then a part may grow a little, never far above the best. */
static length allowance(struct rebuild *r)
{
	length room = r->lowest + DRIFT * r->grain - r->total;
	length more = (length)(next_dice(r) % DRIFT) * r->grain;

	if (r->n >= STRIPS_FEW || next_dice(r) % 8 != 0)
		return 0;
	return more < room ? more : room;
}

/* A part planned anew, kept when it is hardly longer than before. */
static void rebuild_part(struct rebuild *r)
{
	static const int64_t hards[] = {0, 150, 300, 600};
	static const uint64_t lucks[] = {0, 64, 160, 320};
	struct mood mood = {.lucky = true};
	struct picks picks = {0};
	length height = choose_part(r) + allowance(r);

	set_prices(r, hards[next_dice(r) % 4], 0, lucks[next_dice(r) % 4]);
	if (build(r, height, &mood, &picks))
		put_in(r, &picks);
	picks_free(&picks);
	arena_delete(r->scratch);
	r->scratch = arena_new(REBUILD_MEMORY);
}

/* All strips at once, piece by piece (anneal.c). */
static void polish(struct rebuild *r)
{
	struct picks picks = {0}, better = {0};

	for (size_t i = 0; i < r->n; i++)
		picks_add(&picks, r->strips[i], 1);
	anneal_picks(r->m, 0, &picks, r->mk->bounds.strip_length, next_dice(r),
	    &r->mk->budget, r->scratch, &better);
	if (better.total < r->total) {
		r->n = 0;
		r->total = 0;
		for (size_t i = 0; i < better.n; i++)
			for (int64_t c = 0; c < better.copies[i]; c++)
				add_strip(r, better.pattern[i]);
	}
	picks_free(&picks);
	picks_free(&better);
	arena_delete(r->scratch);
	r->scratch = arena_new(REBUILD_MEMORY);
}

static void rebuild_parts(struct rebuild *r, int rounds)
{
	struct maker *mk = r->mk;
	int idle = 0;

	if (r->n < 10)
		rounds = rounds / 10 * (int)r->n; /* few parts to choose from */

	for (int i = 0; idle < rounds && !mk->budget.stopped && r->n > 0 &&
			r->lowest > mk->bounds.strip_length;
	     i++) {
		if (i % POLISH == POLISH / 2)
			polish(r);
		else
			rebuild_part(r);
		idle = r->total < r->lowest ? 0 : idle + 1;
		if (r->total < r->lowest)
			r->lowest = r->total;
		if (r->total < r->offered &&
		    (r->n < STRIPS_FEW || i % 1000 == 999))
			offer(r);
	}
	if (r->total < r->offered)
		offer(r);
}

static length grain_of(const struct model *m)
{
	length step = heights_step(m), sides = 0;
	int64_t pieces = 0;

	for (size_t i = 0; i < m->n_sizes; i++) {
		const struct size *s = &m->sizes[i];

		sides += (s->a + s->b) / 2 * s->demand;
		pieces += s->demand;
	}
	if (pieces == 0)
		return step;
	return sides / pieces / GRAIN > step ? sides / pieces / GRAIN : step;
}

void make_rebuilt(struct maker *mk, bool anew, int rounds)
{
	const struct model *m = mk->model;
	struct rebuild r = {.mk = mk, .m = m, .dice = 1};

	r.grid = grid_new(m, 0);
	r.scratch = arena_new(REBUILD_MEMORY);
	r.arena = arena_new(REBUILD_MEMORY);
	r.price = xcalloc(m->n_sizes + 1, sizeof(*r.price));
	r.need = xcalloc(m->n_sizes + 1, sizeof(*r.need));
	r.left = xcalloc(m->n_sizes + 1, sizeof(*r.left));
	r.area = xcalloc(m->n_sizes + 1, sizeof(*r.area));
	for (size_t i = 0; i < m->n_sizes; i++) {
		r.need[i] = m->sizes[i].demand;
		r.area[i] = r.price[i] = m->sizes[i].a * m->sizes[i].b;
	}
	r.grain = grain_of(m);
	if (anew)
		first_plans(&r);
	if (mk->totals.unplaced == 0) {
		load_best(&r);
		rebuild_parts(&r, rounds);
	}
	grid_delete(r.grid);
	arena_delete(r.scratch);
	arena_delete(r.arena);
	free(r.strips);
	free(r.price);
	free(r.need);
	free(r.left);
	free(r.area);
}
