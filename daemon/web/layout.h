/* SPDX-License-Identifier: MIT */
/*
 * The problems of a plan and what came of them: made from rows, and read back from jobs.
 */
#ifndef WEB_LAYOUT_H
#define WEB_LAYOUT_H

#include "act_plan.h"
#include "call.h"

/*
 * The problem of one paper: one entry a request, in their order, named by the request's id; the
 * stock as it is.  behind (from the arena): {"requests":[..],"members":[..],"stock":[..]}.
 * The problem is freed with the call.
 */
struct problem *layout_problem(struct call *call,
    const struct request_row *requests, size_t n, const struct stock_row *stock,
    size_t n_stock, const char **behind);

/* Read back what a job holds; a fault of ours when it does not read. */
bool layout_read(struct call *call, const struct job_row *job,
    struct layout *out, struct err *err) MUST_USE;

/* The same without the plan, of a job in any state. */
bool layout_read_problem(struct call *call, const struct job_row *job,
    struct layout *out, struct err *err) MUST_USE;

/* Are the requests still the ones that were planned? */
bool layout_is_current(
    const struct layout *layout, const struct request_row *requests, size_t n);

typedef void layout_fn(void *ctx, const struct layout *layouts, size_t n);
/* Jobs of a plan that is done, read back; paper_id 0: all of them.  Ends the call when there is
 * nothing to read: ERR_CONFLICT while it is not done, ERR_MISSING for a paper it has not. */
void layout_load(struct call *call, const struct plan_row *plan,
    int64_t paper_id, layout_fn *fn, void *ctx);

#endif
