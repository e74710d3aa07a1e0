/* SPDX-License-Identifier: MIT */
/*
 * join.c - three stages: two strips of a roll become one, their segments stacked.
 *
 * Two equal strips of h torn as one of 2h have one end less, and a trim beside them or
 * above a piece is torn once instead of twice: it is one larger offcut.  No strip is made
 * higher than the roll is wide, since a straightedge that tears across it reaches no
 * further.
 */
#include "tidy.h"

#include "budget.h"
#include "tears.h"

struct join {
	const struct model *m;
	struct draft *draft;
	struct budget *budget;
	const struct frame *frame; /* of the roll in hand */
};

static void add_stack(
    struct pattern *to, const struct pattern *p, const struct part *part)
{
	for (size_t k = 0; part != NULL && k < part->n; k++)
		pattern_add_way(to, p->ways[part->first + k]);
}

/* The i-th widest segments of both on each other. */
static struct pattern *stack(
    const struct join *j, const struct pattern *a, const struct pattern *b)
{
	size_t n = a->n_parts > b->n_parts ? a->n_parts : b->n_parts;
	struct pattern *p = pattern_new(
	    j->draft->arena, a->height + b->height, n, a->n_ways + b->n_ways);

	for (size_t i = 0; i < n; i++) {
		const struct part *x = i < a->n_parts ? &a->parts[i] : NULL;
		const struct part *y = i < b->n_parts ? &b->parts[i] : NULL;
		length width = x != NULL ? x->width : 0;

		pattern_add_part(
		    p, y != NULL && y->width > width ? y->width : width);
		add_stack(p, a, x);
		add_stack(p, b, y);
	}
	pattern_sort(j->m, p);
	return p;
}

/* What is saved, if they may be joined; else 0. */
static int64_t gain(const struct join *j, const struct pattern *a,
    const struct pattern *b, struct pattern **joined)
{
	int64_t saved;

	if (a->height + b->height > j->frame->whole)
		return 0;
	budget_spend(j->budget, 20 * (int64_t)(a->n_ways + b->n_ways));
	*joined = stack(j, a, b);
	if ((*joined)->used > j->frame->width ||
	    !pattern_fits(j->m, *joined, j->frame))
		return 0;
	saved = 1 + pattern_tears(j->m, a, j->frame) +
		pattern_tears(j->m, b, j->frame) -
		pattern_tears(j->m, *joined, j->frame);
	return saved > 0 ? saved : 0;
}

/* One more of `like` is joined to strip i, or the strip with which most is saved. */
static bool join_one(
    struct join *j, struct used *used, size_t i, const struct pattern *like)
{
	struct pattern *best = NULL, *joined = NULL;
	const struct pattern *was = NULL;
	int64_t most = 0;
	size_t with = 0;

	for (size_t k = i + 1; k < used->n_laid && !j->budget->stopped; k++) {
		int64_t saved;

		if (used->laid[k].run != used->laid[i].run ||
		    used->laid[k].pattern == was)
			continue;
		was = used->laid[k].pattern;
		saved = gain(j, used->laid[i].pattern, was, &joined);
		if (saved > most) {
			most = saved;
			best = joined;
			with = k;
		}
		if (was == like && saved > 0)
			break; /* equal strips are good enough */
	}
	if (best == NULL)
		return false;
	used->laid[i].pattern = best;
	for (size_t k = with; k + 1 < used->n_laid; k++)
		used->laid[k] = used->laid[k + 1];
	used->n_laid--;
	return true;
}

void draft_join(struct draft *draft, int64_t steps, int64_t *spent)
{
	struct plan_job job = {.steps = steps};
	struct budget budget = {.job = &job};
	struct join j = {.m = draft->model, .draft = draft, .budget = &budget};

	draft_tidy(draft);
	for (size_t i = 0; i < draft->n_used && j.m->stages == 3; i++) {
		struct used *used = &draft->used[i];

		j.frame = &j.m->frames[j.m->bins[used->bin].frame];
		for (size_t k = 0; k < used->n_laid; k++) {
			const struct pattern *like = used->laid[k].pattern;

			while (!budget.stopped && join_one(&j, used, k, like))
				continue;
		}
	}
	*spent = budget.steps;
}
