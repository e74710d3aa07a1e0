/* SPDX-License-Identifier: MIT */
/*
 * page_workshop.c - making a workshop, closing it, opening it again, noting that the paper is torn.
 *
 * Closing and tearing show a page that says what will happen; its button does it.
 */
#include "pages.h"

#include "act_people.h"
#include "act_workshop.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "read.h"
#include "say.h"
#include "share_form.h"
#include "workshop_buttons.h"
#include "zone.h"

static const char *path_of(struct call *call, const char *more)
{
	return call_printf(call, "/workshops/%lld%s",
	    (long long)call->workshop.workshop_id, more);
}

/* ---- what can be done ---- */

void workshop_buttons(struct call *call, struct html *h)
{
	enum workshop_state state = (enum workshop_state)call->workshop.state;
	bool editable = state == WORKSHOP_OPEN || state == WORKSHOP_CLOSED;

	html_open(h, "div", "class", "buttons", NULL);
	if (state == WORKSHOP_OPEN)
		frame_button(
		    h, path_of(call, "/close"), "Close for requests", false);
	if (state == WORKSHOP_CLOSED)
		frame_button(h, path_of(call, "/plan"), "Plan it", false);
	if (state == WORKSHOP_CLOSED || state == WORKSHOP_PLANNED)
		frame_button(
		    h, path_of(call, "/reopen"), "Open it again", true);
	if (state == WORKSHOP_PLANNED)
		frame_button(
		    h, path_of(call, "/torn"), "The paper is torn", true);
	if (editable)
		frame_button(
		    h, path_of(call, "/edit"), "Change the dates", true);
	html_close(h, "div");
}

/* ---- the form ---- */

static const char *local_of(struct call *call, const char *instant)
{
	char local[ZONE_TEXT];

	if (instant &&
	    zone_to_local(call->caller.studio.time_zone, instant, local))
		return call_printf(call, "%s", local);
	return NULL;
}

static const char *paper_field(struct call *call, int64_t paper_id)
{
	return call_printf(call, "paper-%lld", (long long)paper_id);
}

/* A fault at "/papers" stands at the first of the boxes. */
static void write_papers(
    struct call *call, struct html *h, const struct workshop_row *before)
{
	const struct loaded *l = loaded_of(call);

	html_open(h, "fieldset", "id", "f-papers", NULL);
	html_item(h, "legend", "Papers of this workshop");
	for (size_t i = 0; i < l->n_papers; i++) {
		const struct paper_row *p = &l->papers[i];

		if (p->active)
			field_tick(call, h,
			    &(struct field){
				.name = paper_field(call, p->paper_id),
				.label = p->name},
			    before && workshop_has_paper(before, p->paper_id));
	}
	html_close(h, "fieldset");
}

static void write_dates(
    struct call *call, struct html *h, const struct workshop_row *before)
{
	field_line(call, h,
	    &(struct field){.name = "closes_at",
		.label = "Requests close at",
		.type = "datetime-local",
		.hint = call_printf(call, "Day and time in the studio (%s).",
		    call->caller.studio.time_zone),
		.value = before ? local_of(call, before->closes_at) : NULL});
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "starts_on",
		.label = "First day",
		.type = "date",
		.value = before ? before->starts_on : NULL});
	field_line(call, h,
	    &(struct field){.name = "days",
		.label = "Number of days",
		.mode = "numeric",
		.small = true,
		.value = before ? field_version(call, before->days) : "1"});
	html_close(h, "div");
	field_line(call, h,
	    &(struct field){.name = "flat_on",
		.label = "Paper lies flat by",
		.type = "date",
		.optional = true,
		.value = before ? before->flat_on : NULL});
}

static void write_form(
    struct call *call, struct html *h, const struct workshop_row *before)
{
	const struct studio *s = &call->caller.studio;

	field_line(call, h,
	    &(struct field){.name = "name",
		.label = "Name",
		.value = before ? before->name : NULL});
	write_dates(call, h, before);
	if (!before || before->state == WORKSHOP_OPEN)
		write_papers(call, h, before);
	if (before)
		share_write_rules(call, h, before->share_policy,
		    before->share_ceiling, before->shipping_each);
	else
		share_write_rules(call, h, s->share_policy, s->share_ceiling,
		    s->shipping_each);
}

/* ---- reading it ---- */

/* The clock of the studio to an instant; a fault when it is none. */
static const char *read_closing(struct call *call)
{
	const char *text = form_text(call->form, "closes_at");
	char instant[ZONE_TEXT];

	if (zone_to_instant(call->caller.studio.time_zone, text, instant))
		return call_printf(call, "%s", instant);
	call_fault(call, "/closes_at",
	    "Give day and time like 2026-11-27T17:00.",
	    *text ? "\"%.30s\" is no day and time" : "the closing is missing%s",
	    text);
	return NULL;
}

static void read_papers(struct call *call, struct workshop_in *in)
{
	const struct loaded *l = loaded_of(call);

	in->n_papers = 0;
	for (size_t i = 0; i < l->n_papers; i++) {
		const char *name = paper_field(call, l->papers[i].paper_id);

		if (!field_is_ticked(call, name))
			continue;
		if (in->n_papers == WORKSHOP_PAPERS_MAX) {
			call_fault(call, "/papers", "Tick fewer.",
			    "a workshop has at most %d papers",
			    WORKSHOP_PAPERS_MAX);
			return;
		}
		in->papers[in->n_papers++] = l->papers[i].paper_id;
	}
}

static bool read_form(struct call *call, struct workshop_in *in, bool papers)
{
	const char *closing;

	in->name = read_line(call, "name", "the name", true, NAME_MAX_SIGNS);
	closing = read_closing(call);
	if (closing)
		in->closes_at = closing;
	in->starts_on = read_day(call, "starts_on", "the first day", true);
	in->days = read_number(call, "days", "the number of days", 1, 60);
	in->flat_on = read_day(call, "flat_on", "the day it lies flat", false);
	share_read_rules(
	    call, &in->share_policy, &in->share_ceiling, &in->shipping_each);
	if (papers)
		read_papers(call, in);
	return call->n_faults == 0;
}

/* ---- making ---- */

static void write_new(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	const struct loaded *l = loaded_of(call);
	struct html h;

	frame_begin(
	    call, &h, &(struct frame){.title = "Make a workshop", .here = "/"});
	if (l->n_papers == 0) {
		html_open(&h, "p", "class", "note", NULL);
		html_text(&h, "There is no paper yet: ");
		html_open(&h, "a", "href", "/papers", NULL);
		html_text(&h, "note a paper first");
		html_close(&h, "a");
		html_text(&h, ".");
		html_close(&h, "p");
	}
	field_form(call, &h, "/workshops", NULL);
	write_form(call, &h, NULL);
	field_submit(&h, "Make the workshop", false);
	field_form_end(&h);
	frame_answer(call, status, &h);
}

void page_workshop_new(struct call *call)
{
	call->state = NULL;
	load_papers(call, write_new);
}

static void on_made(struct call *call, const struct workshop_row *workshop)
{
	call_answer_redirect(
	    call, call_printf(call, "/workshops/%lld?said=made",
		      (long long)workshop->workshop_id));
}

static void make(struct call *call)
{
	struct workshop_in in = workshop_in_new(call);

	read_form(call, &in, true);
	if (!call_is_faulty(call))
		act_workshop_add(call, &in, on_made);
}

void page_workshop_new_post(struct call *call)
{
	call->on_fail = page_workshop_new;
	load_papers(call, make);
}

/* ---- changing ---- */

static void write_edit(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Change the workshop",
		.workshop = &call->workshop,
		.tab = ""});
	field_form(call, &h, path_of(call, "/edit"),
	    field_version(call, call->workshop.version));
	write_form(call, &h, &call->workshop);
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Save", false);
	frame_button(&h, path_of(call, ""), "Leave it as it is", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, status, &h);
}

void page_workshop_edit(struct call *call)
{
	call->state = NULL;
	load_papers(call, write_edit);
}

static void on_saved(struct call *call, const struct workshop_row *workshop)
{
	(void)workshop;
	call_answer_redirect(call, path_of(call, "?said=saved"));
}

static void change(struct call *call)
{
	struct workshop_in in = {0};

	if (!workshop_in_of(call, &call->workshop, &in)) {
		call_refuse(
		    call, ERR_INTERNAL, NULL, "a workshop cannot be read");
		return;
	}
	read_form(call, &in, call->workshop.state == WORKSHOP_OPEN);
	if (!call_is_faulty(call))
		act_workshop_change(call, &in, on_saved);
}

void page_workshop_edit_post(struct call *call)
{
	call->on_fail = page_workshop_edit;
	if (field_version_is(call, call->workshop.version))
		load_papers(call, change);
}

/* ---- closing ---- */

struct confirm {
	const char *title, *text, *action, *button, *keep;
};

static void write_confirm(struct call *call, const struct confirm *c)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){
		.title = c->title, .workshop = &call->workshop, .tab = ""});
	html_open(&h, "p", "class", "text", NULL);
	html_text(&h, c->text);
	html_close(&h, "p");
	html_open(&h, "div", "class", "buttons", NULL);
	field_button(
	    call, &h, path_of(call, c->action), NULL, c->button, false);
	frame_button(&h, path_of(call, ""), c->keep, true);
	html_close(&h, "div");
	frame_answer(call, status, &h);
}

static void write_close(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int64_t sheets = 0;

	for (size_t i = 0; i < l->n_spoken; i++)
		sheets += l->spoken[i].row.sheets;
	write_confirm(call,
	    &(struct confirm){.title = "Close this workshop for requests?",
		.text = call_printf(call,
		    "%s are asked for. After the closing nobody can ask, "
		    "change "
		    "or withdraw; the plan is made from what stands then. You "
		    "can "
		    "open it again until the paper is torn.",
		    say_count(call, sheets, "sheet", "sheets")),
		.action = "/close",
		.button = "Close it",
		.keep = "Leave it open"});
}

void page_close(struct call *call)
{
	call->state = NULL;
	load_spoken(call, write_close);
}

static void on_closed(struct call *call, const struct workshop_row *workshop)
{
	(void)workshop;
	call_answer_redirect(call, path_of(call, "/plan?said=closed"));
}

void page_close_post(struct call *call)
{
	call->on_fail = page_close;
	act_workshop_close(call, on_closed);
}

/* ---- opening again ---- */

void page_reopen(struct call *call)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Open this workshop again?",
		.workshop = &call->workshop,
		.tab = ""});
	html_open(&h, "p", "class", "text", NULL);
	html_text(&h,
	    "Requests can be made, changed and withdrawn again. A plan "
	    "that was accepted no longer holds; a new one is made "
	    "after the next closing.");
	html_close(&h, "p");
	field_form(call, &h, path_of(call, "/reopen"), NULL);
	field_line(call, &h,
	    &(struct field){.name = "closes_at",
		.label = "Requests close at",
		.type = "datetime-local",
		.hint = call_printf(call,
		    "Day and time in the studio (%s), in the future.",
		    call->caller.studio.time_zone),
		.value = local_of(call, call->workshop.closes_at)});
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Open it again", false);
	frame_button(&h, path_of(call, ""), "Leave it closed", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, status, &h);
}

static void on_reopened(struct call *call, const struct workshop_row *workshop)
{
	(void)workshop;
	call_answer_redirect(call, path_of(call, "?said=reopened"));
}

void page_reopen_post(struct call *call)
{
	const char *closing;

	call->on_fail = page_reopen;
	closing = read_closing(call);
	if (!call_is_faulty(call))
		act_workshop_reopen(call, closing, on_reopened);
}

/* ---- torn ---- */

void page_torn(struct call *call)
{
	write_confirm(call,
	    &(struct confirm){.title = "Is the paper torn?",
		.text = "Note it when the last strip is torn. Roll-ends worth "
			"keeping go to the shelf, and the workshop cannot be "
			"opened again.",
		.action = "/torn",
		.button = "Yes, it is torn",
		.keep = "Not yet"});
}

static void on_torn(struct call *call, const struct workshop_row *workshop)
{
	(void)workshop;
	call_answer_redirect(call, path_of(call, "?said=torn"));
}

void page_torn_post(struct call *call)
{
	call->on_fail = page_torn;
	act_workshop_torn(call, on_torn);
}
