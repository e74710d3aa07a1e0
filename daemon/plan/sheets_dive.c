/* SPDX-License-Identifier: MIT */
/*
 * sheets_dive.c - roll after roll out of the program.
 *
 * The filling the LP uses most becomes a roll; its slots get the strips the LP uses
 * most at their heights, and where it has none that still fit what is left, the dearest
 * strip at its prices.  Then the program is solved again for what is left, with new
 * columns made for that.
 */
#include "sheets.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define ROUNDS_IN_DIVE 10

struct dive {
	struct sheets *s;
	struct draft *draft;
	int64_t *there; /* of each stock, UNLIMITED or how many are left */
	double *x;      /* of each LP column, what is still to be used of it */
	size_t n_x;
	int64_t *uses; /* of each LP column in the roll laid last */
	bool priced;   /* that roll has strips the LP does not use */
	int bias;
};

/* The LP asks for what is left; strips that hold more of a size than that are barred. */
static void ask_for(
    struct sheets *s, const int64_t left[], const int64_t there[])
{
	for (size_t i = 0; i < s->m->n_sizes; i++) {
		s->most[i] = left[i];
		lp_bound_row(s->lp, i, (double)left[i], LP_INFINITY);
	}
	for (size_t i = 0; i < s->m->problem->n_stock; i++)
		lp_bound_row(s->lp, s->row_stock + i, -LP_INFINITY,
		    there[i] == UNLIMITED ? LP_INFINITY : (double)there[i]);
	for (size_t j = 0; j < s->n_known; j++) {
		const struct what *w = &s->known[j];
		bool proper = true;

		if (w->kind != WHAT_STRIP)
			continue;
		for (size_t k = 0;
		     k < s->pools[w->frame].list[w->i].n && proper; k++)
			proper = s->pools[w->frame].list[w->i].count[k] <=
				 left[s->pools[w->frame].list[w->i].size[k]];
		lp_bound_column(s->lp, j, 0, proper ? LP_INFINITY : 0);
	}
}

/* 0.7..1 from the bias and the column alone; 1 without bias. */
static double stir(int bias, size_t j)
{
	uint64_t z = (uint64_t)bias * UINT64_C(0x9e3779b97f4a7c15) +
		     j * UINT64_C(0x94d049bb133111eb);

	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	return bias == 0 ? 1
			 : 0.7 + 0.3 * (double)(z >> 40) / (double)(1 << 24);
}

static const struct filling *choose_filling(const struct dive *d)
{
	const struct sheets *s = d->s;
	const struct filling *best = NULL;
	double best_score = 1e-6;

	for (size_t j = 0; j < d->n_x; j++) {
		const struct filling *f;
		double score;

		if (s->known[j].kind != WHAT_FILLING)
			continue;
		f = &s->fillings[s->known[j].i];
		score = (d->x[j] > 1 ? 1 : d->x[j]) * stir(d->bias, j);
		if (score > best_score &&
		    d->there[s->m->bins[f->bin].stock] != 0) {
			best_score = score;
			best = f;
		}
	}
	return best;
}

static bool still_wanted(const struct column *c, const int64_t left[])
{
	for (size_t k = 0; k < c->n; k++)
		if (c->count[k] > left[c->size[k]])
			return false;
	return true;
}

/* The strip the LP uses most among those for this slot; it is used up by one. */
static const struct pattern *choose_strip(
    struct dive *d, size_t frame, length height)
{
	const struct sheets *s = d->s;
	size_t best = SIZE_MAX;
	double best_score = 1e-6;

	for (size_t j = 0; j < d->n_x; j++) {
		const struct what *w = &s->known[j];
		const struct column *c;
		double score;

		if (w->kind != WHAT_STRIP || w->frame != frame ||
		    d->x[j] < 1e-6)
			continue;
		c = &s->pools[frame].list[w->i];
		if (c->pattern->height > height ||
		    !still_wanted(c, d->draft->left))
			continue;
		score = d->x[j] * stir(d->bias + 1000, j);
		score *= c->pattern->height == height ? 1 : 0.2;
		if (score > best_score) {
			best_score = score;
			best = j;
		}
	}
	if (best == SIZE_MAX)
		return NULL;
	d->x[best] -= 1;
	d->uses[best]++;
	return s->pools[frame].list[s->known[best].i].pattern;
}

/* The dearest strip that fits into the slot, out of what is left. */
static const struct pattern *price_strip(
    struct dive *d, size_t frame, length height)
{
	struct sheets *s = d->s;
	struct strips *st = s->strips[frame];
	size_t k = strips_n_heights(st);
	int64_t bound;
	const struct pattern *p = NULL;

	while (k > 0 && strips_height(st, k - 1) > height)
		k--;
	if (k == 0)
		return NULL;
	strips_set(st, s->price, d->draft->left);
	if (strips_best(st, k - 1, 0, &bound) > 0)
		p = strips_pattern(st, d->draft->arena);
	budget_spend(&s->mk->budget, strips_steps(st));
	return p != NULL && p->n_ways > 0 &&
		       pattern_fits(s->m, p, &s->m->frames[frame])
		   ? p
		   : NULL;
}

static int compare_slots(const void *x, const void *y)
{
	const struct slot *a = x, *b = y;

	if (a->height != b->height)
		return a->height > b->height ? -1 : 1;
	return (a->run > b->run) - (a->run < b->run);
}

static bool lay_roll(struct dive *d, const struct filling *f)
{
	const struct sheets *s = d->s;
	const struct bin *bin = &s->m->bins[f->bin];
	struct used *used = draft_take(d->draft, f->bin);
	struct slot *slots = xcalloc(f->n_slots + 1, sizeof(*slots));
	length *at = xcalloc(bin->n_runs + 1, sizeof(*at));

	memset(d->uses, 0, d->n_x * sizeof(*d->uses));
	d->priced = false;
	memcpy(slots, f->slots, f->n_slots * sizeof(*slots));
	qsort(slots, f->n_slots, sizeof(*slots), compare_slots);
	for (size_t r = 0; r < bin->n_runs; r++)
		at[r] = bin->runs[r].at;
	for (size_t k = 0; k < f->n_slots; k++)
		for (int64_t c = 0; c < slots[k].count; c++) {
			const struct pattern *p =
			    choose_strip(d, bin->frame, slots[k].height);

			if (p != NULL) {
				p = pattern_copy(d->draft->arena, p);
			} else {
				p = price_strip(d, bin->frame, slots[k].height);
				d->priced = true;
			}
			if (p == NULL)
				break;
			draft_lay(
			    d->draft, used, p, slots[k].run, at[slots[k].run]);
			at[slots[k].run] += p->height;
		}
	free(at);
	free(slots);
	if (used->n_laid > 0)
		return true;
	draft_drop_last(d->draft);
	return false;
}

/* How many more rolls just like the last one the LP has strips for. */
static double strips_for(const struct dive *d)
{
	double most = d->priced ? 0 : 1e9;

	for (size_t j = 0; j < d->n_x; j++)
		if (d->uses[j] > 0 && d->x[j] / (double)d->uses[j] < most)
			most = d->x[j] / (double)d->uses[j];
	return most;
}

/* Is a further roll just like the last one wanted? */
static bool again(const struct dive *d)
{
	const struct used *last = &d->draft->used[d->draft->n_used - 1];
	int64_t *left = xcalloc(d->s->m->n_sizes, sizeof(*left));
	bool ok = d->there[d->s->m->bins[last->bin].stock] != 0;

	memcpy(left, d->draft->left, d->s->m->n_sizes * sizeof(*left));
	for (size_t k = 0; k < last->n_laid; k++)
		pattern_take(last->laid[k].pattern, 1, left);
	for (size_t i = 0; i < d->s->m->n_sizes && ok; i++)
		ok = left[i] >= 0;
	free(left);
	return ok;
}

static void lay_again(struct dive *d)
{
	size_t n = d->draft->n_used - 1;
	size_t bin = d->draft->used[n].bin;
	struct used *used = draft_take(d->draft, bin);
	const struct used *last = &d->draft->used[n];

	for (size_t k = 0; k < last->n_laid; k++)
		draft_lay(d->draft, used, last->laid[k].pattern,
		    last->laid[k].run, last->laid[k].at);
}

static void use_stock(struct dive *d, size_t bin)
{
	int64_t *there = &d->there[d->s->m->bins[bin].stock];

	*there -= *there != UNLIMITED;
}

static bool anything_left(const struct draft *draft)
{
	for (size_t i = 0; i < draft->model->n_sizes; i++)
		if (draft->left[i] > 0)
			return true;
	return false;
}

static void read_x(struct dive *d)
{
	d->n_x = d->s->n_known;
	d->x = xrealloc(d->x, d->n_x + 1, sizeof(*d->x));
	d->uses = xrealloc(d->uses, d->n_x + 1, sizeof(*d->uses));
	memcpy(d->x, lp_columns(d->s->lp), d->n_x * sizeof(*d->x));
}

static bool next_rolls(struct dive *d)
{
	const struct filling *f;
	double times = 1;
	size_t bin;

	ask_for(d->s, d->draft->left, d->there);
	sheets_solve(d->s, ROUNDS_IN_DIVE);
	if (d->s->mk->budget.stopped)
		return false;
	read_x(d);
	f = choose_filling(d);
	if (f == NULL)
		return false;
	for (size_t j = 0; j < d->n_x; j++)
		if (d->s->known[j].kind == WHAT_FILLING &&
		    &d->s->fillings[d->s->known[j].i] == f)
			times = d->x[j];
	bin = f->bin;
	if (!lay_roll(d, f))
		return false;
	use_stock(d, bin);
	if (times > strips_for(d) + 1)
		times = strips_for(d) + 1;
	for (; times >= 2 && again(d); times--) {
		lay_again(d);
		use_stock(d, bin);
	}
	return true;
}

void sheets_dive(struct sheets *s, int bias)
{
	const struct problem *problem = s->m->problem;
	struct dive d = {.s = s, .draft = draft_new(s->m), .bias = bias};
	int64_t *all = xcalloc(problem->n_stock, sizeof(*all));
	int64_t *need = xcalloc(s->m->n_sizes, sizeof(*need));

	d.there = xcalloc(problem->n_stock, sizeof(*d.there));
	for (size_t i = 0; i < problem->n_stock; i++)
		all[i] = d.there[i] = problem->stock[i].available;
	for (size_t i = 0; i < s->m->n_sizes; i++)
		need[i] = s->m->sizes[i].demand;
	while (anything_left(d.draft) && next_rolls(&d))
		continue;
	ask_for(s, need, all);
	draft_count(d.draft);
	if (!s->mk->budget.stopped ||
	    d.draft->totals.unplaced <= s->mk->totals.unplaced)
		sheets_offer(s, d.draft);
	maker_offer(s->mk, d.draft);
	free(d.x);
	free(d.uses);
	free(d.there);
	free(all);
	free(need);
}
