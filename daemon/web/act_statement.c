/* SPDX-License-Identifier: MIT */
/*
 * act_statement.c - what a member reads about their share: requests, entries, balance.
 */
#include "act_money.h"

#include <string.h>

#include "counting.h"
#include "rows.h"

struct stating {
	struct call *call;
	struct counting *counting;
	struct statement statement;
	act_statement_fn *statement_done;
};

static struct stating *stating_new(struct call *call)
{
	struct stating *d = call_alloc(call, sizeof(*d));

	d->call = call;
	call->act = d;
	return d;
}

#define STATEMENT_ROWS 10000

/* What was charged is told as it was reckoned then, whatever came in since. */
static const struct share_result *result_of(
    struct stating *d, struct shares *shares)
{
	const struct settlement_row *last = &d->counting->last;
	struct share_result *result = NULL;

	d->statement.estimate = last->number == 0;
	if (last->number > 0 && last->derivation != NULL &&
	    share_result_read(last->derivation, strlen(last->derivation),
		d->call->arena, &result, NULL))
		return result;
	return shares->result;
}

static void on_counted_to_state(void *ctx, struct shares *shares)
{
	struct stating *d = ctx;
	struct statement *s = &d->statement;

	s->papers = shares->papers;
	s->n_papers = shares->n_papers;
	for (size_t i = 0; i < shares->n_items; i++) {
		if (shares->items[i].member_id != d->call->member.member_id)
			continue;
		s->share = shares->items[i];
		s->has_share = true;
	}
	s->result = result_of(d, shares);
	d->statement_done(d->call, s);
}

static void on_entries(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct stating *d = ctx;
	struct call *call = d->call;
	const struct entry_row *entries = rows;
	struct entry_row *kept = NULL;
	struct statement *s = &d->statement;

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++) {
		if (entries[i].settlement_id != 0)
			s->charged_minor += entries[i].amount_minor;
		else
			s->paid_minor += entries[i].amount_minor;
		kept[s->n_entries++] = row_keep_entry(call->arena, &entries[i]);
	}
	s->entries = kept;
	if (call->workshop.accepted_plan_id != 0)
		d->counting = count_shares(call, on_counted_to_state, d);
	else
		d->statement_done(call, s);
}

static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct stating *d = ctx;
	struct call *call = d->call;
	const struct request_row *requests = rows;
	struct request_row *kept = NULL;
	struct page all = {.after = 0, .limit = STATEMENT_ROWS};

	if (call_failed(call, err))
		return;
	kept = arena_array(call->arena, n + 1, sizeof(*kept));
	for (size_t i = 0; i < n; i++)
		kept[i] = row_keep_request(call->arena, &requests[i]);
	d->statement.requests = kept;
	d->statement.n_requests = n;
	store_entries(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, -1, all,
	    on_entries, d);
}

static void on_takes_part(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct stating *d = ctx;
	struct call *call = d->call;
	struct page all = {.after = 0, .limit = STATEMENT_ROWS};

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	store_requests(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, all,
	    on_requests, d);
}

static void on_workshop(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct stating *d = ctx;
	struct call *call = d->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
		return;
	}
	call->workshop = row_keep_workshop(call->arena, rows);
	d->statement.workshop = call->workshop;
	store_is_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, on_takes_part,
	    d);
}

bool act_statement_query(
    struct call *call, const char *const parts[], int64_t *workshop_id)
{
	*workshop_id =
	    call_query_number(call, "workshop", 1, INT64_MAX / 16, 0);
	call_query_only(call, parts);
	if (*workshop_id == 0 && call->n_faults == 0)
		call_fault(call, "?workshop", "Name it: ?workshop=ID.",
		    "the workshop is missing");
	return !call_is_faulty(call);
}

void act_own_statement(struct call *call, act_statement_fn *done)
{
	struct stating *d = stating_new(call);
	struct page all = {.after = 0, .limit = STATEMENT_ROWS};

	d->statement_done = done;
	d->statement.workshop = call->workshop;
	store_requests(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, call->member.member_id, all,
	    on_requests, d);
}

void act_statement(
    struct call *call, int64_t workshop_id, act_statement_fn *done)
{
	struct stating *d = stating_new(call);

	d->statement_done = done;
	store_workshop(
	    call->tx, call->caller.studio_id, workshop_id, on_workshop, d);
}
