/* SPDX-License-Identifier: MIT */
/*
 * lengths.c - the method for rolls: all stock in one frame.
 *
 * The LP over strips gives prices, so a bound on the length and on the rolls; dives into
 * it give strips, and strips are packed onto the rolls.  Then the gap is closed: all
 * strips that a better plan could hold are listed, and a whole-number program over them
 * either finds that plan or proves that there is none.
 */
#include "make.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "bars.h"
#include "enumerate.h"
#include "ip.h"
#include "master.h"
#include "rolls.h"

#define ROUNDS 1000
#define DIVES 4
#define LISTED_MOST 20000
#define SUMS_MOST 12

struct lengths {
	struct maker *mk;
	const struct model *m;
	struct master *ma;
	struct worth *w;
	int64_t *need;
	bool all_fresh; /* no roll-ends: every strip counts */
};

/* One frame for all stock: then strips do not depend on the stock. */
static bool one_frame(const struct model *m)
{
	for (size_t b = 1; b < m->n_bins; b++)
		if (m->bins[b].frame != m->bins[0].frame)
			return false;
	return true;
}

static void offer_draft(struct master *ma, const struct draft *d)
{
	for (size_t i = 0; i < d->n_used; i++)
		for (size_t k = 0; k < d->used[i].n_laid; k++)
			if (k == 0 || d->used[i].laid[k].pattern !=
					  d->used[i].laid[k - 1].pattern)
				master_offer(ma, d->used[i].laid[k].pattern);
}

/* No strip is worth more than height * num / den: so much for every roll. */
static void worth_of_rolls(const struct model *m, struct worth *w)
{
	for (size_t i = 0; i < m->problem->n_stock; i++)
		w->stock[i] = 0;
	for (size_t b = 0; b < m->n_bins; b++) {
		const struct bin *bin = &m->bins[b];
		length sum = 0;
		wide worth;

		for (size_t k = 0; k < bin->n_runs; k++)
			sum += heights_reach(
			    m, &m->frames[bin->frame], bin->runs[k].length);
		worth = ((wide)sum * w->num + w->den - 1) / w->den;
		if (worth > w->stock[bin->stock])
			w->stock[bin->stock] = worth > INT64_MAX / 2
						   ? INT64_MAX / 2
						   : (int64_t)worth;
	}
}

static bool dive(struct lengths *l, int bias)
{
	struct picks picks = {0};
	bool ok = master_dive(l->ma, l->need, bias, &picks);

	if (ok)
		maker_offer(l->mk, rolls_pack(l->m, 0, &picks, &l->mk->budget));
	picks_free(&picks);
	return ok;
}

/* The program over listed strips. */
struct program {
	struct ip ip;
	struct ip_column *columns;
	struct ip_entry *entries;
	int64_t *group, *firsts, *x;
};

static void pick_firsts(struct program *p, const struct columns *list)
{
	int64_t *heights = xcalloc(list->n + 1, sizeof(*heights));
	size_t n = 0;

	for (size_t j = 0; j < list->n; j++) {
		size_t k = n;

		for (size_t i = 0; i < n && k == n; i++)
			if (heights[i] == p->group[j])
				k = i;
		if (k < n)
			continue;
		for (; k > 0 && heights[k - 1] > p->group[j]; k--)
			heights[k] = heights[k - 1];
		heights[k] = p->group[j];
		n++;
	}
	p->firsts = xcalloc(SUMS_MOST, sizeof(*p->firsts));
	for (size_t i = 0; i < SUMS_MOST && i < n; i++)
		p->firsts[p->ip.n_firsts++] =
		    heights[n <= SUMS_MOST ? i : i * n / SUMS_MOST];
	free(heights);
}

static void build_program(
    struct program *p, const struct lengths *l, const struct columns *list)
{
	size_t n_entries = 0;

	for (size_t j = 0; j < list->n; j++)
		n_entries += list->list[j].n;
	*p = (struct program){
	    .ip = {.n_rows = l->m->n_sizes, .need = l->need, .divisor = 1}};
	p->columns = xcalloc(list->n + 1, sizeof(*p->columns));
	p->entries = xcalloc(n_entries + 1, sizeof(*p->entries));
	p->group = xcalloc(list->n + 1, sizeof(*p->group));
	p->x = xcalloc(list->n + 1, sizeof(*p->x));
	n_entries = 0;
	for (size_t j = 0; j < list->n; j++) {
		const struct column *c = &list->list[j];
		struct ip_column *out = &p->columns[j];

		p->group[j] = c->pattern->height / l->ma->step;
		*out = (struct ip_column){.cost = p->group[j],
		    .entries = &p->entries[n_entries],
		    .n = c->n};
		for (size_t k = 0; k < c->n; k++) {
			int64_t most =
			    ceil_div(l->need[c->size[k]], c->count[k]);

			p->entries[n_entries++] =
			    (struct ip_entry){c->size[k], c->count[k]};
			out->most = most > out->most ? most : out->most;
		}
	}
	p->ip.n_columns = list->n;
	p->ip.columns = p->columns;
	p->ip.group = p->group;
	pick_firsts(p, list);
	p->ip.firsts = p->firsts;
}

static void free_program(struct program *p)
{
	free(p->columns);
	free(p->entries);
	free(p->group);
	free(p->firsts);
	free(p->x);
}

/* The strips of an answer, pieces too many left out, onto rolls. */
static void offer_answer(
    struct lengths *l, const struct columns *list, const int64_t x[])
{
	struct picks picks = {0};
	int64_t *left = xcalloc(l->m->n_sizes, sizeof(*left));

	memcpy(left, l->need, l->m->n_sizes * sizeof(*left));
	for (size_t j = 0; j < list->n; j++) {
		if (x[j] == 0)
			continue;
		picks_add(&picks, list->list[j].pattern, x[j]);
		pattern_take(list->list[j].pattern, x[j], left);
	}
	if (picks_drop_surplus(l->m, 0, l->ma->columns.arena, left, &picks))
		maker_offer(l->mk, rolls_pack(l->m, 0, &picks, &l->mk->budget));
	picks_free(&picks);
	free(left);
}

static wide price_of_all(const struct lengths *l)
{
	wide sum = 0;

	for (size_t i = 0; i < l->m->n_sizes; i++)
		sum += (wide)l->w->size[i] * l->need[i];
	return sum;
}

/*
 * List strips within the slack that the gap allows; when there are too many, within
 * less.  Returns whether all that matter are listed.
 */
static bool list_strips(struct lengths *l, struct columns *list)
{
	int64_t scale = ceil_div(l->w->num, l->w->den);
	wide slack = (wide)(l->mk->totals.strip_length - l->ma->step) * scale -
		     price_of_all(l);
	bool all = false;

	for (int i = 0; i < 12 && slack >= 0 && !l->mk->budget.stopped; i++) {
		columns_free(list);
		columns_init(list, l->m);
		all = enumerate_strips(l->m, 0, l->w->size, l->need, scale,
		    (int64_t)slack, LISTED_MOST, list, &l->mk->budget);
		if (all)
			return i == 0;
		slack /= 3;
	}
	return false;
}

/* True when the length is settled. */
static bool close_gap(struct lengths *l, int nodes)
{
	struct columns list;
	struct program p;
	bool all;
	int64_t cost;
	enum ip_answer answer;

	columns_init(&list, l->m);
	all = list_strips(l, &list);
	build_program(&p, l, &list);
	answer = ip_solve(&p.ip, l->mk->totals.strip_length / l->ma->step,
	    nodes, &l->mk->budget, p.x, &cost);
	if (answer == IP_FOUND || answer == IP_BETTER)
		offer_answer(l, &list, p.x);
	if (all && (answer == IP_FOUND || answer == IP_NONE) &&
	    cost * l->ma->step > l->mk->bounds.strip_length)
		l->mk->bounds.strip_length = cost * l->ma->step;
	free_program(&p);
	columns_free(&list);
	return all && (answer == IP_FOUND || answer == IP_NONE);
}

static bool has_ends(const struct model *m)
{
	for (size_t b = 0; b < m->n_bins; b++)
		if (!m->problem->stock[m->bins[b].stock].fresh)
			return true;
	return false;
}

/* LP, bounds, dives, and the gap; in two or three stages as m says. */
static void run(struct lengths *l, bool bound_too)
{
	const struct model *m = l->m;
	struct maker *mk = l->mk;

	l->ma = master_new(m, 0, &mk->budget);
	offer_draft(l->ma, mk->best);
	if (m->stages == 3)
		bars_worth(m, 0, &mk->budget, l->w);
	master_solve(l->ma, l->need, ROUNDS, m->stages == 3 ? NULL : l->w);
	if (l->w->num > 0 && bound_too) {
		worth_of_rolls(m, l->w);
		maker_bound(mk, l->w);
	}
	for (int bias = 0;
	     bias < DIVES && !mk->budget.stopped && !maker_done(mk); bias++)
		dive(l, bias);
	if (l->all_fresh && bound_too && m->stages == 2 && m->sliver == 0 &&
	    l->w->num > 0 && mk->totals.unplaced == 0)
		for (int i = 0; i < 3 && !mk->budget.stopped && !maker_done(mk);
		     i++)
			if (close_gap(l, 300))
				break;
	master_delete(l->ma);
}

/* A plan in two stages is one in three as well, and now and then the better one. */
static void run_two_stages(struct lengths *l)
{
	struct model two = *l->m;

	two.stages = 2;
	l->m = &two;
	run(l, false);
	l->m = l->mk->model;
}

void make_lengths(struct maker *mk)
{
	const struct model *m = mk->model;
	struct lengths l = {.mk = mk, .m = m};

	if (!one_frame(m))
		return;
	l.w = worth_new(m, m->arena);
	l.all_fresh = !has_ends(m);
	l.need = xcalloc(m->n_sizes, sizeof(*l.need));
	for (size_t i = 0; i < m->n_sizes; i++)
		l.need[i] = m->sizes[i].demand;
	if (m->stages == 3)
		run_two_stages(&l);
	l.w->num = 0;
	if (!maker_done(mk) && !mk->budget.stopped)
		run(&l, true);
	free(l.need);
}
