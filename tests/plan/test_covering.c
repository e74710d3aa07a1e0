/* SPDX-License-Identifier: MIT */
/*
 * Branch and bound against trying everything: covering programs small enough for that,
 * and numbers of strips against dynamic programming over what can be left.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "columns.h"
#include "draw.h"
#include "ip.h"
#include "lengths.h"
#include "levels.h"
#include "model.h"

#define ROWS 4
#define COLUMNS 7

struct tiny {
	struct ip ip;
	int64_t need[ROWS], group[COLUMNS], firsts[COLUMNS], slack[COLUMNS];
	int64_t low[COLUMNS], high[COLUMNS];
	struct ip_column columns[COLUMNS];
	struct ip_entry entries[COLUMNS][ROWS];
};

/* Columns by rising cost, which is their group as well, as with heights of strips. */
static void draw_program(uint64_t seed, struct tiny *t)
{
	struct dice d = {seed};
	int64_t cost = 0;

	memset(t, 0, sizeof(*t));
	t->ip = (struct ip){.n_rows = (size_t)dice_between(&d, 2, ROWS),
	    .n_columns = COLUMNS,
	    .need = t->need,
	    .columns = t->columns,
	    .group = t->group,
	    .firsts = t->firsts,
	    .divisor = 1,
	    .cuts = dice_between(&d, 0, 1) == 1};
	for (size_t r = 0; r < t->ip.n_rows; r++)
		t->need[r] = dice_between(&d, 1, 6);
	for (size_t j = 0; j < COLUMNS; j++) {
		struct ip_column *c = &t->columns[j];

		cost += dice_between(&d, 0, 4) + (j == 0);
		*c = (struct ip_column){
		    .cost = cost, .most = 6, .entries = t->entries[j]};
		for (size_t r = 0; r < t->ip.n_rows; r++) {
			int64_t count = dice_between(&d, 0, 3);

			if (count > 0)
				t->entries[j][c->n++] =
				    (struct ip_entry){r, count};
		}
		t->group[j] = cost;
		t->slack[j] = dice_between(&d, 0, 9);
		if (t->ip.n_firsts == 0 ||
		    t->firsts[t->ip.n_firsts - 1] != cost)
			t->firsts[t->ip.n_firsts++] = cost;
	}
	if (dice_between(&d, 0, 1) == 1)
		t->ip.slack = t->slack;
	for (size_t f = 0; f < t->ip.n_firsts; f++) {
		t->low[f] = dice_between(&d, 0, 2);
		t->high[f] = t->low[f] + dice_between(&d, 0, 4);
	}
	if (dice_between(&d, 0, 1) == 1) {
		t->ip.first_low = t->low;
		t->ip.first_high = t->high;
	}
}

static bool covers(const struct tiny *t, const int64_t x[])
{
	for (size_t r = 0; r < t->ip.n_rows; r++) {
		int64_t sum = 0;

		for (size_t j = 0; j < COLUMNS; j++)
			for (size_t k = 0; k < t->columns[j].n; k++)
				if (t->entries[j][k].row == r)
					sum += x[j] * t->entries[j][k].count;
		if (sum < t->need[r])
			return false;
	}
	return true;
}

static bool is_within(const struct tiny *t, const int64_t x[])
{
	for (size_t f = 0; f < t->ip.n_firsts && t->ip.first_low != NULL; f++) {
		int64_t sum = 0;

		for (size_t j = 0; j < COLUMNS; j++)
			sum += t->group[j] >= t->firsts[f] ? x[j] : 0;
		if (sum < t->low[f] || sum > t->high[f])
			return false;
	}
	return true;
}

static int64_t cost_of(const struct tiny *t, const int64_t x[])
{
	int64_t sum = 0;

	for (size_t j = 0; j < COLUMNS; j++)
		sum += x[j] * t->columns[j].cost;
	return sum;
}

/* The least cost below `limit`, or limit. */
static int64_t try_all(
    const struct tiny *t, size_t j, int64_t x[], int64_t cost, int64_t limit)
{
	if (cost >= limit)
		return limit;
	if (j == COLUMNS)
		return covers(t, x) && is_within(t, x) ? cost : limit;
	for (x[j] = 0; x[j] <= t->columns[j].most; x[j]++)
		limit = try_all(
		    t, j + 1, x, cost + x[j] * t->columns[j].cost, limit);
	x[j] = 0;
	return limit;
}

Test(covering, programs_are_solved_as_by_trying_all)
{
	int found = 0, none = 0;

	for (uint64_t seed = 1; seed <= 1500; seed++) {
		struct plan_job job = {0};
		struct budget budget = {.job = &job};
		int64_t x[COLUMNS + 1] = {0}, all[COLUMNS] = {0}, cost, least;
		int64_t limit = 12 + (int64_t)(seed % 29), best;
		struct tiny t;
		enum ip_answer answer;

		draw_program(seed, &t);
		best = try_all(&t, 0, all, 0, limit);
		answer =
		    ip_solve(&t.ip, limit, 100000, &budget, x, &cost, &least);
		cr_assert(least <= best, "seed %lu: bound %ld, best %ld", seed,
		    least, best);
		if (answer == IP_FOUND) {
			/* outside the bounds of sums it may be cheaper */
			cr_assert(covers(&t, x) && cost_of(&t, x) == cost &&
				      (is_within(&t, x) ? cost == best
							: cost <= best),
			    "seed %lu: %ld, best %ld", seed, cost, best);
			found++;
		} else if (answer == IP_NONE) {
			cr_assert(best == limit, "seed %lu: none below %ld",
			    seed, limit);
			none++;
		}
	}
	cr_assert(found > 500 && none > 200 && found + none == 1500,
	    "%d found, %d none", found, none);
}

#define ROWS_MORE 12
#define COLUMNS_MORE 60

struct more {
	struct ip ip;
	int64_t need[ROWS_MORE], group[COLUMNS_MORE], firsts[COLUMNS_MORE];
	struct ip_column columns[COLUMNS_MORE];
	struct ip_entry entries[COLUMNS_MORE][3];
};

/* Three rows in a column, costs near what they hold: as strips are. */
static void draw_more(uint64_t seed, struct more *p)
{
	struct dice d = {seed};

	memset(p, 0, sizeof(*p));
	p->ip = (struct ip){.n_rows = ROWS_MORE,
	    .n_columns = COLUMNS_MORE,
	    .need = p->need,
	    .columns = p->columns,
	    .group = p->group,
	    .firsts = p->firsts,
	    .divisor = 1,
	    .cuts = true};
	for (size_t r = 0; r < ROWS_MORE; r++)
		p->need[r] = dice_between(&d, 1, 30);
	for (size_t j = 0; j < COLUMNS_MORE; j++) {
		struct ip_column *c = &p->columns[j];
		int64_t cost = 40 + 3 * (int64_t)j;

		*c = (struct ip_column){
		    .cost = cost, .most = 30, .entries = p->entries[j]};
		for (size_t r = 0; r < ROWS_MORE && c->n < 3; r++)
			if (dice_between(&d, 1, 4) == 1)
				p->entries[j][c->n++] = (struct ip_entry){
				    r, dice_between(&d, 1, 4)};
		p->group[j] = cost;
		if (j % 6 == 0)
			p->firsts[p->ip.n_firsts++] = cost;
	}
}

/* Columns held above 0 by the bounds of a branch have prices too, or it stays open. */
Test(covering, no_branch_is_left_open)
{
	int found = 0;

	for (uint64_t seed = 1; seed <= 60; seed++) {
		struct plan_job job = {0};
		struct budget budget = {.job = &job};
		int64_t x[COLUMNS_MORE + 1], cost, least, again;
		struct more p;
		enum ip_answer answer;

		draw_more(seed, &p);
		answer =
		    ip_solve(&p.ip, 60000, 20000, &budget, x, &cost, &least);
		if (answer != IP_FOUND)
			continue;
		found++;
		cr_assert_eq(least, cost, "seed %lu", seed);
		answer =
		    ip_solve(&p.ip, cost, 20000, &budget, x, &again, &least);
		cr_assert(answer == IP_NONE, "seed %lu: %d", seed, answer);
	}
	cr_assert_eq(found, 60, "%d of 60 solved", found);
}

/* Two to four sizes, two stages. */
static struct problem *draw_order(uint64_t seed)
{
	struct dice d = {seed};
	struct endless e = {.stages = 2, .least = 3, .most = 20};

	e.n = (size_t)dice_between(&d, 2, 4);
	e.width = dice_between(&d, 20, 60);
	e.many = e.n > 3 ? 7 : 14;
	return draw_endless(&d, &e);
}

static void check_levels(uint64_t seed, const struct problem *p, int *settled)
{
	struct plan_job job = {0};
	struct budget budget = {.job = &job};
	length best = lengths_least(p), bound;
	int64_t need[4];
	struct columns none;
	struct levels *l;
	struct model *m;
	struct err err;
	enum ip_answer answer;

	cr_assert(model_new(p, &m, &err), "%s", err.text);
	for (size_t i = 0; i < m->n_sizes; i++)
		need[i] = m->sizes[i].demand;
	columns_init(&none, m);
	l = levels_new(m, need, 1, &none, &budget);
	answer = levels_ask(l, best - 1, 1000, 100000000, &bound);
	cr_assert(answer == IP_NONE || answer == IP_OPEN,
	    "seed %lu: strips lower than %ld", seed, (long)best);
	cr_assert(bound <= best, "seed %lu: bound %ld, least %ld", seed,
	    (long)bound, (long)best);
	*settled += answer == IP_NONE;
	answer = levels_ask(l, best + best / 20, 1000, 100000000, &bound);
	cr_assert(bound <= best && answer != IP_NONE, "seed %lu", seed);
	if (answer == IP_FOUND)
		cr_assert_eq(levels_answer(l)->total, best, "seed %lu", seed);
	*settled += answer == IP_FOUND;
	levels_delete(l);
	columns_free(&none);
	model_delete(m);
}

Test(covering, numbers_of_strips_are_as_by_dynamic_programming)
{
	int settled = 0;

	for (uint64_t seed = 1; seed <= 150; seed++) {
		struct problem *p = draw_order(seed);

		check_levels(seed, p, &settled);
		problem_delete(p);
	}
	cr_assert(settled == 300, "%d of 300 settled", settled);
}
