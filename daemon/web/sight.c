/* SPDX-License-Identifier: MIT */
/*
 * sight.c - the object of a path: is it there, does the caller see it, may the caller do this.
 *
 * The one place that decides on rights beyond the bare role.  What a caller may not see is
 * answered exactly like what does not exist.  A call that writes locks the workshop before
 * anything that belongs to it, so that two calls can never wait for each other.
 *
 * Who sees what, in a studio: papers and stock everybody; members, workshops, requests, plans
 * those who run the studio (instructor, treasurer, owner), and of their own everybody; keys
 * the owner and whose they are.
 */
#include "call_inner.h"
#include "people.h"
#include "rows.h"

#define RUNS_THE_STUDIO (ROLE_INSTRUCTOR | ROLE_TREASURER | ROLE_OWNER)

struct sight {
	struct call *call;
	call_fn *next;
	int64_t workshop_id; /* of the object; 0: none */
	bool reread;         /* the object is loaded again under the lock */
};

static void look_again(struct sight *s);
static void look_at_workshop(struct sight *s);

static void refuse_missing(struct call *call)
{
	call_refuse(call, ERR_MISSING, NULL, "there is no such thing");
}

/* False when the call has ended: no such row, or no answer. */
static bool is_there(struct sight *s, size_t n, const struct err *err)
{
	if (call_failed(s->call, err))
		return false;
	if (n == 0)
		refuse_missing(s->call);
	return n > 0;
}

/* ---- the decision ---- */

static bool is_mine(const struct call *call)
{
	int64_t me = call->caller.member_id;

	switch (call->route->object) {
	case OBJECT_MEMBER:
		return call->member.member_id == me ||
		       (call->route->flags & ROUTE_PAYER &&
			   call->member.payer_id == me);
	case OBJECT_KEY:
		return call->key.member_id == me;
	case OBJECT_WORKSHOP:
		return call->enrolled;
	case OBJECT_REQUEST:
		return call->request.member_id == me;
	case OBJECT_PLAN:
		return call->enrolled && call->plan.state == PLAN_ACCEPTED;
	case OBJECT_SESSION:
		return call->session.member_id == me;
	default:
		return false;
	}
}

static bool is_seen(const struct call *call, bool mine)
{
	switch (call->route->object) {
	case OBJECT_KEY:
		return mine || call_has_role(call, ROLE_OWNER);
	case OBJECT_SESSION:
		return mine;
	case OBJECT_PAPER:
	case OBJECT_STOCK:
		return true;
	default:
		return mine || call_has_role(call, RUNS_THE_STUDIO);
	}
}

static void decide(struct sight *s)
{
	struct call *call = s->call;
	const struct route *route = call->route;
	bool mine = is_mine(call);
	bool may_all = call_has_role(call, route->all);
	bool may_own = mine && call_has_role(call, route->own);

	if (!is_seen(call, mine)) {
		refuse_missing(call);
		return;
	}
	if (!may_all && !may_own) {
		call_refuse(call, ERR_DENIED,
		    "Ask the studio's owner for the role it needs.",
		    "none of your roles may do this");
		return;
	}
	call->own_only = !may_all;
	s->next(call);
}

/* ---- the workshop ---- */

static void on_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	(void)rows;
	if (call_failed(s->call, err))
		return;
	s->call->enrolled = n > 0;
	decide(s);
}

/* Taking part matters only to those whose right depends on it. */
static void look_at_enrolment(struct sight *s)
{
	struct call *call = s->call;
	enum object object = call->route->object;

	if ((object == OBJECT_WORKSHOP || object == OBJECT_PLAN) &&
	    !call_has_role(call, call->route->all) &&
	    call->caller.member_id != 0)
		store_is_enrolled(call->tx, call->caller.studio_id,
		    s->workshop_id, call->caller.member_id, on_enrolled, s);
	else
		decide(s);
}

static void on_workshop(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (call_failed(s->call, err))
		return;
	if (n == 0) {
		refuse_missing(s->call);
		return;
	}
	s->call->workshop = row_keep_workshop(s->call->arena, rows);
	if (s->call->writes && s->call->route->object != OBJECT_WORKSHOP) {
		s->reread = true;
		look_again(s);
	} else {
		look_at_enrolment(s);
	}
}

/* Lock, taking part and claim in one question; what is kept of an answer lives for this turn
 * only, and nothing between here and once_take() asks the store. */
static void on_look(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;
	const struct workshop_look *look = rows;

	if (!is_there(s, n, err))
		return;
	s->call->workshop = row_keep_workshop(s->call->arena, &look->workshop);
	s->call->enrolled = look->takes_part;
	s->call->inner->looked = &look->kept;
	decide(s);
}

static void look_once(struct sight *s)
{
	struct call *call = s->call;
	struct call_inner *in = call->inner;
	struct answer_claim claim = {
	    .caller = in->once_who,
	    .key = in->once_key,
	    .fingerprint = in->fingerprint,
	};

	once_fingerprint(call, in->once_who);
	store_workshop_look(call->tx, call->caller.studio_id, s->workshop_id,
	    call->caller.member_id, (call->route->flags & ROUTE_SHARED) == 0,
	    &claim, on_look, s);
}

static void look_at_workshop(struct sight *s)
{
	struct call *call = s->call;
	bool shared = (call->route->flags & ROUTE_SHARED) != 0;

	if (s->workshop_id == 0)
		decide(s);
	else if (call->writes && call->route->object == OBJECT_WORKSHOP &&
		 call->inner->once_key != NULL && call->inner->once_who != NULL)
		look_once(s);
	else if (call->writes)
		store_workshop_lock(call->tx, call->caller.studio_id,
		    s->workshop_id, shared, on_workshop, s);
	else
		store_workshop(call->tx, call->caller.studio_id, s->workshop_id,
		    on_workshop, s);
}

/* ---- objects ---- */

/* After an object has been read: its workshop first, or with the lock held the decision. */
static void seen_object(struct sight *s, int64_t workshop_id)
{
	s->workshop_id = workshop_id;
	if (s->reread)
		look_at_enrolment(s);
	else
		look_at_workshop(s);
}

static void on_member(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->member = row_keep_member(s->call->arena, rows);
	seen_object(s, 0);
}

static void on_key(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->key = row_keep_key(s->call->arena, rows);
	seen_object(s, 0);
}

static void on_paper(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->paper = row_keep_paper(s->call->arena, rows);
	seen_object(s, 0);
}

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->stock = row_keep_stock(s->call->arena, rows);
	seen_object(s, 0);
}

static void on_invitation(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->invitation = row_keep_invitation(s->call->arena, rows);
	seen_object(s, s->call->invitation.workshop_id);
}

static void on_plan(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->plan = row_keep_plan(s->call->arena, rows);
	seen_object(s, s->call->plan.workshop_id);
}

static void on_entry(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->entry = row_keep_entry(s->call->arena, rows);
	seen_object(s, s->call->entry.workshop_id);
}

static void on_invoice(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;

	if (!is_there(s, n, err))
		return;
	s->call->invoice = row_keep_invoice(s->call->arena, rows);
	seen_object(s, s->call->invoice.workshop_id);
}

static void on_request(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sight *s = ctx;
	const struct request_row *request = rows;

	if (!is_there(s, n > 0 && request->withdrawn_at == NULL ? n : 0, err))
		return;
	s->call->request = row_keep_request(s->call->arena, request);
	seen_object(s, s->call->request.workshop_id);
}

static void look_again(struct sight *s)
{
	struct call *call = s->call;
	struct store_tx *tx = call->tx;
	int64_t studio = call->caller.studio_id, id = call->id;

	switch (call->route->object) {
	case OBJECT_NONE:
	case OBJECT_STUDIO:
		s->next(call);
		break;
	case OBJECT_MEMBER:
		store_member(tx, studio, id, on_member, s);
		break;
	case OBJECT_KEY:
		store_key(tx, studio, id, on_key, s);
		break;
	case OBJECT_PAPER:
		store_paper(tx, studio, id, on_paper, s);
		break;
	case OBJECT_STOCK:
		store_stock(tx, studio, id, on_stock, s);
		break;
	case OBJECT_WORKSHOP:
		s->workshop_id = id;
		look_at_workshop(s);
		break;
	case OBJECT_INVITATION:
		store_invitation(tx, studio, id, on_invitation, s);
		break;
	case OBJECT_REQUEST:
		store_request(tx, studio, id, on_request, s);
		break;
	case OBJECT_PLAN:
		store_plan(tx, studio, id, on_plan, s);
		break;
	case OBJECT_ENTRY:
		store_entry(tx, studio, id, on_entry, s);
		break;
	case OBJECT_INVOICE:
		store_invoice(tx, studio, id, on_invoice, s);
		break;
	case OBJECT_SESSION:
		/* There is no question for one session: the page looks through the caller's own. */
		s->next(call);
		break;
	}
}

void sight_look(struct call *call, call_fn *next)
{
	struct sight *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->next = next;
	/* Roles with no object were decided before; a list of one's own is narrowed here. */
	call->own_only = (call->route->all != 0 || call->route->own != 0) &&
			 !call_has_role(call, call->route->all);
	look_again(s);
}
