/* SPDX-License-Identifier: MIT */
/*
 * page_request.c - changing one's mind, and withdrawing.
 */
#include "pages.h"

#include "act_request.h"
#include "ask_form.h"
#include "estimate_part.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "say.h"

static const char *path_of(struct call *call, const char *more)
{
	return call_printf(call, "/requests/%lld%s", (long long)call->id, more);
}

/* Members return to their sheets, instructors to the list they came from. */
static const char *back_path(struct call *call)
{
	bool own = call->request.member_id == call->caller.member_id;

	return call_printf(call, "/workshops/%lld%s",
	    (long long)call->workshop.workshop_id, own ? "" : "/requests");
}

static const char *title_of(struct call *call, const char *verb)
{
	const struct request_row *r = &call->request;
	const char *what = say_count(call, r->count, "sheet", "sheets");

	if (r->member_id == call->caller.member_id)
		return call_printf(call, "%s your %s", verb, what);
	return call_printf(call, "%s %s for %s", verb, what, r->member_name);
}

static void begin(struct call *call, struct html *h, const char *title)
{
	frame_begin(call, h,
	    &(struct frame){.title = title,
		.workshop = &call->workshop,
		.tab = call->request.member_id == call->caller.member_id
			   ? ""
			   : "/requests"});
}

static void write_change_form(struct call *call, struct html *h)
{
	field_form(call, h, path_of(call, ""),
	    field_version(call, call->request.version));
	ask_write_fields(call, h, &call->request, true);
	html_open(h, "div", "class", "buttons", NULL);
	field_submit(h, "Save the change", false);
	field_submit_to(h, path_of(call, "/look"), "Show the torn size");
	frame_button(h, back_path(call), "Leave it as it is", true);
	html_close(h, "div");
	field_form_end(h);
}

static void write_shown(
    struct call *call, struct html *h, const struct request_row *row)
{
	html_open(h, "div", "class", "with-picture", NULL);
	html_open(h, "div", "role", "status", NULL);
	ask_write_facts(call, h, row);
	html_close(h, "div");
	ask_write_picture(call, h, row, "now");
	html_close(h, "div");
}

static void on_estimate(struct call *call, const struct estimate_view *view)
{
	struct html h;

	begin(call, &h, title_of(call, "Change"));
	write_shown(call, &h, &call->request);
	write_change_form(call, &h);
	estimate_write(call, &h, view);
	frame_answer(call, 200, &h);
}

static bool has_plan(const struct call *call)
{
	return call->workshop.state != WORKSHOP_OPEN &&
	       call->workshop.state != WORKSHOP_CLOSED;
}

static void write_request(struct call *call)
{
	struct html h;

	if (!call->form && !has_plan(call)) {
		act_estimate(call, on_estimate);
		return;
	}
	begin(call, &h, title_of(call, "Change"));
	write_shown(call, &h, &call->request);
	write_change_form(call, &h);
	frame_answer(call, call->form ? frame_status_of(call) : 200, &h);
}

void page_request(struct call *call)
{
	call->state = NULL;
	load_papers(call, write_request);
}

static void on_asked(struct call *call, const struct estimate_view *view)
{
	(void)view;
	call_answer_redirect(call, path_of(call, ""));
}

void page_request_estimate_post(struct call *call)
{
	call->on_fail = page_request;
	act_estimate_ask(call, on_asked);
}

static void on_changed(struct call *call, const struct request_row *request)
{
	const char *back = back_path(call);

	if (request->member_id == call->caller.member_id)
		call_answer_redirect(
		    call, call_printf(call, "%s?asked=%lld", back,
			      (long long)request->request_id));
	else
		call_answer_redirect(
		    call, call_printf(call, "%s?said=changed", back));
}

void page_request_post(struct call *call)
{
	struct ask ask = ask_of(&call->request);
	int64_t member_id = ask.member_id;

	call->on_fail = page_request;
	if (!field_version_is(call, call->request.version))
		return;
	ask_read(call, &ask);
	ask.member_id = member_id;
	if (!call_is_faulty(call))
		act_request_change(call, &ask, on_changed);
}

static void write_look(struct call *call)
{
	struct ask ask = {0};
	struct request_row row = {0};
	bool ok = ask_read(call, &ask);
	struct html h;

	if (!ok)
		err_set(&call->err, ERR_INPUT, "%s", call->faults[0].text);
	begin(call, &h, title_of(call, "Change"));
	if (ok && ask_preview(call, &ask, &row))
		write_shown(call, &h, &row);
	write_change_form(call, &h);
	frame_answer(call, ok ? 200 : 422, &h);
}

void page_request_look_post(struct call *call)
{
	load_papers(call, write_look);
}

/* ---- withdrawing ---- */

void page_withdraw(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	begin(call, &h, title_of(call, "Withdraw"));
	write_shown(call, &h, &call->request);
	html_item(&h, "p",
	    "The request goes away. As long as the workshop is open, you can "
	    "ask again.");
	html_open(&h, "div", "class", "buttons", NULL);
	field_button(call, &h, path_of(call, "/withdraw"),
	    field_version(call, call->request.version), "Withdraw", false);
	frame_button(&h, back_path(call), "Keep it", true);
	html_close(&h, "div");
	frame_answer(call, status, &h);
}

static void on_withdrawn(struct call *call)
{
	call_answer_redirect(
	    call, call_printf(call, "%s?said=withdrawn", back_path(call)));
}

void page_withdraw_post(struct call *call)
{
	call->on_fail = page_withdraw;
	if (field_version_is(call, call->request.version))
		act_request_withdraw(call, on_withdrawn);
}
