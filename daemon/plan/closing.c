/* SPDX-License-Identifier: MIT */
/*
 * closing.c - the gap between plan and bound, closed from below.
 *
 * Is there an answer no longer than a target just above the bound?  The strips that such
 * an answer could hold have so little slack that they can all be listed (enumerate.c),
 * and over so few strips branch and bound (ip.c) soon knows: either here is the answer,
 * and nearly the shortest there is, or the bound rises to the target and the next one is
 * a little higher.  The lists grow quickly with the target, so asking for the whole gap
 * at once was far slower: where that took minutes, this takes hundredths of a second.
 */
#include "closing.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "covering.h"
#include "enumerate.h"
#include "rolls.h"

#define LISTED_MOST 30000
#define NODES 3000
#define FINENESS 4000 /* the first target is so small a part above the bound */
#define FAILURES_MOST 8
#define ATTEMPTS 10 /* that fail cost all the work there is */

struct closing {
	struct maker *mk;
	const struct master *ma;
	const struct worth *w;
	const int64_t *need;
	const struct model *m;
	int64_t scale; /* no strip is worth more than its height times this */
	wide price_of_all;
	length step;
	length ahead;   /* the next target is so far above the bound */
	length nearest; /* and no nearer than this */
	bool outward;   /* looking for better plans now */
	int failures;
	int64_t work, until; /* steps */
};

/* The strips of an answer, pieces too many left out, onto rolls. */
static void offer_answer(
    struct closing *c, const struct columns *list, const struct covering *cover)
{
	struct picks picks = {0};
	int64_t *left = xcalloc(c->m->n_sizes, sizeof(*left));

	memcpy(left, c->need, c->m->n_sizes * sizeof(*left));
	for (size_t j = 0; j < cover->ip.n_columns; j++) {
		const struct pattern *p = list->list[cover->from[j]].pattern;

		if (cover->x[j] == 0)
			continue;
		picks_add(&picks, p, cover->x[j]);
		pattern_take(p, cover->x[j], left);
	}
	if (picks_drop_surplus(c->m, 0, list->arena, left, &picks))
		maker_offer(c->mk, rolls_pack(c->m, 0, &picks, &c->mk->budget));
	picks_free(&picks);
	free(left);
}

static void raise_bound(struct closing *c, length to)
{
	if (to > c->mk->bounds.strip_length)
		c->mk->bounds.strip_length = to;
}

/* What a strip lacks of the worth that its height asks for. */
static int64_t slack_of(const struct closing *c, const struct column *column)
{
	int64_t slack = column->pattern->height * c->scale;

	for (size_t k = 0; k < column->n; k++)
		slack -= c->w->size[column->size[k]] * column->count[k];
	return slack;
}

/* Branch and bound over the strips listed: anything up to the target? */
static enum ip_answer ask(
    struct closing *c, length target, const struct columns *list)
{
	struct covering cover;
	int64_t cost, least, *slack;
	enum ip_answer answer;

	covering_init(&cover, list, NULL, c->need, c->step);
	slack = xcalloc(list->n + 1, sizeof(*slack));
	for (size_t j = 0; j < cover.ip.n_columns; j++)
		slack[j] = slack_of(c, &list->list[cover.from[j]]);
	cover.ip.slack = slack;
	cover.ip.work = c->until - c->mk->budget.steps;
	if (cover.ip.work > c->work / ATTEMPTS)
		cover.ip.work = c->work / ATTEMPTS;
	answer = ip_solve(&cover.ip, target / c->step + 1, NODES,
	    &c->mk->budget, cover.x, &cost, &least);
	if (answer == IP_FOUND || answer == IP_BETTER)
		offer_answer(c, list, &cover);
	raise_bound(c, least * c->step);
	free(slack);
	covering_free(&cover);
	return answer;
}

static length next_target(const struct closing *c)
{
	length target = c->mk->bounds.strip_length + c->ahead,
	       most = c->mk->totals.strip_length - c->step;

	return target < most ? target : most;
}

/* All strips within the slack of a plan so long; false: too many of them. */
static bool list_strips(
    const struct closing *c, length target, struct columns *list)
{
	wide slack = (wide)target * c->scale - c->price_of_all;

	return slack < INT64_MAX &&
	       (slack < 0 ||
		   enumerate_strips(c->m, 0, c->w->size, c->need, c->scale,
		       (int64_t)slack, LISTED_MOST, list, &c->mk->budget));
}

static length whole_steps(const struct closing *c, length l)
{
	return (l + c->step - 1) / c->step * c->step;
}

/*
 * The next target further or nearer, as the last one went; false: no use.  Where even a
 * near one stays open, far ones may at least yield a better plan.
 */
static bool adapt(
    struct closing *c, enum ip_answer answer, length target, length before)
{
	length now = c->mk->totals.strip_length,
	       gap = now - c->mk->bounds.strip_length;

	if (answer == IP_FOUND) /* else it fits no fewer rolls */
		return now < before;
	if (answer == IP_NONE) {
		c->ahead = c->ahead * 3 / 2 + 1;
	} else {
		if (target >= before - c->step && now == before && c->outward)
			return false;
		if (now < before || (!c->outward && c->ahead / 2 < c->nearest))
			c->ahead = gap / 4;
		else
			c->ahead = c->outward ? c->ahead * 2 : c->ahead / 2;
		c->outward = c->outward || c->ahead == gap / 4;
		if (++c->failures == FAILURES_MOST)
			return false;
	}
	c->ahead = whole_steps(c, c->ahead > 0 ? c->ahead : 1);
	return true;
}

static bool go_on(const struct closing *c)
{
	const struct maker *mk = c->mk;

	return mk->bounds.strip_length < mk->totals.strip_length &&
	       !mk->budget.stopped && mk->budget.steps < c->until;
}

void closing_run(struct maker *mk, const struct master *ma,
    const struct worth *w, const int64_t need[], int64_t work)
{
	struct closing c = {.mk = mk,
	    .ma = ma,
	    .w = w,
	    .need = need,
	    .m = mk->model,
	    .scale = ceil_div(w->num, w->den),
	    .step = ma->step,
	    .work = work,
	    .until = mk->budget.steps + work};
	bool useful = true;

	for (size_t i = 0; i < c.m->n_sizes; i++)
		c.price_of_all += (wide)w->size[i] * need[i];
	c.ahead = whole_steps(&c, mk->bounds.strip_length / FINENESS + 1);
	c.nearest = c.ahead / 4 > c.step ? c.ahead / 4 : c.step;
	while (useful && go_on(&c)) {
		length target = next_target(&c),
		       before = mk->totals.strip_length;
		struct columns list;
		enum ip_answer answer;

		columns_init(&list, c.m);
		useful = list_strips(&c, target, &list);
		if (useful) {
			answer = ask(&c, target, &list);
			useful = adapt(&c, answer, target, before);
		}
		columns_free(&list);
	}
}
