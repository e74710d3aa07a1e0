/* SPDX-License-Identifier: MIT */
/*
 * What pages show, loaded whole before the page is written.
 *
 *     load_papers(call, with_papers);
 *     ... with_papers: load_requests(call, 0, with_requests);
 *     ... with_requests: const struct loaded *l = loaded_of(call);
 *
 * Everything lives as long as the call.  Lists are loaded to their end: LOAD_MAX rows are more
 * than any studio's, and a list that is cut there says so (`more`).
 */
#ifndef WEB_LOAD_H
#define WEB_LOAD_H

#include "act_workshop.h"
#include "call.h"

#define LOAD_MAX 5000

struct loaded {
	struct paper_row *papers;
	size_t n_papers;
	struct stock_row *stock;
	size_t n_stock;
	struct workshop_row *workshops;
	size_t n_workshops;
	struct request_row *requests;
	size_t n_requests;
	struct member *members;
	size_t n_members;
	struct member *others; /* put aside by load_put_aside() */
	size_t n_others;
	struct plan_row *plans;
	size_t n_plans;
	struct invitation *invitations;
	size_t n_invitations;
	struct entry_row *entries;
	size_t n_entries;
	struct key *keys;
	size_t n_keys;
	struct session *sessions;
	size_t n_sessions;
	struct spoken *spoken;
	size_t n_spoken;
	bool enrolled; /* the caller takes part in call->workshop */
	bool more;     /* some list was cut */
	call_fn *next;
	int64_t of; /* what the load under way is about */
};

struct loaded *loaded_of(struct call *call);

void load_papers(struct call *call, call_fn *next);
/* paper_id 0: of every paper */
void load_stock(struct call *call, int64_t paper_id, call_fn *next);
/* member_id 0: all */
void load_workshops(struct call *call, int64_t member_id, call_fn *next);
/* of call->workshop; member_id 0: everybody's */
void load_requests(struct call *call, int64_t member_id, call_fn *next);
/* of call->workshop */
void load_enrolled(struct call *call, call_fn *next);
void load_is_enrolled(struct call *call, call_fn *next);
void load_plans(struct call *call, call_fn *next);
void load_invitations(struct call *call, call_fn *next);
void load_spoken(struct call *call, call_fn *next);
/* of call->workshop; member_id 0: everybody's */
void load_entries(struct call *call, int64_t member_id, call_fn *next);
/* members becomes others, so that both lists can be there. */
void load_put_aside(struct call *call);
/* of the studio */
void load_members(struct call *call, call_fn *next);
/* of one member */
void load_keys(struct call *call, int64_t member_id, call_fn *next);
void load_sessions(struct call *call, call_fn *next);

const struct paper_row *loaded_paper(const struct loaded *l, int64_t paper_id);
/* Is the paper in the workshop's list ("[1,2]")? */
bool workshop_has_paper(const struct workshop_row *workshop, int64_t paper_id);

#endif
