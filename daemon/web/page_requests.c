/* SPDX-License-Identifier: MIT */
/*
 * page_requests.c - everybody's requests, for those who run the studio.
 */
#include "pages.h"

#include "act_workshop.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "say.h"

static bool may_change(struct call *call)
{
	return call_has_role(call, ROLE_INSTRUCTOR) &&
	       call->workshop.state == WORKSHOP_OPEN;
}

static void write_head(struct html *h, bool change)
{
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Member", false);
	frame_head(h, "Paper", false);
	frame_head(h, "Sheets", true);
	frame_head(h, "Torn size", false);
	frame_head(h, "Picture", false);
	frame_head(h, "Turn", false);
	frame_head(h, "Note", false);
	if (change)
		frame_head(h, "Change", false);
	html_close(h, "tr");
	html_close(h, "thead");
}

static void write_size(struct html *h, const char *size)
{
	html_open(h, "td", "class", "nowrap", NULL);
	html_text(h, size);
	html_close(h, "td");
}

static void write_row(
    struct call *call, struct html *h, const struct request_row *r)
{
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_name(h, r->member_name);
	html_close(h, "th");
	html_item(h, "td", r->paper_name);
	frame_number(h, call_printf(call, "%lld", (long long)r->count));
	write_size(h, say_size(call, r->torn_across_u, r->torn_along_u));
	write_size(h, say_size(call, r->across_u, r->along_u));
	html_item(h, "td", r->turn ? "either way" : "no");
	html_open(h, "td", NULL);
	html_name(h, r->note);
	html_close(h, "td");
	if (may_change(call)) {
		html_open(h, "td", NULL);
		html_open(h, "a", NULL);
		html_attrf(
		    h, "href", "/requests/%lld", (long long)r->request_id);
		html_attrf(h, "aria-label", "Change %lld sheets of %s",
		    (long long)r->count, r->member_name);
		html_text(h, "Change");
		html_close(h, "a");
		html_close(h, "td");
	}
	html_close(h, "tr");
}

static void write_table(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	int64_t sheets = 0;

	frame_scroll(h, "All requests");
	html_open(h, "table", NULL);
	write_head(h, may_change(call));
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < l->n_requests; i++) {
		write_row(call, h, &l->requests[i]);
		sheets += l->requests[i].count;
	}
	html_close(h, "tbody");
	html_open(h, "tfoot", NULL);
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", "colspan", "2", NULL);
	html_text(h, "All");
	html_close(h, "th");
	frame_number(h, call_printf(call, "%lld", (long long)sheets));
	html_open(h, "td", "colspan", may_change(call) ? "5" : "4", NULL);
	html_close(h, "td");
	html_close(h, "tr");
	html_close(h, "tfoot");
	html_close(h, "table");
	frame_unscroll(h);
}

static bool may_enrol(const struct call *call)
{
	return call_has_role(call, ROLE_INSTRUCTOR | ROLE_OWNER);
}

static bool takes_part(const struct loaded *l, int64_t member_id)
{
	for (size_t i = 0; i < l->n_others; i++)
		if (l->others[i].member_id == member_id)
			return true;
	return false;
}

/* members: all of the studio; others: those who take part. */
static void write_enrol(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	struct choice *choices =
	    arena_array(call->arena, l->n_members + 1, sizeof(*choices));
	size_t n = 0;

	for (size_t i = 0; i < l->n_members; i++) {
		const struct member *m = &l->members[i];

		if (m->active && !takes_part(l, m->member_id))
			choices[n++] = (struct choice){
			    field_version(call, m->member_id), m->name};
	}
	if (n == 0)
		return;
	field_form(call, h,
	    call_printf(call, "/workshops/%lld/members",
		(long long)call->workshop.workshop_id),
	    NULL);
	field_choose(call, h,
	    &(struct field){
		.name = "member_id", .label = "Another member of the studio"},
	    choices, n);
	field_submit(h, "Let them take part", true);
	field_form_end(h);
}

static void write_members(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	const struct member *those = may_enrol(call) ? l->others : l->members;
	size_t n = may_enrol(call) ? l->n_others : l->n_members;

	html_itemf(h, "h2", "Who takes part: %s",
	    say_count(call, (int64_t)n, "member", "members"));
	if (n > 0)
		html_open(h, "ul", NULL);
	for (size_t i = 0; i < n; i++) {
		html_open(h, "li", NULL);
		html_name(h, those[i].name);
		html_close(h, "li");
	}
	if (n > 0)
		html_close(h, "ul");
	if (may_enrol(call))
		write_enrol(call, h);
}

static void write_requests(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "All requests",
		.workshop = &call->workshop,
		.tab = "/requests"});
	html_open(&h, "p", NULL);
	html_textf(&h, "%s.",
	    say_count(call, (int64_t)l->n_requests, "request", "requests"));
	if (l->more)
		html_text(&h, " The list is too long for one page and is cut.");
	html_close(&h, "p");
	if (l->n_requests)
		write_table(call, &h);
	write_members(call, &h);
	frame_answer(call, status, &h);
}

static void with_enrolled(struct call *call)
{
	if (!may_enrol(call)) {
		write_requests(call);
		return;
	}
	load_put_aside(call);
	load_members(call, write_requests);
}

static void with_requests(struct call *call)
{
	load_enrolled(call, with_enrolled);
}

void page_requests(struct call *call)
{
	call->state = NULL;
	load_requests(call, 0, with_requests);
}

/* ---- letting a member take part ---- */

static void on_enrolled(
    struct call *call, const struct member *member, bool is_new)
{
	(void)member;
	(void)is_new;
	call_answer_redirect(
	    call, call_printf(call, "/workshops/%lld/requests?said=enrolled",
		      (long long)call->workshop.workshop_id));
}

void page_enrol_post(struct call *call)
{
	int64_t member_id = form_number(call->form, "member_id", 0);

	call->on_fail = page_requests;
	if (member_id == 0)
		call_fault(call, "/member_id", "Choose one of the list.",
		    "the member is missing");
	if (!call_is_faulty(call))
		act_workshop_enrol(call, member_id, on_enrolled);
}
