/* SPDX-License-Identifier: MIT */
/*
 * ip_rows.c - what the LP of a branch holds: columns, cuts and sums.
 *
 * The LP knows some hundred columns of a list of thousands: it begins with those of least
 * slack, and those that its prices make worth their cost come in (ip_relax.c looks at all
 * of them, in whole numbers).  What it has no use for just now waits aside, and sums that
 * bind nothing are forgotten: every row and column that is in costs at every pivot.
 */
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "ip_own.h"

#define SCALE_MOST ((int64_t)1 << 24)
#define FIRST_IN 300              /* columns of a long list */
#define COME_IN 60                /* at once */
#define ACTIVE 100                /* columns, and two for each row */
#define SETS_MOST 24              /* in the LP before some are dropped */
#define Y_MOST ((int64_t)1 << 46) /* y * count stays far below 2^63 */

static int compare_slack(const void *x, const void *y)
{
	int64_t a = *(const int64_t *)x, b = *(const int64_t *)y;

	return (a > b) - (a < b);
}

/* The LP is told of a column. */
static void let_in(struct tree *t, size_t j)
{
	const struct ip_column *c = &t->ip->columns[j];
	struct simplex_entry *entries =
	    xcalloc(t->n_lp_rows + 1, sizeof(*entries));
	size_t n = 0;

	for (size_t k = 0; k < c->n; k++)
		entries[n++] = (struct simplex_entry){
		    c->entries[k].row, (double)c->entries[k].count};
	for (size_t i = 0; i < t->n_cuts; i++)
		if (t->cuts[i].count[j] != 0)
			entries[n++] = (struct simplex_entry){
			    t->cuts[i].lp_row, (double)t->cuts[i].count[j] /
						   (double)t->cuts[i].cut.rest};
	for (size_t i = 0; i < t->n_sets; i++)
		if (t->sets[i].lp_row != OUTSIDE && t->sets[i].in[j])
			entries[n++] =
			    (struct simplex_entry){t->sets[i].lp_row, 1};
	t->in_lp[j] = t->n_lp_columns;
	t->of_lp[t->n_lp_columns++] = j;
	simplex_add_column(t->lp, (double)c->cost, (double)t->low[j],
	    (double)t->high[j], entries, n);
	free(entries);
}

/* Of many columns the LP begins with those of least slack. */
static void let_first_in(struct tree *t)
{
	const struct ip *ip = t->ip;
	int64_t *slack, most = INT64_MAX;

	if (ip->slack != NULL && ip->n_columns > FIRST_IN) {
		slack = xcalloc(ip->n_columns, sizeof(*slack));
		memcpy(slack, ip->slack, ip->n_columns * sizeof(*slack));
		qsort(slack, ip->n_columns, sizeof(*slack), compare_slack);
		most = slack[FIRST_IN - 1];
		free(slack);
	}
	for (size_t j = 0; j < ip->n_columns; j++)
		if (ip->slack == NULL || ip->slack[j] <= most)
			let_in(t, j);
}

/* The sums that the caller has bounds on. */
static void add_bounded_sums(struct tree *t)
{
	const struct ip *ip = t->ip;

	for (size_t f = 0; f < ip->n_firsts; f++) {
		struct set set = {
		    .kind = SET_GROUP, .b = SIZE_MAX, .from = ip->firsts[f]};
		size_t i = relax_add_set(t, &set);
		int64_t high = t->sets[i].high;

		relax_bound_set(t, i, ip->first_low[f],
		    ip->first_high[f] < high ? ip->first_high[f] : high);
	}
}

void relax_init(struct tree *t)
{
	const struct ip *ip = t->ip;

	t->sets = NULL;
	t->cuts = NULL;
	t->n_sets = t->cap_sets = t->n_sets_in = t->n_cuts = t->cap_cuts = 0;
	t->scale = SCALE_MOST;
	while (
	    t->scale > 1 && (double)t->scale * tree_y_most(t) > (double)Y_MOST)
		t->scale /= 2;
	t->low = xcalloc(ip->n_columns, sizeof(*t->low));
	t->high = xcalloc(ip->n_columns, sizeof(*t->high));
	t->rc = xcalloc(ip->n_columns, sizeof(*t->rc));
	t->x = xcalloc(ip->n_columns, sizeof(*t->x));
	t->y = xcalloc(ip->n_rows, sizeof(*t->y));
	t->lp = simplex_new();
	for (size_t r = 0; r < ip->n_rows; r++)
		simplex_add_row(
		    t->lp, (double)ip->need[r], SIMPLEX_NO_BOUND, NULL, 0);
	t->in_lp = xcalloc(ip->n_columns + 1, sizeof(*t->in_lp));
	t->of_lp = xcalloc(ip->n_columns + 1, sizeof(*t->of_lp));
	t->parked = xcalloc(ip->n_columns + 1, sizeof(*t->parked));
	t->n_lp_columns = t->n_parked = 0;
	for (size_t j = 0; j < ip->n_columns; j++) {
		t->high[j] = ip->columns[j].most;
		t->in_lp[j] = OUTSIDE;
	}
	t->n_lp_rows = ip->n_rows;
	let_first_in(t);
	if (ip->first_low != NULL)
		add_bounded_sums(t);
}

void relax_free(struct tree *t)
{
	simplex_delete(t->lp);
	free(t->in_lp);
	free(t->of_lp);
	free(t->parked);
	for (size_t i = 0; i < t->n_sets; i++)
		free(t->sets[i].in);
	for (size_t i = 0; i < t->n_cuts; i++)
		free(t->cuts[i].count);
	free(t->sets);
	free(t->cuts);
	free(t->low);
	free(t->high);
	free(t->rc);
	free(t->x);
	free(t->y);
}

void relax_add_cut(struct tree *t, const struct cut *cut)
{
	size_t n = t->ip->n_columns, used = 0;
	struct simplex_entry *entries = xcalloc(n + 1, sizeof(*entries));
	struct cut_row row = {.cut = *cut, .lp_row = t->n_lp_rows++};

	row.count = xcalloc(n, sizeof(*row.count));
	budget_spend(t->budget, (int64_t)n * 20);
	for (size_t j = 0; j < n; j++) {
		row.count[j] = (int32_t)cut_count(cut, &t->ip->columns[j]);
		if (row.count[j] == 0 || t->in_lp[j] == OUTSIDE)
			continue;
		entries[used++] = (struct simplex_entry){
		    t->in_lp[j], (double)row.count[j] / (double)cut->rest};
	}
	simplex_add_row(t->lp, (double)cut->need / (double)cut->rest,
	    SIMPLEX_NO_BOUND, entries, used);
	if (t->n_cuts == t->cap_cuts) {
		t->cap_cuts = t->cap_cuts == 0 ? 32 : 2 * t->cap_cuts;
		t->cuts = xrealloc(t->cuts, t->cap_cuts, sizeof(*t->cuts));
	}
	t->cuts[t->n_cuts++] = row;
	free(entries);
}

static int64_t count_in(const struct ip_column *c, size_t row)
{
	for (size_t k = 0; k < c->n; k++)
		if (c->entries[k].row == row)
			return c->entries[k].count;
	return 0;
}

static bool is_in(const struct ip *ip, const struct set *s, size_t j)
{
	const struct ip_column *c = &ip->columns[j];

	if (s->kind == SET_GROUP)
		return ip->group[j] >= s->from;
	return count_in(c, s->a) >= s->from &&
	       (s->b == SIZE_MAX || count_in(c, s->b) >= s->from_b);
}

/* No better answer uses more columns than this. */
static int64_t most_columns(const struct tree *t)
{
	int64_t least = INT64_MAX, sum = 0;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		if (t->ip->columns[j].cost < least)
			least = t->ip->columns[j].cost;
		sum += t->ip->columns[j].most;
	}
	return least > 0 && tree_target(t) / least < sum
		   ? tree_target(t) / least
		   : sum;
}

/* The set as a row of the LP. */
static void enter_set(struct tree *t, struct set *s)
{
	struct simplex_entry *entries =
	    xcalloc(t->n_lp_columns + 1, sizeof(*entries));
	size_t n = 0;

	for (size_t k = 0; k < t->n_lp_columns; k++)
		if (s->in[t->of_lp[k]])
			entries[n++] = (struct simplex_entry){k, 1};
	s->lp_row = t->n_lp_rows++;
	t->n_sets_in++;
	simplex_add_row(t->lp, (double)s->low, (double)s->high, entries, n);
	free(entries);
}

size_t relax_add_set(struct tree *t, const struct set *set)
{
	size_t n = t->ip->n_columns;
	struct set *s;

	for (size_t i = 0; i < t->n_sets; i++) {
		s = &t->sets[i];
		if (s->kind == set->kind && s->a == set->a && s->b == set->b &&
		    s->from == set->from && s->from_b == set->from_b)
			return i;
	}
	if (t->n_sets == t->cap_sets) {
		t->cap_sets = t->cap_sets == 0 ? 16 : 2 * t->cap_sets;
		t->sets = xrealloc(t->sets, t->cap_sets, sizeof(*t->sets));
	}
	s = &t->sets[t->n_sets++];
	*s = *set;
	s->in = xcalloc(n, sizeof(*s->in));
	s->low = 0;
	s->high = s->most = most_columns(t);
	s->lp_row = OUTSIDE;
	budget_spend(t->budget, (int64_t)n * 8);
	for (size_t j = 0; j < n; j++)
		s->in[j] = is_in(t->ip, s, j);
	return t->n_sets - 1;
}

void relax_drop_sets(struct tree *t)
{
	size_t rows = 0, *place;
	bool *drop;

	if (t->n_sets_in <= SETS_MOST)
		return;
	drop = xcalloc(t->n_lp_rows, sizeof(*drop));
	place = xcalloc(t->n_lp_rows, sizeof(*place));
	for (size_t i = 0; i < t->n_sets; i++) {
		const struct set *s = &t->sets[i];

		if (s->lp_row != OUTSIDE && s->low == 0 && s->high == s->most)
			drop[s->lp_row] = true;
	}
	simplex_drop_rows(t->lp, drop);
	for (size_t r = 0; r < t->n_lp_rows; r++)
		place[r] = drop[r] ? OUTSIDE : rows++;
	for (size_t i = 0; i < t->n_sets; i++) {
		struct set *s = &t->sets[i];

		if (s->lp_row == OUTSIDE)
			continue;
		s->lp_row = place[s->lp_row];
		t->n_sets_in -= s->lp_row == OUTSIDE;
	}
	for (size_t i = 0; i < t->n_cuts; i++)
		t->cuts[i].lp_row = place[t->cuts[i].lp_row];
	t->n_lp_rows = rows;
	free(drop);
	free(place);
}

void relax_bound_column(struct tree *t, size_t j, int64_t low, int64_t high)
{
	t->low[j] = low;
	t->high[j] = high;
	if (t->in_lp[j] != OUTSIDE && !t->parked[t->in_lp[j]])
		simplex_bound_column(
		    t->lp, t->in_lp[j], (double)low, (double)high);
}

void relax_bound_set(struct tree *t, size_t i, int64_t low, int64_t high)
{
	struct set *s = &t->sets[i];

	if (s->lp_row == OUTSIDE)
		enter_set(t, s);
	s->low = low;
	s->high = high;
	simplex_bound_row(t->lp, s->lp_row, (double)low, (double)high);
}

static void park(struct tree *t, size_t place, bool on)
{
	size_t j = t->of_lp[place];

	t->parked[place] = on;
	t->n_parked += on ? 1 : -(size_t)1;
	simplex_bound_column(t->lp, place, on ? 0 : (double)t->low[j],
	    on ? 0 : (double)t->high[j]);
}

/*
 * Columns that the LP does not want just now cost as much at every pivot as those that
 * it does; the dearest wait aside until they are worth their cost again.
 */
void relax_park(struct tree *t)
{
	size_t most = 2 * t->n_lp_rows + ACTIVE, n = 0;
	int64_t *dear, limit;

	if (t->n_lp_columns - t->n_parked <= most + most / 2)
		return;
	dear = xcalloc(t->n_lp_columns, sizeof(*dear));
	for (size_t k = 0; k < t->n_lp_columns; k++)
		if (!t->parked[k])
			dear[n++] = t->rc[t->of_lp[k]];
	qsort(dear, n, sizeof(*dear), compare_slack);
	limit = dear[most] > 0 ? dear[most] : 0;
	for (size_t k = 0; k < t->n_lp_columns; k++) {
		size_t j = t->of_lp[k];

		if (!t->parked[k] && t->rc[j] > limit && t->low[j] == 0 &&
		    t->x[j] == 0)
			park(t, k, true);
	}
	free(dear);
}

/* Columns outside that are worth their cost come in, the best of them; false: none are. */
bool relax_let_in(struct tree *t)
{
	size_t list[COME_IN], n = 0;

	for (size_t j = 0; j < t->ip->n_columns; j++) {
		size_t i = n;

		if (t->rc[j] >= 0 || t->high[j] == 0 ||
		    (t->in_lp[j] != OUTSIDE && !t->parked[t->in_lp[j]]))
			continue;
		if (n == COME_IN && t->rc[j] >= t->rc[list[n - 1]])
			continue;
		i = n == COME_IN ? n - 1 : n++;
		for (; i > 0 && t->rc[list[i - 1]] > t->rc[j]; i--)
			list[i] = list[i - 1];
		list[i] = j;
	}
	for (size_t i = 0; i < n; i++)
		if (t->in_lp[list[i]] == OUTSIDE)
			let_in(t, list[i]);
		else
			park(t, t->in_lp[list[i]], false);
	return n > 0;
}
