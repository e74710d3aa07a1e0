/* SPDX-License-Identifier: MIT */
/*
 * make.c - from a problem to a plan: the order of the methods.
 *
 * A whole plan and a valid bound come first; each later step may only better them.
 * Between steps the caller's budget and its progress callback are looked at, and when
 * either says stop, the best so far is what is returned.
 */
#include "plan.h"

#include <stdlib.h>

#include "bounds.h"
#include "fill.h"

bool plan_make(const struct problem *problem, const struct plan_job *job,
    struct plan **out, struct err *err)
{
	struct model *model = NULL;
	struct filler filler;
	struct draft *draft = NULL;
	struct worth *worth;
	struct bounds bounds = {0};

	(void)job;
	*out = NULL;
	if (!problem_check(problem, err) || !model_new(problem, &model, err))
		return false;
	filler_init(&filler, model);
	draft = fill_plan(&filler);
	*out = draft_finish(draft);
	worth = worth_new(model, model->arena);
	worth_by_area(model, worth);
	bounds_raise(model, worth, &(*out)->totals, &bounds);
	bounds_prove(*out, &bounds);
	(*out)->steps = filler.steps;
	draft_delete(draft);
	filler_free(&filler);
	model_delete(model);
	return true;
}
