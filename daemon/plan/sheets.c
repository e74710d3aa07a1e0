/* SPDX-License-Identifier: MIT */
/*
 * sheets.c - the model with rolls, and its columns.
 *
 *     x  strips of a frame, each with its content
 *     z  rolls of a bin, each with so many slots of every height
 *     sizes:   every size is in strips as often as it is asked for
 *     links:   strips of a height need slots of that height; a slot may be lowered
 *     stock:   no more rolls than there are
 *     goals:   what was reached before is kept
 *
 * New strips pay where their content is worth more than the slot they take, new rolls
 * where their slots are worth more than the roll costs; both are knapsacks.  All stock
 * of a frame shares the strips, hence far fewer columns than whole rolls would need.
 */
#include "sheets.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "enumerate.h"

#define SLOT_NODES 50000
#define UNIT ((double)((int64_t)1 << 36)) /* whole prices for a cost of 1 */
#define HAIR 1e-7

static void know(struct sheets *s, struct what what)
{
	if (s->n_known == s->cap_known) {
		s->cap_known = s->cap_known == 0 ? 128 : 2 * s->cap_known;
		s->known = xrealloc(s->known, s->cap_known, sizeof(*s->known));
	}
	s->known[s->n_known++] = what;
}

static size_t add_row(struct sheets *s, double lower, double upper)
{
	lp_add_row(s->lp, lower, upper);
	return s->n_rows++;
}

static void add_rows(struct sheets *s)
{
	const struct problem *problem = s->m->problem;

	for (size_t i = 0; i < s->m->n_sizes; i++)
		add_row(s, (double)s->m->sizes[i].demand, LP_INFINITY);
	s->row_stock = s->n_rows;
	for (size_t i = 0; i < problem->n_stock; i++)
		add_row(s, -LP_INFINITY,
		    problem->stock[i].available == UNLIMITED
			? LP_INFINITY
			: (double)problem->stock[i].available);
	s->row_left = add_row(s, -LP_INFINITY, LP_INFINITY);
	s->row_rolls = add_row(s, -LP_INFINITY, LP_INFINITY);
	s->row_price = add_row(s, -LP_INFINITY, LP_INFINITY);
	for (size_t i = 0; i < s->m->n_sizes; i++) {
		int rows[2] = {(int)i, (int)s->row_left};
		double ones[2] = {1, 1};

		lp_add_column(
		    s->lp, 0, 0, (double)s->m->sizes[i].demand, 2, rows, ones);
		know(s, (struct what){WHAT_LEFT, 0, i});
	}
}

bool sheets_init(struct sheets *s, struct maker *mk)
{
	const struct model *m = mk->model;

	*s = (struct sheets){.mk = mk, .m = m, .top = 1};
	s->pools = xcalloc(m->n_frames, sizeof(*s->pools));
	s->strips = xcalloc(m->n_frames, sizeof(*s->strips));
	s->links = xcalloc(m->n_frames, sizeof(*s->links));
	s->fed = xcalloc(m->n_frames, sizeof(*s->fed));
	s->price = xcalloc(m->n_sizes, sizeof(*s->price));
	s->most = xcalloc(m->n_sizes, sizeof(*s->most));
	s->arena = arena_new((size_t)1 << 30);
	if (s->m->held != NULL)
		arena_meter(s->arena, s->m->held);
	s->knap = knap_new(SLOT_NODES);
	s->lp = lp_new();
	for (size_t f = 0; f < m->n_frames; f++) {
		columns_init(&s->pools[f], m);
		s->strips[f] = strips_new(m, f, false);
	}
	for (size_t i = 0; i < m->n_sizes; i++)
		s->most[i] = m->sizes[i].demand;
	for (size_t i = 0; i < m->problem->n_stock; i++)
		if ((double)m->problem->stock[i].price > s->top)
			s->top = (double)m->problem->stock[i].price;
	add_rows(s);
	return true;
}

void sheets_free(struct sheets *s)
{
	for (size_t f = 0; f < s->m->n_frames; f++) {
		columns_free(&s->pools[f]);
		strips_delete(s->strips[f]);
		free(s->links[f].list);
	}
	free(s->pools);
	free(s->strips);
	free(s->links);
	free(s->fed);
	free(s->price);
	free(s->most);
	free(s->known);
	free(s->fillings);
	arena_delete(s->arena);
	knap_delete(s->knap);
	lp_delete(s->lp);
}

/* The link row of a height, made when it is first needed. */
static size_t link_row(struct sheets *s, size_t frame, length height)
{
	struct links *l = &s->links[frame];
	size_t k = 0;

	while (k < l->n && l->list[k].height < height)
		k++;
	if (k < l->n && l->list[k].height == height)
		return l->list[k].row;
	if (l->n == l->cap) {
		l->cap = l->cap == 0 ? 32 : 2 * l->cap;
		l->list = xrealloc(l->list, l->cap, sizeof(*l->list));
	}
	memmove(&l->list[k + 1], &l->list[k], (l->n - k) * sizeof(*l->list));
	l->list[k] = (struct link){height, add_row(s, 0, LP_INFINITY)};
	l->n++;
	if (k > 0) { /* a slot of this height may hold the next lower strip */
		int rows[2] = {(int)l->list[k].row, (int)l->list[k - 1].row};
		double values[2] = {-1, 1};

		lp_add_column(s->lp, 0, 0, LP_INFINITY, 2, rows, values);
		know(s, (struct what){WHAT_LOWER, frame, k});
	}
	if (k + 1 < l->n) {
		int rows[2] = {(int)l->list[k + 1].row, (int)l->list[k].row};
		double values[2] = {-1, 1};

		lp_add_column(s->lp, 0, 0, LP_INFINITY, 2, rows, values);
		know(s, (struct what){WHAT_LOWER, frame, k + 1});
	}
	return l->list[k].row;
}

int64_t filling_cost(const struct sheets *s, const struct filling *f)
{
	const struct stock *stock =
	    &s->m->problem->stock[s->m->bins[f->bin].stock];
	int64_t cost = 0;

	switch (s->goal) {
	case GOAL_ROLLS:
		return stock->fresh;
	case GOAL_PRICE:
		return stock->price;
	case GOAL_LENGTH:
		for (size_t i = 0; i < f->n_slots && stock->fresh; i++)
			cost += f->slots[i].count * f->slots[i].height;
		return cost;
	default:
		return 0;
	}
}

/* The same for the LP, whose costs are about 1. */
static double scaled_cost(const struct sheets *s, int64_t cost)
{
	switch (s->goal) {
	case GOAL_PRICE:
		return (double)cost / s->top;
	case GOAL_LENGTH:
		return (double)cost / (double)s->m->frames[0].longest;
	default:
		return (double)cost;
	}
}

static void feed_strip(struct sheets *s, size_t frame, size_t i)
{
	const struct column *c = &s->pools[frame].list[i];
	int *rows = xcalloc(c->n + 1, sizeof(*rows));
	double *values = xcalloc(c->n + 1, sizeof(*values));

	for (size_t k = 0; k < c->n; k++) {
		rows[k] = (int)c->size[k];
		values[k] = (double)c->count[k];
	}
	rows[c->n] = (int)link_row(s, frame, c->pattern->height);
	values[c->n] = -1;
	lp_add_column(s->lp, 0, 0, LP_INFINITY, c->n + 1, rows, values);
	know(s, (struct what){WHAT_STRIP, frame, i});
	free(rows);
	free(values);
}

static void feed_filling(struct sheets *s, size_t i)
{
	const struct filling *f = &s->fillings[i];
	const struct bin *bin = &s->m->bins[f->bin];
	const struct stock *stock = &s->m->problem->stock[bin->stock];
	int *rows = xcalloc(f->n_slots + 3, sizeof(*rows));
	double *values = xcalloc(f->n_slots + 3, sizeof(*values));
	size_t n = 0;

	for (size_t k = 0; k < f->n_slots; k++) {
		int row = (int)link_row(s, bin->frame, f->slots[k].height);
		size_t j = 0;

		while (j < n && rows[j] != row)
			j++;
		rows[j] = row;
		values[j] += (double)f->slots[k].count;
		n = j == n ? n + 1 : n;
	}
	rows[n] = (int)(s->row_stock + bin->stock);
	values[n++] = 1;
	if (stock->fresh) {
		rows[n] = (int)s->row_rolls;
		values[n++] = 1;
	}
	if (stock->price > 0) {
		rows[n] = (int)s->row_price;
		values[n++] = (double)stock->price / s->top;
	}
	lp_add_column(s->lp, scaled_cost(s, filling_cost(s, f)), 0, LP_INFINITY,
	    n, rows, values);
	know(s, (struct what){WHAT_FILLING, bin->frame, i});
	free(rows);
	free(values);
}

static void feed(struct sheets *s)
{
	for (size_t f = 0; f < s->m->n_frames; f++)
		for (; s->fed[f] < s->pools[f].n; s->fed[f]++)
			feed_strip(s, f, s->fed[f]);
	for (; s->fed_fillings < s->n_fillings; s->fed_fillings++)
		feed_filling(s, s->fed_fillings);
}

static bool same_filling(const struct filling *a, const struct filling *b)
{
	if (a->bin != b->bin || a->n_slots != b->n_slots)
		return false;
	for (size_t i = 0; i < a->n_slots; i++)
		if (a->slots[i].run != b->slots[i].run ||
		    a->slots[i].height != b->slots[i].height ||
		    a->slots[i].count != b->slots[i].count)
			return false;
	return true;
}

static bool add_filling(
    struct sheets *s, size_t bin, const struct slot slots[], size_t n)
{
	struct filling f = {
	    .bin = bin, .slots = (struct slot *)slots, .n_slots = n};

	for (size_t i = 0; i < s->n_fillings; i++)
		if (same_filling(&s->fillings[i], &f))
			return false;
	if (s->n_fillings == s->cap_fillings) {
		s->cap_fillings =
		    s->cap_fillings == 0 ? 32 : 2 * s->cap_fillings;
		s->fillings = xrealloc(
		    s->fillings, s->cap_fillings, sizeof(*s->fillings));
	}
	f.slots = arena_array(s->arena, n, sizeof(*f.slots));
	memcpy(f.slots, slots, n * sizeof(*slots));
	s->fillings[s->n_fillings++] = f;
	return true;
}

static void offer_roll(struct sheets *s, const struct used *used)
{
	struct slot *slots = xcalloc(used->n_laid + 1, sizeof(*slots));
	size_t frame = s->m->bins[used->bin].frame, n = 0;

	for (size_t i = 0; i < used->n_laid; i++) {
		const struct laid *laid = &used->laid[i];
		size_t k = 0;

		columns_add(&s->pools[frame],
		    pattern_copy(s->pools[frame].arena, laid->pattern));
		while (k < n && (slots[k].run != laid->run ||
				    slots[k].height != laid->pattern->height))
			k++;
		if (k == n)
			slots[n++] =
			    (struct slot){laid->run, laid->pattern->height, 0};
		slots[k].count++;
	}
	add_filling(s, used->bin, slots, n);
	free(slots);
}

void sheets_offer(struct sheets *s, const struct draft *d)
{
	for (size_t i = 0; i < d->n_used; i++)
		offer_roll(s, &d->used[i]);
}

void sheets_aim(struct sheets *s, enum goal goal)
{
	const struct totals *t = &s->mk->totals;
	bool price_first = s->m->problem->prefer_price;
	bool rolls_kept =
	    goal == GOAL_LENGTH || (goal == GOAL_PRICE && !price_first);
	bool price_kept =
	    goal == GOAL_LENGTH || (goal == GOAL_ROLLS && price_first);

	s->goal = goal;
	feed(s);
	for (size_t j = 0; j < s->n_known; j++) {
		if (s->known[j].kind == WHAT_LEFT)
			lp_cost(s->lp, j, goal == GOAL_UNPLACED ? 1 : 1000);
		else if (s->known[j].kind == WHAT_FILLING)
			lp_cost(s->lp, j,
			    scaled_cost(s,
				filling_cost(s, &s->fillings[s->known[j].i])));
	}
	/* pieces that stay out cost nothing as long as they are no more than before */
	if (goal != GOAL_UNPLACED && t->unplaced > 0) {
		lp_bound_row(
		    s->lp, s->row_left, -LP_INFINITY, (double)t->unplaced);
		for (size_t i = 0; i < s->m->n_sizes; i++)
			lp_cost(s->lp, i, 0);
	}
	lp_bound_row(s->lp, s->row_rolls, -LP_INFINITY,
	    rolls_kept ? (double)t->fresh_rolls : LP_INFINITY);
	lp_bound_row(s->lp, s->row_price, -LP_INFINITY,
	    price_kept ? (double)t->price / s->top + 1e-9 : LP_INFINITY);
}

static bool run_lp(struct sheets *s)
{
	feed(s);
	return lp_run(s->lp, false, &s->mk->budget);
}

static int64_t whole(double v)
{
	v *= UNIT;
	return v > 0 && v < 4e18 ? (int64_t)v : 0;
}

static void read_prices(struct sheets *s)
{
	const double *dual = lp_prices(s->lp);

	for (size_t i = 0; i < s->m->n_sizes; i++)
		s->price[i] = whole(dual[i]);
}

/*
 * What a slot of this height costs.  A height without a link is taken at the price of
 * the next lower one, so that it is tried rather than missed.
 */
static int64_t slot_price(
    const struct sheets *s, size_t frame, length height, const double *dual)
{
	const struct links *l = &s->links[frame];
	size_t k = l->n;

	while (k > 0 && l->list[k - 1].height > height)
		k--;
	if (k > 0)
		return whole(dual[l->list[k - 1].row]);
	if (l->n == 0)
		return 0;
	return (int64_t)((wide)whole(dual[l->list[0].row]) * height /
			 l->list[0].height);
}

static size_t price_strips(struct sheets *s, size_t frame)
{
	struct strips *st = s->strips[frame];
	const double *dual = lp_prices(s->lp);
	size_t added = 0;

	strips_set(st, s->price, s->most);
	for (size_t k = strips_n_heights(st);
	     k-- > 0 && !s->mk->budget.stopped;) {
		int64_t floor =
			    slot_price(s, frame, strips_height(st, k), dual),
			bound;

		floor += floor / 10000000;
		if (strips_best(st, k, floor, &bound) > floor)
			added += columns_add_fitting(&s->pools[frame],
			    strips_pattern(st, s->pools[frame].arena),
			    &s->m->frames[frame]);
		budget_spend(&s->mk->budget, strips_steps(st));
	}
	return added;
}

/* Items for filling a run: the links of the frame at their prices. */
static size_t slot_items(
    const struct sheets *s, const struct bin *bin, struct item items[])
{
	const struct links *l = &s->links[bin->frame];
	const double *dual = lp_prices(s->lp);
	bool by_length =
	    s->goal == GOAL_LENGTH && s->m->problem->stock[bin->stock].fresh;
	size_t n = 0;

	for (size_t k = 0; k < l->n; k++) {
		double worth = dual[l->list[k].row];
		int64_t value =
		    whole(by_length ? worth - scaled_cost(s, l->list[k].height)
				    : worth);

		if (value > 0)
			items[n++] = (struct item){
			    l->list[k].height, value, INT64_MAX, k};
	}
	qsort(items, n, sizeof(*items), knap_before);
	return n;
}

/* What a roll of the bin has to bring in: its cost, less what its rows pay. */
static double roll_price(const struct sheets *s, const struct bin *bin)
{
	const double *dual = lp_prices(s->lp);
	const struct stock *stock = &s->m->problem->stock[bin->stock];
	double cost = 0;

	if (s->goal == GOAL_ROLLS)
		cost = stock->fresh;
	else if (s->goal == GOAL_PRICE)
		cost = (double)stock->price / s->top;
	cost -= dual[s->row_stock + bin->stock];
	cost -= stock->fresh ? dual[s->row_rolls] : 0;
	cost -= (double)stock->price / s->top * dual[s->row_price];
	return cost;
}

static bool price_filling(struct sheets *s, size_t b)
{
	const struct bin *bin = &s->m->bins[b];
	const struct links *l = &s->links[bin->frame];
	struct item *items = xcalloc(l->n + 1, sizeof(*items));
	int64_t *count = xcalloc(l->n + 1, sizeof(*count));
	struct slot *slots = xcalloc(l->n * bin->n_runs + 1, sizeof(*slots));
	size_t n = slot_items(s, bin, items), n_slots = 0;
	int64_t sum = 0, steps = 0, bound;
	bool added = false;

	for (size_t r = 0; r < bin->n_runs && n > 0; r++) {
		sum += knap_best(s->knap, items, n, bin->runs[r].length, 0,
		    count, &bound, &steps);
		for (size_t i = 0; i < n; i++)
			if (count[i] > 0)
				slots[n_slots++] =
				    (struct slot){r, items[i].size, count[i]};
	}
	budget_spend(&s->mk->budget, steps);
	if (n_slots > 0 && (double)sum > (roll_price(s, bin) + HAIR) * UNIT)
		added = add_filling(s, b, slots, n_slots);
	free(slots);
	free(count);
	free(items);
	return added;
}

bool sheets_solve(struct sheets *s, int rounds)
{
	for (int round = 0; round < rounds; round++) {
		size_t added = 0;

		if (!run_lp(s))
			return false;
		read_prices(s);
		for (size_t f = 0; f < s->m->n_frames; f++)
			added += price_strips(s, f);
		for (size_t b = 0; b < s->m->n_bins; b++)
			if (!s->m->bins[b].bound_only)
				added += price_filling(s, b);
		if (s->mk->budget.stopped)
			return false;
		if (added == 0)
			return true;
	}
	return false;
}

/* All multisets of link heights on the runs of a bin, from run and link on. */
struct lister {
	struct sheets *s;
	const struct bin *bin;
	size_t b;
	struct slot *slots;
	size_t n_slots;
	size_t most; /* fillings in all */
};

static bool list_fillings(
    struct lister *ls, size_t run, size_t link, length room)
{
	const struct links *l = &ls->s->links[ls->bin->frame];
	length h;

	if (ls->s->n_fillings > ls->most ||
	    !budget_spend(&ls->s->mk->budget, 20))
		return false;
	if (link == l->n) {
		if (run + 1 < ls->bin->n_runs)
			return list_fillings(
			    ls, run + 1, 0, ls->bin->runs[run + 1].length);
		if (ls->n_slots > 0)
			add_filling(ls->s, ls->b, ls->slots, ls->n_slots);
		return true;
	}
	h = l->list[link].height;
	for (int64_t c = 0; c * h <= room; c++) {
		bool ok;

		if (c > 0)
			ls->slots[ls->n_slots++] = (struct slot){run, h, c};
		ok = list_fillings(ls, run, link + 1, room - c * h);
		ls->n_slots -= c > 0;
		if (!ok)
			return false;
	}
	return true;
}

bool sheets_list_all(struct sheets *s, size_t most_strips, size_t most_fillings)
{
	bool all = s->m->stages == 2 && s->m->sliver == 0;

	for (size_t i = 0; i < s->m->n_sizes; i++)
		s->price[i] = 0;
	for (size_t f = 0; f < s->m->n_frames && all; f++)
		all = enumerate_strips(s->m, f, s->price, s->most, 0, 0,
		    most_strips, &s->pools[f], &s->mk->budget);
	feed(s);
	for (size_t b = 0; b < s->m->n_bins && all; b++) {
		struct lister ls = {.s = s,
		    .b = b,
		    .bin = &s->m->bins[b],
		    .most = most_fillings};

		if (ls.bin->bound_only)
			all = false;
		if (ls.bin->n_runs == 0 || !all)
			continue;
		ls.slots =
		    xcalloc(s->links[ls.bin->frame].n * ls.bin->n_runs + 1,
			sizeof(*ls.slots));
		all = list_fillings(&ls, 0, 0, ls.bin->runs[0].length);
		free(ls.slots);
	}
	return all && !s->mk->budget.stopped;
}

/* 0.85..1.15 from the round and the size alone. */
static int64_t stirred(int64_t price, int round, size_t i)
{
	uint64_t z = (uint64_t)round * UINT64_C(0x9e3779b97f4a7c15) +
		     i * UINT64_C(0x94d049bb133111eb);

	z = (z ^ z >> 29) * UINT64_C(0xbf58476d1ce4e5b9);
	return price / 1000 * (850 + (int64_t)((z >> 33) % 301));
}

void sheets_enrich(struct sheets *s, int rounds)
{
	int64_t *kept = xcalloc(s->m->n_sizes, sizeof(*kept));

	memcpy(kept, s->price, s->m->n_sizes * sizeof(*kept));
	for (int round = 1; round <= rounds && !s->mk->budget.stopped;
	     round++) {
		for (size_t i = 0; i < s->m->n_sizes; i++)
			s->price[i] = stirred(kept[i], round, i);
		for (size_t f = 0; f < s->m->n_frames; f++)
			price_strips(s, f);
	}
	memcpy(s->price, kept, s->m->n_sizes * sizeof(*kept));
	free(kept);
	run_lp(s);
}
