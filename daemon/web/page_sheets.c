/* SPDX-License-Identifier: MIT */
/*
 * page_sheets.c - a workshop as a member sees it: what is asked for, and asking for more.
 *
 * The torn size is told before asking (the button "Show the torn size" sends the form to a
 * page that draws it) and after it (on the card of the request), always to scale and with
 * the tape margin, since that is where most sizes go wrong.
 */
#include "pages.h"

#include <string.h>

#include "act_request.h"
#include "ask_form.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "workshop_buttons.h"
#include "say.h"

#define WORKSHOP_PATH "/workshops/%lld"

static bool is_instructor(const struct call *call)
{
	return !call->own_only && call_has_role(call, ROLE_INSTRUCTOR);
}

/* ---- the parts of the page ---- */

static const char *paper_names(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	const char *names = "";

	for (size_t i = 0; i < l->n_papers; i++)
		if (workshop_has_paper(&call->workshop, l->papers[i].paper_id))
			names = call_printf(call, "%s%s%s", names,
			    *names ? ", " : "", l->papers[i].name);
	return names;
}

static void write_facts(struct call *call, struct html *h)
{
	const struct workshop_row *w = &call->workshop;

	html_open(h, "dl", "class", "facts", NULL);
	html_item(h, "dt", "State");
	html_open(h, "dd", NULL);
	html_open(h, "span", "class", "state", NULL);
	html_text(h, say_state(w));
	html_close(h, "span");
	html_close(h, "dd");
	frame_fact(h, w->takes_requests ? "Ask until" : "Closed on",
	    call_printf(call, "%s (%s)", say_closing(call, w),
		call->caller.studio.time_zone));
	frame_fact(h, "Begins",
	    call_printf(call, "%s, %s", say_day(call, w->starts_on),
		say_count(call, w->days, "day", "days")));
	if (w->flat_on && *w->flat_on)
		frame_fact(h, "Paper lies flat by", say_day(call, w->flat_on));
	frame_fact(h, "Papers", paper_names(call));
	html_close(h, "dl");
}

static const char *rolls_of(struct call *call, int64_t tenths)
{
	if (tenths < 0)
		return "no roll of it is in stock yet";
	if (tenths == 0)
		return "nothing of the roll yet";
	return call_printf(call, "about %lld.%lld of a roll",
	    (long long)tenths / 10, (long long)tenths % 10);
}

static void write_spoken(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	if (l->n_spoken == 0)
		return;
	html_item(h, "h2", "Spoken for");
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < l->n_spoken; i++) {
		const struct spoken *s = &l->spoken[i];

		html_open(h, "li", NULL);
		html_name(h, s->row.paper_name);
		html_textf(h, ": %s for %s, %s",
		    say_count(call, s->row.sheets, "sheet", "sheets"),
		    say_count(call, s->row.members, "member", "members"),
		    rolls_of(call, s->roll_tenths));
		html_close(h, "li");
	}
	html_close(h, "ul");
}

static void write_ways(
    struct call *call, struct html *h, const struct request_row *r)
{
	html_open(h, "div", "class", "buttons", NULL);
	frame_button(h,
	    call_printf(call, "/requests/%lld", (long long)r->request_id),
	    "Change", true);
	frame_button(h,
	    call_printf(
		call, "/requests/%lld/withdraw", (long long)r->request_id),
	    "Withdraw", true);
	html_close(h, "div");
}

static void write_request(
    struct call *call, struct html *h, const struct request_row *r)
{
	html_open(h, "li", NULL);
	html_open(h, "h3", NULL);
	html_textf(h, "%s of ", say_count(call, r->count, "sheet", "sheets"));
	html_name(h, r->paper_name);
	html_close(h, "h3");
	html_open(h, "div", "class", "with-picture", NULL);
	html_open(h, "div", NULL);
	ask_write_facts(call, h, r);
	if (call->workshop.takes_requests)
		write_ways(call, h, r);
	html_close(h, "div");
	ask_write_picture(
	    call, h, r, call_printf(call, "r%lld", (long long)r->request_id));
	html_close(h, "div");
	html_close(h, "li");
}

static size_t count_own(const struct call *call, const struct loaded *l)
{
	size_t n = 0;

	for (size_t i = 0; i < l->n_requests; i++)
		n += l->requests[i].member_id == call->caller.member_id;
	return n;
}

static void write_requests(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	size_t n = count_own(call, l);

	html_item(h, "h2", "What you asked for");
	if (n == 0) {
		html_item(h, "p", "Nothing yet.");
		return;
	}
	html_open(h, "ul", "class", "cards", NULL);
	for (size_t i = 0; i < l->n_requests; i++)
		if (l->requests[i].member_id == call->caller.member_id)
			write_request(call, h, &l->requests[i]);
	html_close(h, "ul");
}

static void write_ask(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	const struct request_row *last = NULL;

	for (size_t i = 0; i < l->n_requests; i++)
		if (l->requests[i].member_id == call->caller.member_id)
			last = &l->requests[i];
	html_item(h, "h2", last ? "Ask for more" : "Ask for sheets");
	field_form(call, h,
	    call_printf(call, WORKSHOP_PATH, (long long)call->id), NULL);
	if (is_instructor(call))
		ask_write_member(call, h);
	ask_write_fields(call, h, last, false);
	html_open(h, "div", "class", "buttons", NULL);
	field_submit(h, "Ask for these sheets", false);
	field_submit_to(h,
	    call_printf(call, WORKSHOP_PATH "/look", (long long)call->id),
	    "Show the torn size");
	html_close(h, "div");
	field_form_end(h);
}

/* "Asked for": the request named by ?asked=ID, as it stands now. */
static void write_asked(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	int64_t id = call_query_number(call, "asked", 1, INT64_MAX / 16, 0);

	for (size_t i = 0; id && i < l->n_requests; i++) {
		const struct request_row *r = &l->requests[i];

		if (r->request_id != id)
			continue;
		frame_status(h,
		    call_printf(call,
			"Asked for: %s of %s%s%s, torn size %s%s.",
			say_count(call, r->count, "sheet", "sheets"),
			r->paper_name,
			r->member_id == call->caller.member_id ? "" : " for ",
			r->member_id == call->caller.member_id ? ""
							       : r->member_name,
			say_size(call, r->torn_across_u, r->torn_along_u),
			ask_is_snapped(r)
			    ? " (taken up to the next mark of the ruler)"
			    : ""));
	}
}

static bool may_ask(struct call *call)
{
	const struct loaded *l = loaded_of(call);

	return call->workshop.takes_requests &&
	       (is_instructor(call) ||
		   (call_has_role(call, ROLE_STUDENT) && l->enrolled));
}

static void write_workshop(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Sheets",
		.here = "",
		.workshop = &call->workshop,
		.tab = ""});
	write_asked(call, &h);
	write_facts(call, &h);
	write_spoken(call, &h);
	if (call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER))
		workshop_buttons(call, &h);
	if (l->enrolled || count_own(call, l) > 0)
		write_requests(call, &h);
	if (may_ask(call))
		write_ask(call, &h);
	frame_answer(call, status, &h);
}

static void with_members(struct call *call)
{
	load_is_enrolled(call, write_workshop);
}

static void with_spoken(struct call *call)
{
	if (is_instructor(call))
		load_enrolled(call, with_members);
	else
		with_members(call);
}

static void with_requests(struct call *call)
{
	load_spoken(call, with_spoken);
}

static void with_papers(struct call *call)
{
	load_requests(call, is_instructor(call) ? 0 : call->caller.member_id,
	    with_requests);
}

void page_workshop(struct call *call)
{
	call->state = NULL;
	load_papers(call, with_papers);
}

/* ---- asking ---- */

static void on_asked(struct call *call, const struct request_row *request)
{
	call_answer_redirect(
	    call, call_printf(call, WORKSHOP_PATH "?asked=%lld",
		      (long long)call->id, (long long)request->request_id));
}

void page_ask_post(struct call *call)
{
	struct ask ask = {0};

	call->on_fail = page_workshop;
	ask_read(call, &ask);
	if (!call_is_faulty(call))
		act_request_add(call, &ask, on_asked);
}

/* ---- looking at the torn size first ---- */

static void write_look(struct call *call)
{
	struct ask ask = {0};
	bool ok = ask_read(call, &ask);
	struct request_row row = {0};
	struct html h;

	if (!ok)
		err_set(&call->err, ERR_INPUT, "%s", call->faults[0].text);
	frame_begin(call, &h,
	    &(struct frame){.title = "Look at the torn size",
		.workshop = &call->workshop,
		.tab = ""});
	if (ok && ask_preview(call, &ask, &row)) {
		html_open(&h, "div", "class", "with-picture", NULL);
		html_open(&h, "div", "role", "status", NULL);
		ask_write_facts(call, &h, &row);
		html_close(&h, "div");
		ask_write_picture(call, &h, &row, "look");
		html_close(&h, "div");
	}
	field_form(call, &h,
	    call_printf(call, WORKSHOP_PATH, (long long)call->id), NULL);
	if (is_instructor(call))
		ask_write_member(call, &h);
	ask_write_fields(call, &h, NULL, false);
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Ask for these sheets", false);
	field_submit_to(&h,
	    call_printf(call, WORKSHOP_PATH "/look", (long long)call->id),
	    "Show the torn size");
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, ok ? 200 : 422, &h);
}

static void look_with_papers(struct call *call)
{
	if (is_instructor(call))
		load_enrolled(call, write_look);
	else
		write_look(call);
}

void page_look_post(struct call *call)
{
	load_papers(call, look_with_papers);
}
