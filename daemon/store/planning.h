/* SPDX-License-Identifier: MIT */
/*
 * Questions about plans and the jobs that make them.
 *
 * A plan of a workshop has one job a paper, since two papers never share a roll.  A job
 * holds the problem (JSON of docs/plan.md) with the request and member behind each of its
 * pieces and the stock behind each of its stock entries, and later the result.
 *
 * A worker takes a job with a lease and an attempt number; whatever it writes names both,
 * so that one who comes late writes nothing.  After three attempts a job has failed.
 */
#ifndef STORE_PLANNING_H
#define STORE_PLANNING_H

#include "measure.h"
#include "store.h"

enum plan_state {
	PLAN_WORKING, /* some job is queued or running */
	PLAN_READY,   /* every job is done */
	PLAN_FAILED,  /* a job has failed */
	PLAN_CANCELLED,
	PLAN_ACCEPTED, /* kept for ever in accepted_plan */
	PLAN_SUPERSEDED, /* was accepted; another is, or the workshop opened again */
};

enum job_state { JOB_QUEUED, JOB_RUNNING, JOB_DONE, JOB_FAILED, JOB_CANCELLED };

#define JOB_ATTEMPTS 3
#define JOB_CHANNEL                                                            \
	"plan_job" /* NOTIFY with the job id when one is queued or cancelled */

struct plan_row {
	int64_t studio_id, plan_id, workshop_id;
	int64_t number;         /* 1, 2, ... within the workshop */
	int64_t state;          /* enum plan_state */
	const char *check_code; /* short, of the layout; "" until ready */
	const char *created_at, *accepted_at;
	int64_t created_by;
	int64_t version;
};

struct job_row {
	int64_t studio_id, job_id, plan_id, paper_id; /* plan 0: an estimate */
	const char *paper_name;
	int64_t state;       /* enum job_state */
	int64_t attempt;     /* the number of this taking: only grows */
	int64_t faults;      /* attempts that ended badly so far */
	bool cancel;         /* asked to stop */
	const char *problem; /* JSON */
	const char *
	    behind; /* JSON: {"requests":[..],"members":[..],"stock":[..]}, by index */
	const char *result; /* JSON of the plan, or NULL */
	const char *reason; /* why it failed, or NULL */
	/* progress: the best plan so far and the bounds; -1 where not known yet */
	int64_t best_rolls, best_price_minor, best_length_u;
	int64_t bound_rolls, bound_price_minor, bound_length_u;
	int64_t steps;
	int64_t
	    wait_ms; /* for store_job_end(JOB_QUEUED): not taken before so long */
};

/* struct plan_row */
void store_plan_add(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    int64_t created_by, store_rows_fn *fn, void *ctx);
void store_plans(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    struct page page, store_rows_fn *fn, void *ctx);
void store_plan(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    store_rows_fn *fn, void *ctx);
/* READY -> ACCEPTED: copies the jobs' problems and results into accepted_plan, which nobody can
 * change; ACCEPTED -> SUPERSEDED; WORKING -> CANCELLED (its jobs with it).  No row when it was
 * not in `from`. */
void store_plan_enter(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    enum plan_state from, enum plan_state to, int64_t by_member,
    store_rows_fn *fn, void *ctx);

/* struct job_row; announces it on JOB_CHANNEL at commit */
void store_job_add(struct store_tx *tx, const struct job_row *job,
    store_rows_fn *fn, void *ctx);
/* Without problem and result unless whole is true. */
void store_jobs(struct store_tx *tx, int64_t studio_id, int64_t plan_id,
    bool whole, store_rows_fn *fn, void *ctx);
/* Jobs of plans queued or running in the studio: one int64_t. */
void store_jobs_waiting(
    struct store_tx *tx, int64_t studio_id, store_rows_fn *fn, void *ctx);

/* What the requests of an open workshop may cost: a job without a plan, one a paper.  An
 * older one of that paper begins anew, whatever it was doing.  struct job_row */
void store_estimate_put(struct store_tx *tx, int64_t workshop_id,
    const struct job_row *job, store_rows_fn *fn, void *ctx);
/* struct job_row, whole, by paper */
void store_estimates(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, store_rows_fn *fn, void *ctx);

/* For workers: take one job, oldest first but fairly over studios, skipping those another holds:
 * queued, or running with a lease that ran out.  struct job_row, 0 or 1.  A job whose attempts
 * are used up becomes FAILED instead, with a reason, and is not returned. */
void store_job_take(struct store_tx *tx, const char *worker, int lease_seconds,
    store_rows_fn *fn, void *ctx);
/* Lengthen the lease and write the progress; struct job_row (without texts), or no row when the
 * job is no longer this attempt's.  Look at `cancel` in it. */
void store_job_beat(struct store_tx *tx, const struct job_row *job,
    int lease_seconds, store_rows_fn *fn, void *ctx);
/* End: DONE with result, FAILED with reason, CANCELLED; QUEUED with a reason after an attempt that
 * ended badly (FAILED instead when it was the third), without one to give it back uncounted.
 * Names job and attempt; no row when it came too late.  Settles the plan's state and check
 * code (its jobs' codes, joined by "-" in the order of papers) when it was the last. */
void store_job_end(struct store_tx *tx, const struct job_row *job,
    enum job_state end, const char *check_code, store_rows_fn *fn, void *ctx);

#endif
