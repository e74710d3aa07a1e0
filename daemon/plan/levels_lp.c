/* SPDX-License-Identifier: MIT */
/*
 * levels_lp.c - the LP of a branch on levels, and what it proves.
 *
 * For whole prices y >= 0 of sizes and m of levels (either sign) let T(h) = h * scale -
 * sum of m over levels up to h, and e the most by which a strip of any height is worth
 * more than its T(h).  Then every answer of at most n strips within the branch has
 *
 *     cost * scale  >=  sum y * need + sum over levels of m * (low if m > 0 else high)
 *                       - n * e
 *
 * with all on the right in whole numbers and e from exact knapsacks.  Branches are cut by
 * this alone; the floating y and m only have to be good.
 */
#include <math.h>
#include <stdlib.h>

#include "alloc.h"
#include "levels_own.h"

#define Y_MOST ((int64_t)1 << 50)
#define PIVOTS_MOST 4000
#define PIVOTS_TRIED 15

void levels_add_row(struct levels *l, double low, double high,
    struct simplex_entry *e, size_t n)
{
	simplex_add_row(l->lp, low, high, e, n);
	l->n_rows++;
}

/* Tell the LP about the strips that it does not know yet. */
void levels_feed(struct levels *l)
{
	struct simplex_entry *e = xcalloc(l->m->n_sizes + l->n + 1, sizeof(*e));

	for (; l->n_in_lp < l->pool.n; l->n_in_lp++) {
		const struct column *c = &l->pool.list[l->n_in_lp];
		size_t n = 0;

		for (size_t k = 0; k < c->n; k++)
			e[n++] = (struct simplex_entry){
			    c->size[k], (double)c->count[k]};
		for (size_t k = 0; k < l->n; k++)
			if (l->list[k].in_lp &&
			    l->list[k].from <= c->pattern->height)
				e[n++] =
				    (struct simplex_entry){l->list[k].row, 1};
		simplex_add_column(l->lp,
		    (double)(c->pattern->height / l->step), 0,
		    (double)l->most_strips + 1, e, n);
	}
	free(e);
}

static int64_t whole(double v)
{
	double y = floor(v * (double)LEVELS_SCALE), top = (double)Y_MOST;

	return (int64_t)(y > top ? top : y < -top ? -top : y);
}

static void read_prices(struct levels *l)
{
	const double *dual = simplex_prices(l->lp);
	int64_t sum = 0;

	for (size_t i = 0; i < l->m->n_sizes; i++) {
		l->price[i] = whole(dual[i]);
		l->price[i] = l->price[i] < 0 ? 0 : l->price[i];
	}
	for (size_t k = 0; k < l->n; k++) {
		struct level *v = &l->list[k];

		v->m = v->in_lp ? whole(dual[v->row]) : 0;
		sum += v->m;
		v->room = v->from / l->step * LEVELS_SCALE - sum;
	}
}

/*
 * A strip that is worth nothing but counts: where a level has to rise, it may be the
 * cheapest way.
 */
static bool add_worthless(struct levels *l, const struct level *v)
{
	struct pattern *p = pattern_new(l->pool.arena, v->from, 1, 1);

	pattern_add_part(p, l->m->ways[v->way].w);
	pattern_add_way(p, v->way);
	return columns_add(&l->pool, p);
}

/*
 * The dearest strip of each height at the LP's prices; those that pay go to the pool.
 * Returns the bound of the branch, times LEVELS_SCALE.
 */
static wide price_out(struct levels *l, size_t *added)
{
	int64_t above = INT64_MAX, excess = 0;
	wide bound = 0;

	*added = 0;
	read_prices(l);
	strips_set(l->strips, l->price, l->need);
	for (size_t k = l->n; k-- > 0;) {
		struct level *v = &l->list[k];
		int64_t floor = v->room > 0 ? v->room : 0, dearest, any, value;

		if (v->room >= above)
			continue; /* a higher strip is not worth so much */
		value =
		    strips_best_proper(l->strips, v->at, floor, &dearest, &any);
		above = any < above ? any : above;
		if (dearest - v->room > excess)
			excess = dearest - v->room;
		if (value - floor > LEVELS_SCALE / 100000)
			*added += columns_add(
			    &l->pool, strips_pattern(l->strips, l->pool.arena));
		else if (v->room < 0)
			*added += add_worthless(l, v);
		budget_spend(l->budget, strips_steps(l->strips));
	}
	for (size_t i = 0; i < l->m->n_sizes; i++)
		bound += (wide)l->price[i] * l->need[i];
	for (size_t k = 0; k < l->n; k++) {
		const struct level *v = &l->list[k];

		if (v->m != 0)
			bound += (wide)v->m * (v->m > 0 ? v->low : v->high);
	}
	return bound - (wide)excess * l->most_strips;
}

static enum simplex_end run_lp(struct levels *l, double cutoff, int pivots)
{
	enum simplex_end end = SIMPLEX_MORE;
	int some =
	    (int)(1000000 / (8 * l->n_in_lp + l->n_rows * l->n_rows)) + 5;

	for (; pivots > 0 && end == SIMPLEX_MORE && !l->budget->stopped;
	     pivots -= some) {
		int64_t steps = 0;

		end = simplex_solve(
		    l->lp, cutoff, pivots < some ? pivots : some, &steps);
		budget_spend(l->budget, steps);
	}
	return end;
}

bool levels_solve(struct levels *l, wide *bound, wide *priced, bool *open)
{
	double cutoff = (double)l->target + 0.02;

	*open = false;
	for (;;) {
		enum simplex_end end = run_lp(l, cutoff, PIVOTS_MOST);
		size_t added;

		*priced = price_out(l, &added);
		*bound = *priced > *bound ? *priced : *bound;
		if (levels_is_cut(l, *bound))
			return false;
		if (levels_out_of_work(l) || end == SIMPLEX_MORE)
			break;
		levels_feed(l);
		if (added == 0 && end == SIMPLEX_DONE)
			return true;
		if (added == 0 && cutoff > (double)l->target + 1)
			break;
		if (added == 0)
			cutoff += 2; /* above by a hair, which proves nothing */
	}
	*open = true;
	return false;
}

double levels_try(struct levels *l)
{
	run_lp(l, (double)l->target + 1, PIVOTS_TRIED);
	return simplex_value(l->lp);
}

void levels_enter(struct levels *l, size_t k)
{
	struct simplex_entry *e = xcalloc(l->n_in_lp + 1, sizeof(*e));
	struct level *v = &l->list[k];
	size_t n = 0;

	for (size_t j = 0; j < l->n_in_lp; j++)
		if (l->pool.list[j].pattern->height >= v->from)
			e[n++] = (struct simplex_entry){j, 1};
	v->in_lp = true;
	v->row = l->n_rows;
	levels_add_row(l, (double)v->low, (double)v->high, e, n);
	free(e);
}

void levels_bound(struct levels *l, size_t k, int64_t low, int64_t high)
{
	l->list[k].low = low;
	l->list[k].high = high;
	simplex_bound_row(l->lp, l->list[k].row, (double)low, (double)high);
}
