/* SPDX-License-Identifier: MIT */
/*
 * mend.c - a plan is bettered by taking a part of it apart.
 *
 * At the prices of the LP every strip has a slack, its height's cost less the worth of
 * what it holds, and the slacks add up to the whole gap.  So wasteful strips are taken
 * out together with a few good ones, and the small problem they make is solved for
 * itself (large neighbourhood search: Shaw 1998, from memory): in two stages by a few
 * branches on the numbers of strips (levels.c), in three or under the sliver rule by its
 * LP, a dive, and branch and bound over the strips at hand.
 */
#include "mend.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "covering.h"
#include "levels.h"

#define STRIPS_MOST 4000
#define ROUNDS 10
#define NODES_LISTED 100
#define NODES 10     /* of one part, in two stages */
#define WORK 3000000 /* steps for it */
#define COLUMNS_MOST 1500

struct mend {
	struct master *ma;
	const int64_t *price;
	int64_t scale;
	const struct pattern **strips; /* one by one */
	int64_t *slack;
	size_t n, cap;
	size_t *out; /* indices of the strips taken out */
	size_t n_out;
	int64_t *need; /* what they hold */
	length out_height;
	uint64_t dice;
};

static uint64_t next_dice(struct mend *m)
{
	uint64_t z = m->dice += UINT64_C(0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
	return z ^ (z >> 31);
}

static void add_strip(struct mend *m, const struct pattern *p)
{
	int64_t worth = 0;

	if (m->n == m->cap) {
		m->cap = m->cap == 0 ? 256 : 2 * m->cap;
		m->strips = xrealloc(m->strips, m->cap, sizeof(*m->strips));
		m->slack = xrealloc(m->slack, m->cap, sizeof(*m->slack));
	}
	for (size_t k = 0; k < p->n_ways; k++)
		worth += m->price[p->ways[k] / 2];
	m->strips[m->n] = p;
	m->slack[m->n++] = p->height * m->scale - worth;
}

static void take_out(struct mend *m, size_t i)
{
	for (size_t k = 0; k < m->n_out; k++)
		if (m->out[k] == i)
			return;
	m->out[m->n_out++] = i;
	m->out_height += m->strips[i]->height;
	pattern_take(m->strips[i], -1, m->need);
}

/* The most wasteful of a few drawn. */
static size_t draw_wasteful(struct mend *m)
{
	size_t best = (size_t)(next_dice(m) % m->n);

	for (int i = 0; i < 4; i++) {
		size_t k = (size_t)(next_dice(m) % m->n);

		if (m->slack[k] > m->slack[best])
			best = k;
	}
	return best;
}

static void choose(struct mend *m, size_t many)
{
	m->n_out = 0;
	m->out_height = 0;
	memset(m->need, 0, m->ma->model->n_sizes * sizeof(*m->need));
	for (size_t i = 0; i < 3 * many && m->n_out < many; i++)
		take_out(m, i % 3 == 2 ? (size_t)(next_dice(m) % m->n)
				       : draw_wasteful(m));
}

static int compare_indices(const void *x, const void *y)
{
	size_t a = *(const size_t *)x, b = *(const size_t *)y;

	return (a < b) - (a > b); /* falling */
}

/* The strips taken out are replaced by those of the answer. */
static void put_in(struct mend *m, const struct picks *answer)
{
	qsort(m->out, m->n_out, sizeof(*m->out), compare_indices);
	for (size_t k = 0; k < m->n_out; k++) {
		m->n--;
		m->strips[m->out[k]] = m->strips[m->n];
		m->slack[m->out[k]] = m->slack[m->n];
	}
	for (size_t i = 0; i < answer->n; i++)
		for (int64_t c = 0; c < answer->copies[i]; c++)
			add_strip(m, answer->pattern[i]);
}

/* Strips of the pool that hold no more than the need, as many as branch and bound likes. */
static size_t mark_proper(const struct mend *m, bool use[])
{
	const struct columns *pool = &m->ma->columns;
	size_t n = 0;

	for (size_t j = 0; j < pool->n; j++) {
		const struct column *c = &pool->list[j];

		use[j] = n < COLUMNS_MOST;
		for (size_t k = 0; k < c->n && use[j]; k++)
			use[j] = c->count[k] <= m->need[c->size[k]];
		n += use[j];
	}
	return n;
}

static bool branch(struct mend *m, struct picks *answer)
{
	const struct columns *pool = &m->ma->columns;
	bool *use = xcalloc(pool->n + 1, sizeof(*use));
	struct covering c;
	int64_t cost, least;
	enum ip_answer found;
	bool ok = false;

	mark_proper(m, use);
	covering_init(&c, pool, use, m->need, m->ma->step);
	found = ip_solve(&c.ip, m->out_height / m->ma->step, NODES_LISTED,
	    m->ma->budget, c.x, &cost, &least);
	if (found == IP_FOUND || found == IP_BETTER)
		ok = covering_picks(&c, pool, m->need, answer);
	covering_free(&c);
	free(use);
	return ok;
}

/* By the LP over all strips that the rules allow, a dive, and the strips at hand. */
static bool plan_by_dive(struct mend *m, int bias, struct picks *answer)
{
	master_solve(m->ma, m->need, ROUNDS, NULL);
	if (m->ma->budget->stopped ||
	    master_value(m->ma) > (double)(m->out_height - m->ma->step) +
				      0.001 * (double)m->ma->step)
		return false;
	if (master_dive(m->ma, m->need, bias, answer) &&
	    answer->total < m->out_height)
		return true;
	picks_free(answer);
	return !m->ma->budget->stopped && branch(m, answer) &&
	       answer->total < m->out_height;
}

/* The same for two stages, where a branch costs next to nothing. */
static bool plan_by_levels(struct mend *m, struct picks *answer)
{
	const struct model *model = m->ma->model;
	struct columns first;
	struct levels *l;
	length least;

	columns_init(&first, model);
	for (size_t i = 0; i < m->n_out; i++)
		columns_add(
		    &first, pattern_copy(first.arena, m->strips[m->out[i]]));
	l = levels_new(model, m->need, m->ma->step, &first, m->ma->budget);
	levels_ask(l, m->out_height - m->ma->step, NODES, WORK, &least);
	for (size_t i = 0; i < levels_answer(l)->n; i++)
		picks_add(answer,
		    pattern_copy(
			m->ma->columns.arena, levels_answer(l)->pattern[i]),
		    levels_answer(l)->copies[i]);
	levels_delete(l);
	columns_free(&first);
	return answer->n > 0;
}

/* One part planned anew; true when it became shorter. */
static bool turn(struct mend *m, int bias)
{
	const struct model *model = m->ma->model;
	struct picks answer = {0};
	bool better = model->stages == 2 && model->sliver == 0
			  ? plan_by_levels(m, &answer)
			  : plan_by_dive(m, bias, &answer);

	if (better)
		put_in(m, &answer);
	picks_free(&answer);
	return better;
}

static void load(struct mend *m, const struct picks *picks)
{
	for (size_t i = 0; i < picks->n; i++)
		for (int64_t c = 0; c < picks->copies[i]; c++)
			add_strip(m, picks->pattern[i]);
}

static length total_height(const struct mend *m)
{
	length sum = 0;

	for (size_t i = 0; i < m->n; i++)
		sum += m->strips[i]->height;
	return sum;
}

bool mend_picks(struct master *ma, struct picks *picks, const int64_t price[],
    int64_t scale, length goal, int turns)
{
	struct mend m = {.ma = ma, .price = price, .scale = scale, .dice = 1};
	length before = picks->total;
	int64_t strips = 0;
	int fails = 0;

	for (size_t i = 0; i < picks->n; i++)
		strips += picks->copies[i];
	if (strips > STRIPS_MOST || strips < 2)
		return false;
	m.need = xcalloc(ma->model->n_sizes, sizeof(*m.need));
	m.out = xcalloc(64, sizeof(*m.out));
	load(&m, picks);
	for (int i = 0;
	     fails < turns && !ma->budget->stopped && total_height(&m) > goal;
	     i++) {
		size_t many = 4 + (size_t)(i % 5) * 2;

		choose(&m, many < m.n ? many : m.n);
		fails = turn(&m, i % 5) ? 0 : fails + 1;
	}
	picks_free(picks);
	for (size_t i = 0; i < m.n; i++)
		picks_add(picks, m.strips[i], 1);
	free(m.strips);
	free(m.slack);
	free(m.need);
	free(m.out);
	return picks->total < before;
}
