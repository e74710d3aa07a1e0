/* SPDX-License-Identifier: MIT */
/*
 * act_workshop.c - workshops: made, changed, closed, opened again, torn.
 *
 *     open <-> closed -> planned -> torn -> settled      (planned may open again until torn)
 *
 * The workshop's row is locked before anything is decided, so two closings are one after the
 * other, and the second finds it closed.
 */
#include "act_workshop.h"

#include <string.h>

#include "act_plan.h"
#include "json_in.h"
#include "rows.h"
#include "torn.h"

static const char *const state_names[] = {
    "open", "closed", "planned", "torn", "settled"};

const char *workshop_state_name(int64_t state)
{
	return state_names[state];
}

const char *const share_policies[] = {"order", "torn", NULL};

struct holding {
	struct call *call;
	struct workshop_row row;
	struct member member;
	bool is_new;
	const char *event;
	const char *closes_at; /* of a reopening, or NULL */
	size_t at_paper;       /* the paper that is being looked up */
	struct workshop_in in;
	act_workshop_fn *done;
	act_enrol_fn *enrol_done;
};

static struct holding *holding_new(
    struct call *call, const char *event, act_workshop_fn *done)
{
	struct holding *h = call_alloc(call, sizeof(*h));

	h->call = call;
	h->event = event;
	h->done = done;
	call->act = h;
	return h;
}

static void on_noted(struct call *call)
{
	struct holding *h = call->act;

	h->done(call, &h->row);
}

static void note(struct holding *h)
{
	call_event(h->call, h->event, h->row.workshop_id, 0, NULL, on_noted);
}

static void on_row(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;

	if (call_failed(h->call, err))
		return;
	if (n == 0) {
		call_refuse(h->call, ERR_STALE,
		    "Read it again, then change it.",
		    "the workshop has changed in the meantime");
		return;
	}
	h->row = row_keep_workshop(h->call->arena, rows);
	note(h);
}

/* "workshop 17 is torn and cannot be closed" */
static void refuse_state(struct call *call, const char *what, const char *hint)
{
	call_refuse(call, ERR_CONFLICT, hint,
	    "workshop %lld is %s and cannot %s",
	    (long long)call->workshop.workshop_id,
	    workshop_state_name(call->workshop.state), what);
}

/* ---- made and changed ---- */

static const char *papers_text(struct call *call, const struct workshop_in *in)
{
	const char *text = "[";

	for (size_t i = 0; i < in->n_papers; i++)
		text = call_printf(call, "%s%s%lld", text, i > 0 ? "," : "",
		    (long long)in->papers[i]);
	return call_printf(call, "%s]", text);
}

struct workshop_in workshop_in_new(const struct call *call)
{
	const struct studio *s = &call->caller.studio;

	return (struct workshop_in){
	    .days = 1,
	    .stages = s->stages,
	    .share_policy = s->share_policy,
	    .share_ceiling = s->share_ceiling,
	    .shipping_each = s->shipping_each,
	};
}

bool workshop_in_of(
    struct call *call, const struct workshop_row *w, struct workshop_in *in)
{
	json_t *papers = json_loads(w->papers, 0, NULL), *id = NULL;
	size_t i = 0;

	*in = (struct workshop_in){
	    .name = w->name,
	    .closes_at = w->closes_at,
	    .starts_on = w->starts_on,
	    .days = w->days,
	    .flat_on = w->flat_on,
	    .stages = w->stages,
	    .share_policy = w->share_policy,
	    .share_ceiling = w->share_ceiling,
	    .shipping_each = w->shipping_each,
	};
	json_array_foreach(papers, i, id)
	{
		if (in->n_papers < WORKSHOP_PAPERS_MAX)
			in->papers[in->n_papers++] = json_integer_value(id);
	}
	json_decref(papers);
	(void)call;
	return true;
}

static void check_in(struct call *call, const struct workshop_in *in)
{
	if (in->days < 1 || in->days > 60)
		call_fault(call, "/days", "Give 1 to 60 days.",
		    "days %lld is out of range", (long long)in->days);
	if (in->stages != 2 && in->stages != 3)
		call_fault(call, "/stages", "Send 2 or 3.",
		    "stages %lld is neither 2 nor 3", (long long)in->stages);
	if (in->n_papers == 0)
		call_fault(call, "/papers", "Name at least one paper.",
		    "papers is empty");
}

static void fill_row(struct holding *h)
{
	struct call *call = h->call;
	const struct workshop_in *in = &h->in;

	h->row = call->workshop;
	h->row.studio_id = call->caller.studio_id;
	h->row.name = in->name;
	h->row.closes_at = in->closes_at;
	h->row.starts_on = in->starts_on;
	h->row.days = in->days;
	h->row.flat_on = in->flat_on;
	h->row.stages = in->stages;
	h->row.share_policy = in->share_policy;
	h->row.share_ceiling = in->share_ceiling;
	h->row.shipping_each = in->shipping_each;
	h->row.papers = papers_text(call, in);
}

static void look_up_papers(struct holding *h);

static void on_paper(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;
	const struct paper_row *paper = rows;

	if (call_failed(h->call, err))
		return;
	if (n == 0 || !paper->active)
		call_fault(h->call,
		    call_printf(h->call, "/papers/%zu", h->at_paper),
		    "Name papers of the studio that are in use.",
		    "there is no paper %lld",
		    (long long)h->in.papers[h->at_paper]);
	h->at_paper++;
	look_up_papers(h);
}

static void look_up_papers(struct holding *h)
{
	struct call *call = h->call;

	if (h->at_paper < h->in.n_papers) {
		store_paper(call->tx, call->caller.studio_id,
		    h->in.papers[h->at_paper], on_paper, h);
		return;
	}
	if (call_is_faulty(call))
		return;
	fill_row(h);
	if (call->workshop.workshop_id == 0)
		store_workshop_add(call->tx, &h->row, on_row, h);
	else
		store_workshop_change(call->tx, &h->row, on_row, h);
}

void act_workshop_add(
    struct call *call, const struct workshop_in *in, act_workshop_fn *done)
{
	struct holding *h = holding_new(call, "workshop-added", done);

	h->in = *in;
	check_in(call, &h->in);
	if (!call_is_faulty(call))
		look_up_papers(h);
}

static bool same_papers(
    const struct workshop_in *a, const struct workshop_in *b)
{
	if (a->n_papers != b->n_papers)
		return false;
	for (size_t i = 0; i < a->n_papers; i++) {
		bool found = false;

		for (size_t j = 0; j < b->n_papers; j++)
			found = found || a->papers[i] == b->papers[j];
		if (!found)
			return false;
	}
	return true;
}

void act_workshop_change(
    struct call *call, const struct workshop_in *in, act_workshop_fn *done)
{
	struct holding *h = holding_new(call, "workshop-changed", done);
	struct workshop_in is;
	int64_t state = call->workshop.state;

	h->in = *in;
	workshop_in_of(call, &call->workshop, &is);
	if (state != WORKSHOP_OPEN && state != WORKSHOP_CLOSED) {
		refuse_state(call, "be changed",
		    state == WORKSHOP_PLANNED ? "Reopen it first." : NULL);
		return;
	}
	if (state != WORKSHOP_OPEN &&
	    (in->stages != is.stages || !same_papers(in, &is))) {
		refuse_state(
		    call, "change its papers or stages", "Reopen it first.");
		return;
	}
	check_in(call, &h->in);
	if (call_is_faulty(call))
		return;
	/* Papers that stay may have gone out of use; only new ones are looked up. */
	h->at_paper = same_papers(in, &is) ? h->in.n_papers : 0;
	look_up_papers(h);
}

/* ---- closed and opened again ---- */

static void enter(struct holding *h, enum workshop_state to, int64_t plan_id,
    store_rows_fn *fn)
{
	struct call *call = h->call;

	store_workshop_enter(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id,
	    (enum workshop_state)call->workshop.state, to, plan_id, fn, h);
}

void act_workshop_close(struct call *call, act_workshop_fn *done)
{
	struct holding *h = holding_new(call, "workshop-closed", done);

	if (call->workshop.state != WORKSHOP_OPEN) {
		refuse_state(call, "be closed", NULL);
		return;
	}
	enter(h, WORKSHOP_CLOSED, 0, on_row);
}

static void on_reopened(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;

	if (call_failed(h->call, err))
		return;
	if (n == 0) {
		refuse_state(h->call, "be opened again", NULL);
		return;
	}
	h->row = row_keep_workshop(h->call->arena, rows);
	if (h->closes_at == NULL) {
		note(h);
		return;
	}
	h->row.closes_at = h->closes_at;
	store_workshop_change(h->call->tx, &h->row, on_row, h);
}

static void on_given_back(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(h->call, err))
		enter(h, WORKSHOP_OPEN, 0, on_reopened);
}

static void on_superseded(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;
	struct call *call = h->call;

	(void)rows;
	(void)n;
	if (!call_failed(call, err))
		store_stock_give_back(call->tx, call->caller.studio_id,
		    call->workshop.accepted_plan_id, call->caller.member_id,
		    on_given_back, h);
}

void act_workshop_reopen(
    struct call *call, const char *closes_at, act_workshop_fn *done)
{
	struct holding *h = holding_new(call, "workshop-reopened", done);

	h->closes_at = closes_at;
	if (call->workshop.state == WORKSHOP_PLANNED)
		store_plan_enter(call->tx, call->caller.studio_id,
		    call->workshop.accepted_plan_id, PLAN_ACCEPTED,
		    PLAN_SUPERSEDED, call->caller.member_id, on_superseded, h);
	else if (call->workshop.state == WORKSHOP_CLOSED)
		enter(h, WORKSHOP_OPEN, 0, on_reopened);
	else
		refuse_state(call, "be opened again", NULL);
}

/* ---- torn ---- */

/* One that was settled before its paper was torn is settled with it. */
static void on_settlements(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;
	struct call *call = h->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n > 0)
		store_workshop_enter(call->tx, call->caller.studio_id,
		    h->row.workshop_id, WORKSHOP_TORN, WORKSHOP_SETTLED,
		    h->row.accepted_plan_id, on_row, h);
	else
		note(h);
}

static void on_torn(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;

	if (call_failed(h->call, err))
		return;
	if (n == 0) {
		refuse_state(h->call, "be torn", NULL);
		return;
	}
	h->row = row_keep_workshop(h->call->arena, rows);
	store_settlements(h->call->tx, h->call->caller.studio_id,
	    h->row.workshop_id, on_settlements, h);
}

static void on_shelved(struct call *call)
{
	struct holding *h = call->act;

	enter(h, WORKSHOP_TORN, call->workshop.accepted_plan_id, on_torn);
}

void act_workshop_torn(struct call *call, act_workshop_fn *done)
{
	holding_new(call, "workshop-torn", done);
	if (call->workshop.state != WORKSHOP_PLANNED)
		refuse_state(call, "be torn", "Accept a plan first.");
	else
		torn_shelve(call, on_shelved);
}

/* ---- taking part ---- */

static void on_enrol_noted(struct call *call)
{
	struct holding *h = call->act;

	h->enrol_done(call, &h->member, h->is_new);
}

static void on_enrolled(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;
	struct call *call = h->call;

	if (call_failed(call, err))
		return;
	h->is_new = n > 0 && *(const bool *)rows;
	if (h->is_new)
		call_event(call, "member-joined", call->workshop.workshop_id,
		    h->member.member_id, NULL, on_enrol_noted);
	else
		on_enrol_noted(call);
}

static void on_member(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct holding *h = ctx;
	struct call *call = h->call;
	const struct member *member = rows;

	if (call_failed(call, err))
		return;
	if (n == 0 || !member->active)
		call_fault(call, "/member_id",
		    "Add the member to the studio first.",
		    "there is no active member of that id");
	if (call_is_faulty(call))
		return;
	h->member = row_keep_member(call->arena, member);
	store_enrolment_add(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, member->member_id, on_enrolled, h);
}

void act_workshop_enrol(
    struct call *call, int64_t member_id, act_enrol_fn *done)
{
	struct holding *h = holding_new(call, NULL, NULL);

	h->enrol_done = done;
	store_member(call->tx, call->caller.studio_id, member_id, on_member, h);
}
