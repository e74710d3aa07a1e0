/* SPDX-License-Identifier: MIT */
/*
 * lengths.c - the method for rolls: all stock in one frame.
 *
 * The LP over strips gives prices, so a bound on the length and on the rolls; a dive into
 * it gives strips, and strips are packed onto the rolls.  Then the gap is closed
 * (closing.c).  Where it stays open, more dives and mended plans may still narrow it.
 */
#include "make.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "anneal.h"
#include "bars.h"
#include "closing.h"
#include "master.h"
#include "mend.h"
#include "rebuild.h"
#include "rests.h"
#include "rolls.h"
#include "tall.h"

#define ROUNDS 1000
#define DIVES 4
#define TURNS 300  /* of mending in vain before it ends */
#define CLOSE 2000 /* a gap of one part in so many is small */
/* Steps for closing: a little at first, more when better plans were looked for.  With
 * very many sizes branches are dear and split little, and a little has to do. */
static const int64_t closing_work[] = {100000000, 400000000, 1500000000};
#define SIZES_MANY 100
#define TIMES (sizeof(closing_work) / sizeof(*closing_work))
#define DIVES_THREE 8
#define REBUILT_FIRST 100 /* idle rounds of rebuilding, three stages */
#define REBUILT 5000
#define RESTS_FIRST 50000000 /* steps for orders that are small */
#define RESTS 800000000      /* and for those that turn out to be */

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

static void offer_picks(struct lengths *l, const struct picks *picks)
{
	maker_offer(l->mk, rolls_pack(l->m, 0, picks, &l->mk->budget));
}

/* Three stages: a dive's last strips are often poor, and pieces moved about better them. */
static void polish(struct lengths *l, struct picks *picks, int bias)
{
	struct picks better = {0};

	if (l->m->stages == 2 || l->m->sliver > 0 || l->mk->budget.stopped)
		return;
	anneal_picks(l->m, 0, picks, l->mk->bounds.strip_length, (uint64_t)bias,
	    &l->mk->budget, l->ma->columns.arena, &better);
	picks_free(picks);
	*picks = better;
	for (size_t i = 0; i < picks->n; i++)
		master_offer(l->ma, picks->pattern[i]);
}

/* Dives; the shortest answer stays in best. */
static void dive(struct lengths *l, int from, int to, struct picks *best)
{
	for (int bias = from;
	     bias < to && !l->mk->budget.stopped && !maker_done(l->mk);
	     bias++) {
		struct picks picks = {0};

		if (master_dive(l->ma, l->need, bias, &picks)) {
			offer_picks(l, &picks);
			polish(l, &picks, bias);
			offer_picks(l, &picks);
			if (best->n == 0 || picks.total < best->total) {
				picks_free(best);
				*best = picks;
				continue;
			}
		}
		picks_free(&picks);
	}
}

static void mend(struct lengths *l, struct picks *best, int64_t scale,
    const int64_t price[], int times)
{
	for (int i = 0;
	     i < times && !l->mk->budget.stopped && !maker_done(l->mk); i++) {
		if (!mend_picks(l->ma, best, price, scale,
			l->mk->bounds.strip_length, TURNS))
			return;
		offer_picks(l, best);
	}
}

static bool has_ends(const struct model *m)
{
	for (size_t b = 0; b < m->n_bins; b++)
		if (!m->problem->stock[m->bins[b].stock].fresh)
			return true;
	return false;
}

static void bound(struct lengths *l)
{
	if (l->w->num == 0)
		return;
	worth_of_rolls(l->mk->model, l->w);
	maker_bound(l->mk, l->w);
}

static bool may_close(const struct lengths *l, bool bound_too)
{
	return l->all_fresh && bound_too && l->m->stages == 2 &&
	       l->m->sliver == 0 && l->w->num > 0 &&
	       l->mk->totals.unplaced == 0 && !l->mk->budget.stopped &&
	       !maker_done(l->mk);
}

/* Not worth more dives. */
static bool is_close(const struct maker *mk)
{
	return mk->totals.strip_length - mk->bounds.strip_length <=
	       mk->bounds.strip_length / CLOSE;
}

/* After a good plan, since it takes a while. */
static void bound_by_strips(struct lengths *l)
{
	if (maker_done(l->mk) || l->mk->budget.stopped)
		return;
	tall_worth(l->m, 0, &l->mk->budget, l->w);
	bound(l);
}

/* The strips of the best plan, if they are lower in all than those at hand. */
static void take_best(struct lengths *l, struct picks *best)
{
	const struct draft *d = l->mk->best;

	if (best->n > 0 && best->total <= l->mk->totals.strip_length)
		return;
	picks_free(best);
	for (size_t i = 0; i < d->n_used; i++)
		for (size_t k = 0; k < d->used[i].n_laid; k++)
			picks_add(best,
			    pattern_copy(l->ma->columns.arena,
				d->used[i].laid[k].pattern),
			    1);
}

/* The bound from below, the plan from above, in turns. */
static void close_gap(
    struct lengths *l, struct picks *best, const int64_t price[])
{
	struct closing *c = closing_new(l->mk, l->ma, l->w, l->need);

	size_t times = l->m->n_sizes > SIZES_MANY ? 1 : TIMES;

	for (size_t i = 0; i < times && may_close(l, true); i++) {
		closing_run(c, closing_work[i]);
		if (i == 0 && !is_close(l->mk))
			dive(l, 1, DIVES, best);
		if (is_close(l->mk))
			continue;
		take_best(l, best);
		mend(l, best, l->ma->scale, price, 1);
	}
	closing_delete(c);
}

/* LP, bounds, dives, and the gap; in two or three stages as m says. */
static void run(struct lengths *l, bool bound_too)
{
	const struct model *m = l->m;
	struct maker *mk = l->mk;
	struct picks best = {0};
	int64_t *price = xcalloc(m->n_sizes, sizeof(*price));

	l->ma = master_new(m, 0, &mk->budget);
	offer_draft(l->ma, mk->best);
	master_solve(
	    l->ma, l->need, ROUNDS, m->stages == 2 && bound_too ? l->w : NULL);
	if (m->stages == 2 && bound_too)
		bound(l);
	memcpy(price, l->ma->price, m->n_sizes * sizeof(*price));
	dive(l, 0, 1, &best);
	if (m->stages == 3)
		bound_by_strips(l);
	if (may_close(l, bound_too)) {
		close_gap(l, &best, price);
	} else if (!is_close(mk)) {
		dive(l, 1, m->stages == 3 ? DIVES_THREE : DIVES, &best);
		if (best.n > 0 && bound_too)
			mend(l, &best, l->ma->scale, price,
			    m->stages == 3 ? 2 : 4);
	}
	picks_free(&best);
	free(price);
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

static void rebuild(struct maker *mk, bool anew, int rounds)
{
	if (mk->model->sliver == 0 && !maker_done(mk) && !mk->budget.stopped)
		make_rebuilt(mk, anew, rounds);
}

static void settle_small(struct lengths *l, int64_t work)
{
	if (l->all_fresh && l->m->sliver == 0 && l->mk->totals.unplaced == 0 &&
	    !maker_done(l->mk) && !l->mk->budget.stopped)
		rests_run(l->mk, work);
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
		settle_small(&l, RESTS_FIRST);
	if (m->stages == 3 && !maker_done(mk) && !mk->budget.stopped) {
		bars_worth(m, 0, &mk->budget, l.w);
		bound(&l);
		rebuild(mk, true, REBUILT_FIRST);
		settle_small(&l, RESTS);
		run_two_stages(&l);
	}
	if (!maker_done(mk) && !mk->budget.stopped)
		run(&l, true);
	if (m->stages == 3)
		rebuild(mk, false, REBUILT);
	free(l.need);
}
