/* SPDX-License-Identifier: MIT */
/*
 * page_plan.c - planning: begun, watched, accepted.
 *
 * While a plan is being made its page is loaded again by hand, or every few seconds by the
 * browser when one asks for that (a Refresh field in the answer, no script); the text says
 * what is known so far, so nothing is missed between two looks.
 */
#include "pages.h"

#include <string.h>

#include "act_plan.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "say.h"

#define LOOK_EVERY "4" /* seconds */

static const char *plan_path(
    struct call *call, int64_t plan_id, const char *more)
{
	return call_printf(call, "/plans/%lld%s", (long long)plan_id, more);
}

static const char *workshop_path(struct call *call, const char *more)
{
	return call_printf(call, "/workshops/%lld%s",
	    (long long)call->workshop.workshop_id, more);
}

static bool may_plan(const struct call *call)
{
	return call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER);
}

/* ---- all plans of a workshop ---- */

static void write_start(struct call *call, struct html *h)
{
	enum workshop_state state = (enum workshop_state)call->workshop.state;

	if (!may_plan(call))
		return;
	if (state == WORKSHOP_OPEN) {
		html_open(h, "p", "class", "note", NULL);
		html_text(h, "A plan is made once the workshop is closed for "
			     "requests. ");
		html_open(h, "a", "href", workshop_path(call, "/close"), NULL);
		html_text(h, "Close it");
		html_close(h, "a");
		html_close(h, "p");
		return;
	}
	if (state != WORKSHOP_CLOSED && state != WORKSHOP_PLANNED)
		return;
	html_open(h, "p", "class", "text", NULL);
	html_text(h, "The planner looks for the fewest rolls, then the least "
		     "price and length, and proves how much better any plan "
		     "could be at most.");
	html_close(h, "p");
	html_open(h, "div", "class", "buttons", NULL);
	field_button(call, h, workshop_path(call, "/plan"), NULL,
	    loaded_of(call)->n_plans ? "Plan once more" : "Make the plan",
	    loaded_of(call)->n_plans > 0);
	html_close(h, "div");
}

static void write_plan_item(
    struct call *call, struct html *h, const struct plan_row *p)
{
	html_open(h, "li", NULL);
	html_open(h, "h3", NULL);
	html_open(h, "a", "href", plan_path(call, p->plan_id, ""), NULL);
	html_textf(h, "Plan %lld", (long long)p->number);
	html_close(h, "a");
	html_close(h, "h3");
	html_open(h, "p", NULL);
	html_open(h, "span", "class", "state", NULL);
	html_text(h, plan_state_name(p->state));
	html_close(h, "span");
	html_textf(h, " made %s", say_instant(call, p->created_at));
	html_close(h, "p");
	html_close(h, "li");
}

static void write_plans(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){
		.title = "Plan", .workshop = &call->workshop, .tab = "/plan"});
	write_start(call, &h);
	if (l->n_plans) {
		html_item(&h, "h2", "Plans so far");
		html_open(&h, "ul", "class", "cards", NULL);
		for (size_t i = l->n_plans; i-- > 0;)
			write_plan_item(call, &h, &l->plans[i]);
		html_close(&h, "ul");
	} else if (!may_plan(call)) {
		html_item(&h, "p", "There is no plan yet.");
	}
	frame_answer(call, status, &h);
}

void page_plans(struct call *call)
{
	call->state = NULL;
	load_plans(call, write_plans);
}

static void on_begun(struct call *call, const struct plan_view *plan)
{
	call_answer_redirect(
	    call, plan_path(call, plan->row.plan_id, "?said=planning&watch=1"));
}

void page_plans_post(struct call *call)
{
	call->on_fail = page_plans;
	act_plan_add(call, on_begun);
}

/* ---- one plan ---- */

static void write_job(
    struct call *call, struct html *h, const struct job_row *job)
{
	html_open(h, "li", NULL);
	html_open(h, "h3", NULL);
	html_name(h, job->paper_name);
	html_close(h, "h3");
	html_open(h, "dl", "class", "facts", NULL);
	frame_fact(h, "State", job_state_name(job->state));
	if (job->best_rolls >= 0) {
		frame_fact(h, "Best so far",
		    call_printf(call, "%s, %s, %s of strips",
			say_count(
			    call, job->best_rolls, "fresh roll", "fresh rolls"),
			say_money(call, job->best_price_minor),
			say_length(call, job->best_length_u)));
		frame_fact(h, "No plan can do with less than",
		    call_printf(call, "%s",
			say_count(call, job->bound_rolls, "fresh roll",
			    "fresh rolls")));
	}
	if (job->reason)
		frame_fact(h, "Why not", job->reason);
	html_close(h, "dl");
	html_close(h, "li");
}

static const char *proof_of(bool proven)
{
	return proven ? " - proved: no plan has less" : "";
}

static void write_totals(
    struct call *call, struct html *h, const struct plan_view *p)
{
	const struct totals *t = &p->totals;

	html_open(h, "dl", "class", "facts", NULL);
	if (t->unplaced)
		frame_fact(h, "Sheets without paper",
		    call_printf(call, "%lld", (long long)t->unplaced));
	frame_fact(h, "Fresh rolls",
	    call_printf(call, "%lld%s", (long long)t->fresh_rolls,
		proof_of(p->proven.fresh_rolls)));
	frame_fact(h, "Price",
	    call_printf(call, "%s%s", say_money(call, t->price),
		proof_of(p->proven.price)));
	frame_fact(h, "Length of strips on fresh rolls",
	    call_printf(call, "%s%s", say_length(call, t->strip_length),
		proof_of(p->proven.strip_length)));
	frame_fact(h, "Tears", call_printf(call, "%lld", (long long)t->tears));
	if (p->row.check_code && *p->row.check_code)
		frame_fact(h, "Check code", p->row.check_code);
	html_close(h, "dl");
}

static void write_ready(
    struct call *call, struct html *h, const struct plan_view *p)
{
	bool ready = p->row.state == PLAN_READY && may_plan(call);

	if (ready) {
		html_open(h, "p", "class", "text", NULL);
		html_text(h,
		    "Accepting keeps this plan for ever and takes the "
		    "roll-ends it uses from the shelf. Until the paper "
		    "is torn the workshop can still be opened again.");
		html_close(h, "p");
	}
	html_open(h, "div", "class", "buttons", NULL);
	if (ready)
		field_button(call, h,
		    plan_path(call, p->row.plan_id, "/accept"), NULL,
		    "Accept this plan", false);
	frame_button(h, plan_path(call, p->row.plan_id, "/picture"),
	    "See it as a picture", ready);
	frame_button(h, plan_path(call, p->row.plan_id, "/sheet"),
	    "The tear sheet", true);
	html_close(h, "div");
}

static void write_working(
    struct call *call, struct html *h, const struct plan_view *p, bool watch)
{
	html_open(h, "div", "class", "said", "role", "status", NULL);
	html_item(h, "p",
	    watch ? "The plan is being made. This page looks again every few "
		    "seconds."
		  : "The plan is being made.");
	html_close(h, "div");
	html_open(h, "div", "class", "buttons", NULL);
	frame_button(h, plan_path(call, p->row.plan_id, ""),
	    watch ? "Stop looking again" : "Look again", false);
	if (!watch)
		frame_button(h, plan_path(call, p->row.plan_id, "?watch=1"),
		    "Keep looking", true);
	if (may_plan(call))
		field_button(call, h,
		    plan_path(call, p->row.plan_id, "/cancel"), NULL,
		    "Stop planning", true);
	html_close(h, "div");
}

static void write_plan(struct call *call, const struct plan_view *p)
{
	bool working = p->row.state == PLAN_WORKING;
	bool watch = working && !call->form && call_query(call, "watch");
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = call_printf(
				call, "Plan %lld", (long long)p->row.number),
		.workshop = &call->workshop,
		.tab = "/plan"});
	html_open(&h, "p", NULL);
	html_open(&h, "span", "class", "state", NULL);
	html_text(&h, plan_state_name(p->row.state));
	html_close(&h, "span");
	html_close(&h, "p");
	if (working)
		write_working(call, &h, p, watch);
	if (p->has_totals) {
		write_totals(call, &h, p);
		write_ready(call, &h, p);
	}
	html_item(&h, "h2", "Paper by paper");
	html_open(&h, "ul", "class", "cards", NULL);
	for (size_t i = 0; i < p->n_jobs; i++)
		write_job(call, &h, &p->jobs[i]);
	html_close(&h, "ul");
	if (watch)
		call_field(call, "Refresh",
		    call_printf(call, LOOK_EVERY "; url=/plans/%lld?watch=1",
			(long long)p->row.plan_id));
	frame_answer(call, status, &h);
}

void page_plan(struct call *call)
{
	act_plan_show(call, &call->plan, write_plan);
}

static void on_accepted(struct call *call, const struct plan_view *plan)
{
	call_answer_redirect(
	    call, plan_path(call, plan->row.plan_id, "?said=accepted"));
}

void page_plan_accept_post(struct call *call)
{
	call->on_fail = page_plan;
	act_plan_accept(call, on_accepted);
}

static void on_cancelled(struct call *call, const struct plan_view *plan)
{
	call_answer_redirect(
	    call, plan_path(call, plan->row.plan_id, "?said=cancelled"));
}

void page_plan_cancel_post(struct call *call)
{
	call->on_fail = page_plan;
	act_plan_cancel(call, on_cancelled);
}
