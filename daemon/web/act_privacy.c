/* SPDX-License-Identifier: MIT */
/*
 * act_privacy.c - erasing a member.
 *
 * Name, contact, sign-ins, keys and notes go; what the books and plans need stays under the
 * number, and the answer says so.  The database does it in one statement (member_erase of
 * sql/015_privacy.sql), which the regular sweep uses as well; here it is asked what stands in
 * the way, and gathered what is told afterwards.
 */
#include "act_privacy.h"

#include <string.h>

#include "log.h"
#include "rows.h"

/* They fit beside the table and the count on a terminal of 80 columns. */
#define BOOKS "the books, under the number, as long as bookkeeping law asks"
#define PLANS "what a plan was made of, under the number, without a note"
#define NUMBERS "it tells by numbers what happened; no name is in it"

static const struct {
	const char *part, *why;
} whys[] = {
    {"account", BOOKS},
    {"booking", BOOKS},
    {"enrolment", PLANS},
    {"event", NUMBERS},
    {"invoice", BOOKS},
    {"key", "a booking names it; it has no name and opens nothing"},
    {"ledger_entry", BOOKS},
    {"member", "the number itself, without name and contact"},
    {"plan", PLANS},
    {"request", PLANS},
    {"settlement", BOOKS},
    {"share", BOOKS},
    {"stock", BOOKS},
};

const char *kept_why(const char *part)
{
	for (size_t i = 0; i < sizeof(whys) / sizeof(whys[0]); i++)
		if (strcmp(whys[i].part, part) == 0)
			return whys[i].why;
	return NUMBERS;
}

struct erasing {
	struct call *call;
	struct erasure erasure;
	act_erasure_fn *done;
};

static struct part_row *keep_parts(
    struct call *call, const struct part_row *rows, size_t n)
{
	struct part_row *out = arena_array(call->arena, n + 1, sizeof(*out));

	for (size_t i = 0; i < n; i++) {
		out[i].part = arena_strdup(call->arena, rows[i].part);
		out[i].count = rows[i].count;
	}
	return out;
}

static void on_noted(struct call *call)
{
	struct erasing *e = call->act;

	e->done(call, &e->erasure);
}

static void on_mentions(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct erasing *e = ctx;
	struct call *call = e->call;

	if (call_failed(call, err))
		return;
	e->erasure.mentions = keep_parts(call, rows, n);
	e->erasure.n_mentions = n;
	call_event(
	    call, "member-erased", 0, call->member.member_id, NULL, on_noted);
}

static void on_parts(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct erasing *e = ctx;
	struct call *call = e->call;

	if (call_failed(call, err))
		return;
	e->erasure.kept = keep_parts(call, rows, n);
	e->erasure.n_kept = n;
	if (call->member.erased_at)
		e->done(call, &e->erasure);
	else
		store_mentions(call->tx, call->caller.studio_id,
		    call->member.name, call->member.contact, on_mentions, e);
}

static void on_member(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct erasing *e = ctx;
	struct call *call = e->call;

	(void)n;
	if (call_failed(call, err))
		return;
	e->erasure.member = row_keep_member(call->arena, rows);
	store_member_parts(call->tx, call->caller.studio_id,
	    call->member.member_id, on_parts, e);
}

static void on_erased(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct erasing *e = ctx;
	struct call *call = e->call;

	(void)n;
	if (call_failed(call, err))
		return;
	e->erasure.went = *(const struct erased_row *)rows;
	e->erasure.went.erased_at =
	    arena_strdup(call->arena, e->erasure.went.erased_at);
	if (!call->member.erased_at)
		log_event(LOG_INFO, "member-erased",
		    "req=%s peer=%s studio=%lld by=%lld member=%lld",
		    http_id(call->req), http_peer(call->req),
		    (long long)call->caller.studio_id,
		    (long long)call->caller.member_id,
		    (long long)call->member.member_id);
	store_member(call->tx, call->caller.studio_id, call->member.member_id,
	    on_member, e);
}

static void erase(struct erasing *e)
{
	struct call *call = e->call;

	store_member_erase(call->tx, call->caller.studio_id,
	    call->member.member_id, on_erased, e);
}

static void on_held(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct erasing *e = ctx;
	const struct held_row *held = rows;
	char more[40] = "";

	if (call_failed(e->call, err))
		return;
	if (n == 0) {
		erase(e);
		return;
	}
	if (n > 1)
		snprintf(more, sizeof(more), "; and %zu more", n - 1);
	call_refuse(e->call, ERR_CONFLICT, held->hint,
	    "member %lld cannot be erased yet: %s%s",
	    (long long)e->call->member.member_id, held->what, more);
}

void act_member_erase(struct call *call, act_erasure_fn *done)
{
	struct erasing *e = call_alloc(call, sizeof(*e));

	call->act = e;
	e->call = call;
	e->done = done;
	if (call->member.erased_at)
		erase(e);
	else
		store_member_held(call->tx, call->caller.studio_id,
		    call->member.member_id, on_held, e);
}
