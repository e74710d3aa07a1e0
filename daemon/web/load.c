/* SPDX-License-Identifier: MIT */
/*
 * load.c - lists of the store, page after page until their end.
 *
 * Each list is one row of macro-made functions: the loop (ask, keep what came, ask again
 * after the last id) is the same for all and differs only in the question and the row's type.
 */
#include "load.h"

#include <stdlib.h>
#include <string.h>

#include "rows.h"

#define AT_ONCE 100

struct loaded *loaded_of(struct call *call)
{
	if (!call->state)
		call->state = call_alloc(call, sizeof(struct loaded));
	return call->state;
}

static struct loaded *load_begin(struct call *call, int64_t of, call_fn *next)
{
	struct loaded *l = loaded_of(call);

	l->next = next;
	l->of = of;
	return l;
}

/*
 * LIST(name, type, id, keep, ask): ask_NAME() asks for the rows after the last one that is
 * there, on_NAME() keeps what comes and asks again or goes on.  Each round copies what came
 * before it: quadratic, and fine for the fifty rounds that LOAD_MAX allows.
 */
#define LIST(name, type, id, keep, ASK)                                        \
	static store_rows_fn on_##name;                                        \
	static void ask_##name(struct call *call)                              \
	{                                                                      \
		struct loaded *l = loaded_of(call);                            \
		int64_t after = l->n_##name ? l->name[l->n_##name - 1].id : 0; \
		struct page page = {.after = after, .limit = AT_ONCE};         \
		int64_t studio = call->caller.studio_id;                       \
		ASK;                                                           \
	}                                                                      \
	static void on_##name(                                                 \
	    void *ctx, const void *rows, size_t n, const struct err *err)      \
	{                                                                      \
		struct call *call = ctx;                                       \
		struct loaded *l = loaded_of(call);                            \
		const type *row = rows;                                        \
		if (call_failed(call, err))                                    \
			return;                                                \
		type *all = arena_array(                                       \
		    call->arena, l->n_##name + n + 1, sizeof(type));           \
		if (l->n_##name)                                               \
			memcpy(all, l->name, l->n_##name * sizeof(type));      \
		for (size_t i = 0; i < n; i++)                                 \
			all[l->n_##name + i] = keep(call->arena, &row[i]);     \
		l->name = all;                                                 \
		l->n_##name += n;                                              \
		if (n == AT_ONCE && l->n_##name < LOAD_MAX) {                  \
			ask_##name(call);                                      \
			return;                                                \
		}                                                              \
		l->more = l->more || n == AT_ONCE;                             \
		l->next(call);                                                 \
	}

LIST(papers, struct paper_row, paper_id, row_keep_paper,
    store_papers(call->tx, studio, page, on_papers, call))
LIST(stock, struct stock_row, stock_id, row_keep_stock,
    store_stocks(call->tx, studio, l->of, page, on_stock, call))
LIST(workshops, struct workshop_row, workshop_id, row_keep_workshop,
    store_workshops(call->tx, studio, l->of, page, on_workshops, call))
LIST(requests, struct request_row, request_id, row_keep_request,
    store_requests(call->tx, studio, call->workshop.workshop_id, l->of, page,
	on_requests, call))
LIST(members, struct member, member_id, row_keep_member,
     if (l->of) store_enrolled(call->tx, studio, l->of, page, on_members, call);
     else store_members(call->tx, studio, page, on_members, call))
LIST(plans, struct plan_row, plan_id, row_keep_plan,
    store_plans(
	call->tx, studio, call->workshop.workshop_id, page, on_plans, call))
LIST(invitations, struct invitation, invitation_id, row_keep_invitation,
    store_invitations(call->tx, studio, call->workshop.workshop_id, page,
	on_invitations, call))
LIST(entries, struct entry_row, entry_id, row_keep_entry,
    store_entries(call->tx, studio, call->workshop.workshop_id, l->of, -1, page,
	on_entries, call))
LIST(keys, struct key, key_id, row_keep_key,
    store_keys(call->tx, studio, l->of, page, on_keys, call))
LIST(sessions, struct session, session_id, row_keep_session,
    store_sessions(call->tx, studio, l->of, page, on_sessions, call))

void load_papers(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	ask_papers(call);
}

void load_stock(struct call *call, int64_t paper_id, call_fn *next)
{
	load_begin(call, paper_id, next);
	ask_stock(call);
}

void load_workshops(struct call *call, int64_t member_id, call_fn *next)
{
	load_begin(call, member_id, next);
	ask_workshops(call);
}

void load_requests(struct call *call, int64_t member_id, call_fn *next)
{
	load_begin(call, member_id, next);
	ask_requests(call);
}

void load_enrolled(struct call *call, call_fn *next)
{
	load_begin(call, call->workshop.workshop_id, next);
	ask_members(call);
}

void load_put_aside(struct call *call)
{
	struct loaded *l = loaded_of(call);

	l->others = l->members;
	l->n_others = l->n_members;
	l->members = NULL;
	l->n_members = 0;
}

void load_members(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	ask_members(call);
}

void load_plans(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	ask_plans(call);
}

void load_invitations(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	ask_invitations(call);
}

void load_entries(struct call *call, int64_t member_id, call_fn *next)
{
	load_begin(call, member_id, next);
	ask_entries(call);
}

void load_keys(struct call *call, int64_t member_id, call_fn *next)
{
	load_begin(call, member_id, next);
	ask_keys(call);
}

void load_sessions(struct call *call, call_fn *next)
{
	load_begin(call, call->caller.member_id, next);
	ask_sessions(call);
}

static void on_is_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct loaded *l = loaded_of(call);

	(void)rows;
	if (call_failed(call, err))
		return;
	l->enrolled = n > 0;
	l->next(call);
}

void load_is_enrolled(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	store_is_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->caller.member_id, on_is_enrolled,
	    call);
}

static void on_spoken(struct call *call, const struct spoken *spoken, size_t n)
{
	struct loaded *l = loaded_of(call);

	l->spoken = arena_array(call->arena, n + 1, sizeof(*spoken));
	l->n_spoken = n;
	for (size_t i = 0; i < n; i++) {
		l->spoken[i] = spoken[i];
		l->spoken[i].row = row_keep_spoken(call->arena, &spoken[i].row);
	}
	l->next(call);
}

void load_spoken(struct call *call, call_fn *next)
{
	load_begin(call, 0, next);
	act_workshop_spoken(call, on_spoken);
}

const struct paper_row *loaded_paper(const struct loaded *l, int64_t paper_id)
{
	for (size_t i = 0; i < l->n_papers; i++)
		if (l->papers[i].paper_id == paper_id)
			return &l->papers[i];
	return NULL;
}

bool workshop_has_paper(const struct workshop_row *workshop, int64_t paper_id)
{
	for (const char *p = workshop->papers; p && *p;) {
		char *rest;

		p += strcspn(p, "0123456789");
		if (*p == '\0')
			break;
		if (strtoll(p, &rest, 10) == paper_id)
			return true;
		p = rest;
	}
	return false;
}
