/* SPDX-License-Identifier: MIT */
/*
 * What the requests of a workshop may cost, before it is closed.  Actions as in act_request.h.
 *
 * Estimates are made by workers like plans, a job a paper; asking again begins those anew
 * whose requests have changed, and leaves the others.  Showing changes nothing and says
 * whether what is shown is still about the requests as they are.
 */
#ifndef WEB_ACT_ESTIMATE_H
#define WEB_ACT_ESTIMATE_H

#include "call.h"
#include "reckon.h"

enum estimate_state {
	ESTIMATE_NONE, /* of some paper nobody has asked for one */
	ESTIMATE_WORKING,
	ESTIMATE_READY,
	ESTIMATE_FAILED,
};

struct estimate_view {
	enum estimate_state state;
	bool current; /* about the requests as they are now */
	const struct reckoning *reckoning;  /* when it is ready; else NULL */
	const struct request_row *requests; /* of the workshop, by id */
	size_t n_requests;
	const struct paper_row *papers; /* those asked for */
	size_t n_papers;
};
typedef void act_estimate_fn(
    struct call *call, const struct estimate_view *estimate);

/* Of call->workshop. */
void act_estimate(struct call *call, act_estimate_fn *done);
/* The same, locked and open: begin what is not under way or done. */
void act_estimate_ask(struct call *call, act_estimate_fn *done);

/* "none", "working", "ready", "failed" */
const char *estimate_state_name(enum estimate_state state);
/* The finished size that goes with a hint's torn size. */
void estimate_finished(const struct request_row *request,
    const struct reckon_hint *hint, length *across, length *along);

#endif
