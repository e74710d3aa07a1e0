/* SPDX-License-Identifier: MIT */
/*
 * act_join.c - invitations made, shown, revoked, followed.
 *
 * Whatever is wrong with a code, the answer is the same 404; only an address that shows too
 * many bad ones hears something else.  A join that is repeated gets its first answer again
 * even when the invitation has ended since, so the Idempotency-Key is looked at before the
 * invitation's end is.
 */
#include <string.h>

#include "act_people.h"
#include "act_plan.h"
#include "act_workshop.h"
#include "call_inner.h"
#include "json_in.h"
#include "log.h"
#include "rows.h"
#include "secret.h"
#include "text.h"
#include "web.h"

struct inviting {
	struct call *call;
	struct invitation row;
	char token[TOKEN_TEXT], code[CODE_TEXT];
	struct join_in in;
	struct joined joined;
	char key[WEB_KEY_TEXT];
	act_invitation_fn *done;
	act_join_fn *join_done;
	call_fn *plain_done;
};

static struct inviting *inviting_new(struct call *call)
{
	struct inviting *i = call_alloc(call, sizeof(*i));

	i->call = call;
	call->act = i;
	return i;
}

/* ---- made and revoked ---- */

static void on_add_noted(struct call *call)
{
	struct inviting *i = call->act;

	i->done(call, &i->row, i->code, i->token);
}

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(
		    call, ERR_INTERNAL, NULL, "an invitation was not written");
		return;
	}
	i->row = row_keep_invitation(call->arena, rows);
	call_event(call, "invitation-added", i->row.workshop_id, 0,
	    json_pack(
		"{s: I}", "invitation_id", (json_int_t)i->row.invitation_id),
	    on_add_noted);
}

void act_invitation_add(struct call *call, const char *expires_at,
    int64_t uses_max, act_invitation_fn *done)
{
	struct inviting *i = inviting_new(call);
	unsigned char hash[SECRET_SIZE], code_hash[SECRET_SIZE];
	char plain[TOKEN_TEXT];

	i->done = done;
	if (call->workshop.state != WORKSHOP_OPEN) {
		call_refuse(call, ERR_CONFLICT, NULL,
		    "workshop %lld is %s and cannot be joined",
		    (long long)call->workshop.workshop_id,
		    workshop_state_name(call->workshop.state));
		return;
	}
	if (uses_max < 1 || uses_max > INVITATION_USES_MAX)
		call_fault(call, "/uses_max",
		    call_printf(call, "Give 1 to %d.", INVITATION_USES_MAX),
		    "uses_max %lld is out of range", (long long)uses_max);
	if (call_is_faulty(call))
		return;
	i->row = (struct invitation){
	    .studio_id = call->caller.studio_id,
	    .workshop_id = call->workshop.workshop_id,
	    .expires_at =
		expires_at == NULL ? call->workshop.closes_at : expires_at,
	    .uses_max = uses_max,
	};
	token_make(i->token);
	code_make(i->code);
	code_read(i->code, plain);
	secret_hash(i->token, hash);
	secret_hash(plain, code_hash);
	store_invitation_add(call->tx, &i->row, hash, code_hash, on_added, i);
}

static void on_revoke_noted(struct call *call)
{
	struct inviting *i = call->act;

	i->plain_done(call);
}

static void on_revoked(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0) /* revoked before */
		i->plain_done(call);
	else
		call_event(call, "invitation-revoked",
		    call->invitation.workshop_id, 0,
		    json_pack("{s: I}", "invitation_id",
			(json_int_t)call->invitation.invitation_id),
		    on_revoke_noted);
}

void act_invitation_revoke(struct call *call, call_fn *done)
{
	struct inviting *i = inviting_new(call);

	i->plain_done = done;
	store_invitation_revoke(call->tx, call->caller.studio_id,
	    call->invitation.invitation_id, on_revoked, i);
}

/* ---- found by its code ---- */

static void refuse_code(struct call *call)
{
	char peer[LOG_VALUE_MAX];

	log_event(LOG_WARN, "code-refused", "req=%s peer=%s",
	    http_id(call->req), log_value(peer, http_peer(call->req)));
	if (call_count_failure(call)) {
		call_field(call, "Retry-After", "60");
		call_refuse(call, ERR_LIMIT, "Wait a minute.",
		    "too many bad codes came from this address");
		return;
	}
	call_refuse(call, ERR_MISSING,
	    "Ask the instructor for a new invitation.",
	    "there is no such invitation");
}

static void found(struct inviting *i);

static void on_workshop(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;

	if (call_failed(i->call, err))
		return;
	if (n == 0) {
		refuse_code(i->call);
		return;
	}
	i->call->workshop = row_keep_workshop(i->call->arena, rows);
	found(i);
}

static void on_code(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		refuse_code(call);
		return;
	}
	call->invitation = row_keep_invitation(call->arena, rows);
	/* A member of another studio cannot take part here. */
	if (call->caller.member_id != 0 &&
	    call->caller.studio_id != call->invitation.studio_id) {
		refuse_code(call);
		return;
	}
	call->caller.studio_id = call->invitation.studio_id;
	/* Not locked: who joins while it closes just takes part, and a lock taken after the
	 * invitation's would cross with that of a revocation. */
	store_workshop(call->tx, call->invitation.studio_id,
	    call->invitation.workshop_id, on_workshop, i);
}

static void look_for(struct inviting *i, const char *typed)
{
	struct call *call = i->call;
	char plain[TOKEN_TEXT];
	unsigned char hash[SECRET_SIZE];

	if (!code_read(typed == NULL ? "" : typed, plain)) {
		refuse_code(call);
		return;
	}
	if (call->secret == NULL)
		call->secret = arena_strdup(call->arena, plain);
	secret_hash(plain, hash);
	store_invitation_by_code(call->tx, hash, on_code, i);
}

void act_invitation_show(struct call *call, const char *code, call_fn *done)
{
	struct inviting *i = inviting_new(call);

	i->plain_done = done;
	look_for(i, code);
}

/* ---- followed ---- */

static void on_joined(struct call *call)
{
	struct inviting *i = call->act;

	i->joined.workshop = call->workshop;
	i->join_done(call, &i->joined);
}

static void on_key(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	(void)rows;
	(void)n;
	if (call_failed(call, err))
		return;
	i->joined.key = i->key;
	call_event(call, "member-joined", call->workshop.workshop_id,
	    i->joined.member.member_id,
	    json_pack("{s: I}", "invitation_id",
		(json_int_t)call->invitation.invitation_id),
	    on_joined);
}

static void give_key(struct inviting *i)
{
	struct call *call = i->call;
	unsigned char hash[SECRET_SIZE];
	struct key key = {
	    .studio_id = call->invitation.studio_id,
	    .member_id = i->joined.member.member_id,
	    .name = "invitation",
	};

	web_key_make(i->key, hash);
	store_key_add(call->tx, &key, hash, on_key, i);
}

static void on_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;
	bool is_new = n > 0 && *(const bool *)rows;

	if (call_failed(call, err))
		return;
	if (call->caller.name == NULL && i->in.want_key)
		give_key(i);
	else if (is_new)
		call_event(call, "member-joined", call->workshop.workshop_id,
		    i->joined.member.member_id,
		    json_pack("{s: I}", "invitation_id",
			(json_int_t)call->invitation.invitation_id),
		    on_joined);
	else
		on_joined(call);
}

static void on_used(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0) {
		refuse_code(call);
		return;
	}
	store_enrolment_add(call->tx, call->invitation.studio_id,
	    call->workshop.workshop_id, i->joined.member.member_id, on_enrolled,
	    i);
}

static void use(struct inviting *i)
{
	struct call *call = i->call;

	store_invitation_use(call->tx, call->invitation.studio_id,
	    call->invitation.invitation_id, on_used, i);
}

static void on_member(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_INTERNAL, NULL, "a member was not found");
		return;
	}
	i->joined.member = row_keep_member(call->arena, rows);
	if (call->caller.member_id == 0)
		call->caller.member_id =
		    i->joined.member.member_id; /* who did it, for events */
	use(i);
}

static void on_is_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err);

static void join(struct call *call)
{
	struct inviting *i = call->act;
	struct member member = {
	    .studio_id = call->invitation.studio_id,
	    .name = i->in.name,
	    .contact = i->in.contact == NULL ? "" : i->in.contact,
	    .roles = ROLE_STUDENT,
	    .guardian = i->in.guardian,
	    .active = true,
	};

	if (!call->invitation.good)
		refuse_code(call);
	else if (call->caller.member_id != 0)
		store_is_enrolled(call->tx, call->invitation.studio_id,
		    call->workshop.workshop_id, call->caller.member_id,
		    on_is_enrolled, i);
	else
		store_member_add(call->tx, &member, on_member, i);
}

/* Who takes part already has nothing to use up. */
static void on_myself(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;

	if (call_failed(i->call, err))
		return;
	if (n > 0)
		i->joined.member = row_keep_member(i->call->arena, rows);
	on_joined(i->call);
}

static void on_is_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct inviting *i = ctx;
	struct call *call = i->call;

	(void)rows;
	if (!call_failed(call, err))
		store_member(call->tx, call->caller.studio_id,
		    call->caller.member_id, n > 0 ? on_myself : on_member, i);
}

static void found(struct inviting *i)
{
	struct call *call = i->call;

	if (i->join_done == NULL) { /* only shown */
		if (call->invitation.good)
			i->plain_done(call);
		else
			refuse_code(call);
		return;
	}
	if (call->inner->once_key != NULL && !call->inner->claimed)
		once_claim(call,
		    call_printf(call, "invitation:%lld",
			(long long)call->invitation.invitation_id),
		    join);
	else
		join(call);
}

static void check_name(struct call *call, const struct join_in *in)
{
	const char *name = in->name == NULL ? "" : in->name;

	if (name[strspn(name, " ")] == '\0')
		call_fault(call, "/name", "Give the name you go by in class.",
		    "name is empty");
	else if (utf8_length(name) > NAME_MAX_SIGNS)
		call_fault(call, "/name",
		    call_printf(
			call, "Use at most %d characters.", NAME_MAX_SIGNS),
		    "name is too long");
}

void act_join(struct call *call, const struct join_in *in, act_join_fn *done)
{
	struct inviting *i = inviting_new(call);

	i->in = *in;
	i->join_done = done;
	if (call->caller.member_id == 0)
		check_name(call, in);
	if (!call_is_faulty(call))
		look_for(i, in->code);
}
