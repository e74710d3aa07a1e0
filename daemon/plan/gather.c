/* SPDX-License-Identifier: MIT */
/*
 * gather.c - what is left over lies at the end of one roll.
 *
 * Rolls of one frame hold their strips together: all but the last one, the longest, are
 * filled as full as they go (a knapsack of heights each), the last one takes what remains.
 * A roll filled to its end saves a tear too.
 */
#include "tidy.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "budget.h"
#include "knap.h"
#include "tears.h"

#define RUN_NODES 2000

struct gather {
	const struct model *m;
	struct draft *draft;
	struct knap *knap;
	struct budget *budget;
	size_t *rolls; /* of one frame, into draft->used, the longest last */
	size_t n_rolls;
	struct laid *strips; /* of these rolls, the highest first */
	size_t n_strips, cap_strips;
	bool *done;       /* of draft->used */
	struct used *now; /* of these rolls, laid anew */
};

static length room_of(const struct bin *bin)
{
	length sum = 0;

	for (size_t r = 0; r < bin->n_runs; r++)
		sum += bin->runs[r].length;
	return sum;
}

static bool go_together(const struct gather *g, size_t i, size_t k)
{
	const struct bin *a = &g->m->bins[g->draft->used[i].bin];
	const struct bin *b = &g->m->bins[g->draft->used[k].bin];

	return a->frame == b->frame && g->m->problem->stock[a->stock].fresh ==
					   g->m->problem->stock[b->stock].fresh;
}

static int compare_heights(const void *x, const void *y)
{
	const struct laid *a = x, *b = y;
	length p = a->pattern->height, q = b->pattern->height;

	if (p != q)
		return p > q ? -1 : 1;
	return (a->at > b->at) - (a->at < b->at);
}

static void collect(struct gather *g, size_t first)
{
	const struct draft *d = g->draft;

	g->n_rolls = g->n_strips = 0;
	for (size_t i = first; i < d->n_used; i++) {
		length room = room_of(&g->m->bins[d->used[i].bin]);
		size_t k = g->n_rolls;

		if (g->done[i] || !go_together(g, first, i))
			continue;
		g->n_rolls++;
		g->done[i] = true;
		for (;
		     k > 0 &&
		     room_of(&g->m->bins[d->used[g->rolls[k - 1]].bin]) > room;
		     k--)
			g->rolls[k] = g->rolls[k - 1];
		g->rolls[k] = i;
		for (size_t n = 0; n < d->used[i].n_laid; n++) {
			struct laid *to = &g->strips[g->n_strips];

			*to = d->used[i].laid[n];
			to->at = (length)g->n_strips++; /* keeps the order */
		}
	}
	if (g->n_strips > 0)
		qsort(g->strips, g->n_strips, sizeof(*g->strips),
		    compare_heights);
}

static void put(struct used *to, size_t run, const struct laid *strip)
{
	to->laid[to->n_laid] = *strip;
	to->laid[to->n_laid++].run = run;
}

/* The strips chosen, by height, leave the list for the roll. */
static void take(struct gather *g, struct used *to, size_t run,
    const struct item items[], const int64_t count[], size_t n)
{
	size_t kept = 0, item = 0;
	int64_t taken = 0;

	for (size_t i = 0; i < g->n_strips; i++) {
		length height = g->strips[i].pattern->height;

		while (item < n && items[item].size > height) {
			item++;
			taken = 0;
		}
		if (item < n && items[item].size == height &&
		    taken < count[item]) {
			put(to, run, &g->strips[i]);
			taken++;
		} else {
			g->strips[kept++] = g->strips[i];
		}
	}
	g->n_strips = kept;
}

/* As full as it goes. */
static void fill_run(struct gather *g, struct used *to, size_t run, length room)
{
	struct item *items = xcalloc(g->n_strips + 1, sizeof(*items));
	int64_t *count = xcalloc(g->n_strips + 1, sizeof(*count));
	int64_t bound, steps = (int64_t)g->n_strips;
	size_t n = 0;

	for (size_t i = 0; i < g->n_strips; i++) {
		length h = g->strips[i].pattern->height;

		if (n == 0 || items[n - 1].size != h)
			items[n++] = (struct item){h, h, 0, i};
		items[n - 1].most++;
	}
	if (n > 0)
		knap_best(g->knap, items, n, room, 0, count, &bound, &steps);
	take(g, to, run, items, count, n);
	budget_spend(g->budget, steps);
	free(count);
	free(items);
}

/* False: not everything found a place. */
static bool lay(struct gather *g)
{
	for (size_t k = 0; k < g->n_rolls && !g->budget->stopped; k++) {
		const struct used *was = &g->draft->used[g->rolls[k]];
		const struct bin *bin = &g->m->bins[was->bin];
		struct used *to = &g->now[k];

		*to = (struct used){.bin = was->bin};
		to->cap_laid = g->n_strips + 1;
		to->laid = xcalloc(to->cap_laid, sizeof(*to->laid));
		for (size_t r = 0; r < bin->n_runs; r++)
			fill_run(g, to, r, bin->runs[r].length);
		if (to->n_laid == 0)
			return false;
	}
	return g->n_strips == 0;
}

struct neatness {
	int64_t tears;
	length end;
};

static struct neatness add(
    const struct model *m, const struct used *used, struct neatness n)
{
	length end = used_end(m, used);

	n.tears += used_tears(m, used);
	n.end = end > n.end ? end : n.end;
	return n;
}

static void gather_group(struct gather *g, size_t first)
{
	struct neatness was = {0}, is = {0};
	bool good;

	collect(g, first);
	if (g->n_rolls < 2 ||
	    (int64_t)(g->n_rolls * g->n_strips) > g->budget->job->steps)
		return;
	memset(g->now, 0, g->n_rolls * sizeof(*g->now));
	good = lay(g);
	for (size_t k = 0; k < g->n_rolls && good; k++) {
		was = add(g->m, &g->draft->used[g->rolls[k]], was);
		is = add(g->m, &g->now[k], is);
	}
	good = good && (is.tears < was.tears ||
			   (is.tears == was.tears && is.end > was.end));
	for (size_t k = 0; k < g->n_rolls; k++) {
		struct used *old = &g->draft->used[g->rolls[k]];

		free(good ? old->laid : g->now[k].laid);
		if (good)
			*old = g->now[k];
	}
}

void draft_gather(struct draft *draft, int64_t steps, int64_t *spent)
{
	struct plan_job job = {.steps = steps};
	struct budget budget = {.job = &job};
	struct gather g = {
	    .m = draft->model, .draft = draft, .budget = &budget};

	for (size_t i = 0; i < draft->n_used; i++)
		g.cap_strips += draft->used[i].n_laid;
	g.knap = knap_new(RUN_NODES);
	g.rolls = xcalloc(draft->n_used + 1, sizeof(*g.rolls));
	g.done = xcalloc(draft->n_used + 1, sizeof(*g.done));
	g.now = xcalloc(draft->n_used + 1, sizeof(*g.now));
	g.strips = xcalloc(g.cap_strips + 1, sizeof(*g.strips));
	for (size_t i = 0; i < draft->n_used && !budget.stopped; i++)
		if (!g.done[i])
			gather_group(&g, i);
	free(g.strips);
	free(g.now);
	free(g.done);
	free(g.rolls);
	knap_delete(g.knap);
	*spent = budget.steps;
}
