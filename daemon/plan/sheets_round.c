/* SPDX-License-Identifier: MIT */
/*
 * sheets_round.c - whole strips and whole rolls.
 *
 * The restricted master: a whole-number program over the columns at hand, asked for
 * anything better than the best plan by the goal in hand.  Its answer says how many of
 * each strip and of each filling; the strips, tallest first, go into the slots, highest
 * first, which always works when it works at all.
 */
#include "sheets.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "ip.h"
#include "master.h"

#define SUMS_MOST 10
#define COLUMNS_MOST 6000

struct program {
	struct ip ip;
	struct ip_column *columns;
	struct ip_entry *entries;
	int64_t *group, *firsts, *need, *x;
	size_t n_entries;
};

static void add_entry(
    struct program *p, struct ip_column *c, size_t row, int64_t count)
{
	p->entries[p->n_entries++] = (struct ip_entry){row, count};
	c->n++;
}

/* Rows as in the LP: sizes, then what is limited with its sign turned, then links. */
static void set_needs(const struct sheets *s, struct program *p)
{
	const struct problem *problem = s->m->problem;
	const struct totals *t = &s->mk->totals;
	bool price_first = problem->prefer_price;
	int64_t never = INT64_MIN / 4; /* no limit */

	for (size_t i = 0; i < s->m->n_sizes; i++)
		p->need[i] = s->m->sizes[i].demand;
	for (size_t i = 0; i < problem->n_stock; i++)
		p->need[s->row_stock + i] =
		    problem->stock[i].available == UNLIMITED
			? never
			: -problem->stock[i].available;
	p->need[s->row_left] = s->goal == GOAL_UNPLACED ? never : -t->unplaced;
	p->need[s->row_rolls] =
	    s->goal == GOAL_LENGTH || (s->goal == GOAL_PRICE && !price_first)
		? -t->fresh_rolls
		: never;
	p->need[s->row_price] =
	    s->goal == GOAL_LENGTH || (s->goal == GOAL_ROLLS && price_first)
		? -t->price
		: never;
	for (size_t r = s->row_price + 1; r < s->n_rows; r++)
		p->need[r] = 0;
}

static size_t row_of(const struct sheets *s, size_t frame, length height)
{
	const struct links *l = &s->links[frame];
	size_t k = 0;

	while (l->list[k].height != height)
		k++;
	return l->list[k].row;
}

static void set_strip(const struct sheets *s, struct program *p,
    struct ip_column *c, const struct what *w)
{
	const struct column *col = &s->pools[w->frame].list[w->i];

	for (size_t k = 0; k < col->n; k++) {
		int64_t most =
		    ceil_div(s->m->sizes[col->size[k]].demand, col->count[k]);

		add_entry(p, c, col->size[k], col->count[k]);
		c->most = most > c->most ? most : c->most;
	}
	add_entry(p, c, row_of(s, w->frame, col->pattern->height), -1);
}

static void set_filling(const struct sheets *s, struct program *p,
    struct ip_column *c, const struct what *w)
{
	const struct filling *f = &s->fillings[w->i];
	const struct bin *bin = &s->m->bins[f->bin];
	const struct stock *stock = &s->m->problem->stock[bin->stock];
	int64_t pieces = 0;

	for (size_t k = 0; k < f->n_slots; k++)
		add_entry(p, c, row_of(s, bin->frame, f->slots[k].height),
		    f->slots[k].count);
	add_entry(p, c, s->row_stock + bin->stock, -1);
	if (stock->fresh)
		add_entry(p, c, s->row_rolls, -1);
	if (stock->price > 0)
		add_entry(p, c, s->row_price, -stock->price);
	for (size_t i = 0; i < s->m->n_sizes; i++)
		pieces += s->m->sizes[i].demand;
	c->cost = filling_cost(s, f);
	c->most = stock->available == UNLIMITED ? pieces : stock->available;
}

static void set_column(const struct sheets *s, struct program *p, size_t j)
{
	const struct what *w = &s->known[j];
	struct ip_column *c = &p->columns[j];
	const struct links *l = &s->links[w->frame];

	c->entries = &p->entries[p->n_entries];
	switch (w->kind) {
	case WHAT_LEFT:
		c->most = s->goal == GOAL_UNPLACED || s->mk->totals.unplaced > 0
			      ? s->m->sizes[w->i].demand
			      : 0;
		c->cost = s->goal == GOAL_UNPLACED;
		add_entry(p, c, w->i, 1);
		add_entry(p, c, s->row_left, -1);
		break;
	case WHAT_STRIP:
		set_strip(s, p, c, w);
		p->group[j] = s->pools[w->frame].list[w->i].pattern->height;
		break;
	case WHAT_FILLING:
		set_filling(s, p, c, w);
		break;
	case WHAT_LOWER:
		c->most = INT32_MAX;
		add_entry(p, c, l->list[w->i].row, -1);
		add_entry(p, c, l->list[w->i - 1].row, 1);
		break;
	}
}

static int compare_heights(const void *x, const void *y)
{
	int64_t a = *(const int64_t *)x, b = *(const int64_t *)y;

	return (a > b) - (a < b);
}

/* Sums to branch on: how many strips are at least so high. */
static void set_firsts(struct program *p, size_t n)
{
	int64_t *heights = xcalloc(n + 1, sizeof(*heights));
	size_t unique = 0;

	memcpy(heights, p->group, n * sizeof(*heights));
	qsort(heights, n, sizeof(*heights), compare_heights);
	for (size_t i = 0; i < n; i++)
		if (heights[i] > 0 &&
		    (unique == 0 || heights[unique - 1] != heights[i]))
			heights[unique++] = heights[i];
	for (size_t i = 0; i < SUMS_MOST && i < unique; i++)
		p->firsts[p->ip.n_firsts++] =
		    heights[unique <= SUMS_MOST ? i : i * unique / SUMS_MOST];
	free(heights);
}

static size_t count_entries(const struct sheets *s)
{
	size_t n = 0;

	for (size_t j = 0; j < s->n_known; j++) {
		const struct what *w = &s->known[j];

		if (w->kind == WHAT_STRIP)
			n += s->pools[w->frame].list[w->i].n + 1;
		else if (w->kind == WHAT_FILLING)
			n += s->fillings[w->i].n_slots + 3;
		else
			n += 2;
	}
	return n;
}

static void build(const struct sheets *s, struct program *p)
{
	*p = (struct program){
	    .ip = {.n_rows = s->n_rows, .n_columns = s->n_known, .divisor = 1}};
	p->columns = xcalloc(s->n_known + 1, sizeof(*p->columns));
	p->entries = xcalloc(count_entries(s) + 1, sizeof(*p->entries));
	p->group = xcalloc(s->n_known + 1, sizeof(*p->group));
	p->firsts = xcalloc(SUMS_MOST, sizeof(*p->firsts));
	p->need = xcalloc(s->n_rows + 1, sizeof(*p->need));
	p->x = xcalloc(s->n_known + 1, sizeof(*p->x));
	set_needs(s, p);
	for (size_t j = 0; j < s->n_known; j++)
		set_column(s, p, j);
	set_firsts(p, s->n_known);
	p->ip.need = p->need;
	p->ip.columns = p->columns;
	p->ip.group = p->group;
	p->ip.firsts = p->firsts;
}

static void drop(struct program *p)
{
	free(p->columns);
	free(p->entries);
	free(p->group);
	free(p->firsts);
	free(p->need);
	free(p->x);
}

/* A slot on a roll of the draft. */
struct place {
	size_t used, run;
	length height;
};

static int compare_places(const void *x, const void *y)
{
	const struct place *a = x, *b = y;

	if (a->height != b->height)
		return a->height > b->height ? -1 : 1;
	if (a->used != b->used)
		return a->used < b->used ? -1 : 1;
	return (a->run > b->run) - (a->run < b->run);
}

struct layout {
	const struct sheets *s;
	struct draft *draft;
	struct place *places;
	size_t n_places, cap_places;
	length *ends;  /* where the next strip goes, for each roll and run */
	size_t n_runs; /* most runs of a bin */
};

static void take_rolls(struct layout *l, const struct program *p, size_t frame)
{
	const struct sheets *s = l->s;

	l->n_places = 0;
	for (size_t j = 0; j < s->n_known; j++) {
		const struct filling *f;

		if (s->known[j].kind != WHAT_FILLING)
			continue;
		f = &s->fillings[s->known[j].i];
		if (s->m->bins[f->bin].frame != frame)
			continue;
		for (int64_t c = 0; c < p->x[j]; c++) {
			size_t used = l->draft->n_used;

			draft_take(l->draft, f->bin);
			for (size_t k = 0; k < f->n_slots; k++)
				for (int64_t n = 0; n < f->slots[k].count;
				     n++) {
					if (l->n_places == l->cap_places) {
						l->cap_places =
						    l->cap_places == 0
							? 64
							: 2 * l->cap_places;
						l->places = xrealloc(l->places,
						    l->cap_places,
						    sizeof(*l->places));
					}
					l->places[l->n_places++] =
					    (struct place){used,
						f->slots[k].run,
						f->slots[k].height};
				}
		}
	}
	if (l->n_places > 0)
		qsort(
		    l->places, l->n_places, sizeof(*l->places), compare_places);
}

struct tall {
	length height;
	size_t pick;
};

static int compare_tall(const void *x, const void *y)
{
	const struct tall *a = x, *b = y;

	if (a->height != b->height)
		return a->height > b->height ? -1 : 1;
	return (a->pick > b->pick) - (a->pick < b->pick);
}

/* The i-th tallest strip into the i-th highest slot. */
static void lay_strips(struct layout *l, const struct picks *picks)
{
	struct tall *tall = xcalloc(picks->n + 1, sizeof(*tall));
	size_t place = 0;

	for (size_t i = 0; i < picks->n; i++)
		tall[i] = (struct tall){picks->pattern[i]->height, i};
	qsort(tall, picks->n, sizeof(*tall), compare_tall);
	for (size_t i = 0; i < picks->n; i++) {
		const struct pattern *p =
		    pattern_copy(l->draft->arena, picks->pattern[tall[i].pick]);

		for (int64_t c = 0;
		     c < picks->copies[tall[i].pick] && place < l->n_places;
		     c++) {
			const struct place *to = &l->places[place++];
			struct used *used = &l->draft->used[to->used];
			const struct clean *run =
			    &l->s->m->bins[used->bin].runs[to->run];
			length at = run->at;

			for (size_t k = 0; k < used->n_laid; k++)
				if (used->laid[k].run == to->run)
					at += used->laid[k].pattern->height;
			if (p->height <= to->height)
				draft_lay(l->draft, used, p, to->run, at);
		}
	}
	free(tall);
}

/* Rolls on which nothing came to lie are not taken after all. */
static void drop_empty(struct draft *d)
{
	size_t kept = 0;

	for (size_t i = 0; i < d->n_used; i++) {
		if (d->used[i].n_laid == 0)
			free(d->used[i].laid);
		else
			d->used[kept++] = d->used[i];
	}
	d->n_used = kept;
}

static void offer_answer(struct sheets *s, const struct program *p)
{
	struct layout l = {.s = s, .draft = draft_new(s->m)};
	int64_t *left = xcalloc(s->m->n_sizes, sizeof(*left));
	bool lean = true;

	for (size_t i = 0; i < s->m->n_sizes; i++)
		left[i] = s->m->sizes[i].demand;
	for (size_t j = 0; j < s->n_known; j++) {
		const struct what *w = &s->known[j];

		if (w->kind == WHAT_STRIP && p->x[j] > 0)
			pattern_take(s->pools[w->frame].list[w->i].pattern,
			    p->x[j], left);
	}
	for (size_t f = 0; f < s->m->n_frames; f++) {
		struct picks picks = {0};

		for (size_t j = 0; j < s->n_known; j++)
			if (s->known[j].kind == WHAT_STRIP &&
			    s->known[j].frame == f && p->x[j] > 0)
				picks_add(&picks,
				    s->pools[f].list[s->known[j].i].pattern,
				    p->x[j]);
		lean = picks_drop_surplus(
		    s->m, f, s->pools[f].arena, left, &picks);
		take_rolls(&l, p, f);
		lay_strips(&l, &picks);
		picks_free(&picks);
	}
	drop_empty(l.draft);
	draft_count(l.draft);
	free(l.places);
	free(left);
	if (!lean) { /* more pieces than were asked for: no plan */
		draft_delete(l.draft);
		return;
	}
	sheets_offer(s, l.draft);
	maker_offer(s->mk, l.draft);
}

static int64_t best_so_far(const struct sheets *s)
{
	const struct totals *t = &s->mk->totals;

	switch (s->goal) {
	case GOAL_UNPLACED:
		return t->unplaced;
	case GOAL_ROLLS:
		return t->fresh_rolls;
	case GOAL_PRICE:
		return t->price;
	default:
		return t->strip_length;
	}
}

bool sheets_round(struct sheets *s, int nodes)
{
	struct program p;
	int64_t cost, least;
	enum ip_answer answer;

	if (s->n_known > COLUMNS_MOST)
		return false;
	build(s, &p);
	answer = ip_solve(
	    &p.ip, best_so_far(s), nodes, &s->mk->budget, p.x, &cost, &least);
	if (answer == IP_FOUND || answer == IP_BETTER)
		offer_answer(s, &p);
	drop(&p);
	return answer == IP_FOUND || answer == IP_NONE;
}
