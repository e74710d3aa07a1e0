/* SPDX-License-Identifier: MIT */
/*
 * Plans: from the requests of a closed workshop to the tear sheet.  Actions as in
 * act_request.h.
 */
#ifndef WEB_ACT_PLAN_H
#define WEB_ACT_PLAN_H

#include "call.h"
#include "plan.h"
#include "problem.h"
#include "sheet.h"

struct plan_view { /* a plan with its jobs and what they add up to */
	struct plan_row row;
	const struct job_row *jobs; /* without problem, behind and result */
	size_t n_jobs;
	bool has_totals; /* every job is done */
	struct totals totals;
	struct proven proven;
};
typedef void act_plan_fn(struct call *call, const struct plan_view *plan);

/* call->workshop, locked. */
void act_plan_add(struct call *call, act_plan_fn *done);
/* call->plan, its workshop locked. */
void act_plan_accept(struct call *call, act_plan_fn *done);
void act_plan_cancel(struct call *call, act_plan_fn *done);
/* Load the jobs of a plan (call->plan, or any row of the same studio). */
void act_plan_show(
    struct call *call, const struct plan_row *plan, act_plan_fn *done);

struct layout { /* one paper of a plan, read back from its job */
	const struct job_row *job;
	struct problem *problem;
	struct plan *plan;
	/* by index of problem->pieces and problem->stock */
	const int64_t *requests, *members, *stock;
};
typedef void act_layout_fn(
    struct call *call, const struct layout *layouts, size_t n);
/* The layouts of call->plan; paper_id 0: all.  ERR_CONFLICT while there are none.  They die
 * with the call. */
void act_plan_layout(struct call *call, int64_t paper_id, act_layout_fn *done);

/* Everything the prints need, of call->plan; lives as long as the call. */
typedef void act_sheet_fn(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids /* by index of input->members */);
struct sheet_wish { /* how it is to be printed; the rest is the studio's */
	enum sheet_page page;
	bool large;
	const char *language;
};
/* As the studio has it. */
struct sheet_wish sheet_wish(const struct call *call);
void act_plan_sheet(
    struct call *call, const struct sheet_wish *wish, act_sheet_fn *done);

const char *plan_state_name(int64_t state);
const char *job_state_name(int64_t state);
const char *workshop_state_name(int64_t state);

#endif
