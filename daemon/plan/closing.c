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
 *
 * A target that is not settled in the work an attempt may cost is followed by a nearer
 * one, and when it cannot be nearer, by a more patient attempt.  Lists that are too long
 * even so are not needed at all where strips are made as they are wanted (levels.c).
 */
#include "closing.h"

#include <stdlib.h>

#include "alloc.h"
#include "covering.h"
#include "enumerate.h"
#include "levels.h"
#include "rolls.h"

#define LISTED_MOST 60000
#define NODES 20000
#define FINENESS 4000 /* the first target is so small a part above the bound */
#define PATIENCE                                                               \
	400000000 /* steps of an attempt at first: a start costs much */

struct closing {
	struct maker *mk;
	const struct master *ma;
	const struct worth *w;
	const int64_t *need;
	const struct model *m;
	struct levels *levels; /* NULL until lists grow too long */
	int64_t scale; /* no strip is worth more than its height times this */
	wide price_of_all;
	length step;
	length ahead;            /* the next target is so far above the bound */
	length nearest;          /* and no nearer than this */
	bool outward;            /* looking for better plans now */
	int64_t patience, until; /* steps */
};

static length whole_steps(const struct closing *c, length l)
{
	return (l + c->step - 1) / c->step * c->step;
}

struct closing *closing_new(struct maker *mk, const struct master *ma,
    const struct worth *w, const int64_t need[])
{
	struct closing *c = xcalloc(1, sizeof(*c));

	*c = (struct closing){.mk = mk,
	    .ma = ma,
	    .w = w,
	    .need = need,
	    .m = mk->model,
	    .scale = ceil_div(w->num, w->den),
	    .step = ma->step,
	    .patience = PATIENCE};
	for (size_t i = 0; i < c->m->n_sizes; i++)
		c->price_of_all += (wide)w->size[i] * need[i];
	c->ahead = whole_steps(c, mk->bounds.strip_length / FINENESS + 1);
	c->nearest = c->ahead / 4 > c->step ? c->ahead / 4 : c->step;
	return c;
}

void closing_delete(struct closing *c)
{
	if (c == NULL)
		return;
	levels_delete(c->levels);
	free(c);
}

static void offer(struct closing *c, const struct picks *picks)
{
	maker_offer(c->mk, rolls_pack(c->m, 0, picks, &c->mk->budget));
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

static int64_t work_of_attempt(const struct closing *c)
{
	int64_t left = c->until - c->mk->budget.steps;

	return c->patience < left ? c->patience : left;
}

/* Branch and bound over the strips listed. */
static enum ip_answer ask_listed(
    struct closing *c, length target, const struct columns *list)
{
	struct covering cover;
	struct picks picks = {0};
	int64_t cost, least, *slack;
	enum ip_answer answer;

	covering_init(&cover, list, NULL, c->need, c->step);
	slack = xcalloc(list->n + 1, sizeof(*slack));
	for (size_t j = 0; j < cover.ip.n_columns; j++)
		slack[j] = slack_of(c, &list->list[cover.from[j]]);
	cover.ip.slack = slack;
	cover.ip.work = work_of_attempt(c);
	answer = ip_solve(&cover.ip, target / c->step + 1, NODES,
	    &c->mk->budget, cover.x, &cost, &least);
	if ((answer == IP_FOUND || answer == IP_BETTER) &&
	    covering_picks(&cover, list, c->need, &picks))
		offer(c, &picks);
	raise_bound(c, least * c->step);
	picks_free(&picks);
	free(slack);
	covering_free(&cover);
	return answer;
}

/* The same with strips made on the way. */
static enum ip_answer ask_levels(struct closing *c, length target)
{
	enum ip_answer answer;
	length least;

	if (c->levels == NULL)
		c->levels = levels_new(
		    c->m, c->need, c->step, &c->ma->columns, &c->mk->budget);
	answer =
	    levels_ask(c->levels, target, NODES, work_of_attempt(c), &least);
	if (levels_answer(c->levels)->n > 0)
		offer(c, levels_answer(c->levels));
	raise_bound(c, least);
	return answer;
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

static enum ip_answer ask(struct closing *c, length target)
{
	struct columns list;
	enum ip_answer answer = IP_OPEN;

	columns_init(&list, c->m);
	if (list_strips(c, target, &list))
		answer = ask_listed(c, target, &list);
	else if (!c->mk->budget.stopped)
		answer = ask_levels(c, target);
	columns_free(&list);
	return answer;
}

static length next_target(const struct closing *c)
{
	length target = c->mk->bounds.strip_length + c->ahead,
	       most = c->mk->totals.strip_length - c->step;

	return target < most ? target : most;
}

/*
 * The next target further or nearer, as the last one went.  Where even a near one stays
 * open, far ones may at least yield a better plan; after that, more patience.
 */
static void adapt(struct closing *c, enum ip_answer answer)
{
	length gap = c->mk->totals.strip_length - c->mk->bounds.strip_length;

	if (answer == IP_NONE) {
		c->ahead = c->ahead * 3 / 2;
	} else if (answer == IP_OPEN && c->outward && c->ahead >= gap) {
		c->outward = false;
		c->ahead = c->nearest;
		c->patience *= 3;
	} else if (answer == IP_OPEN && c->outward) {
		c->ahead *= 2;
	} else if (answer == IP_OPEN && c->ahead / 2 < c->nearest) {
		c->outward = true;
		c->ahead = gap / 4;
	} else if (answer == IP_OPEN) {
		c->ahead /= 2;
	} else {
		c->ahead = gap / 4;
	}
	c->ahead = whole_steps(c, c->ahead > 1 ? c->ahead : 1);
}

void closing_run(struct closing *c, int64_t work)
{
	const struct maker *mk = c->mk;

	c->until = mk->budget.steps + work;
	while (mk->bounds.strip_length < mk->totals.strip_length &&
	       !mk->budget.stopped && mk->budget.steps < c->until) {
		length before = mk->totals.strip_length;
		enum ip_answer answer = ask(c, next_target(c));

		/* an answer that fits no fewer rolls than the plan does */
		if (answer == IP_FOUND && mk->totals.strip_length == before)
			return;
		adapt(c, answer);
	}
}
