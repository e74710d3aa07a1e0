/* SPDX-License-Identifier: MIT */
/*
 * page_requests.c - everybody's requests, for those who run the studio.
 */
#include "pages.h"

#include "ask_form.h"
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

static void write_requests(struct call *call)
{
	const struct loaded *l = loaded_of(call);
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "All requests",
		.workshop = &call->workshop,
		.tab = "/requests"});
	html_open(&h, "p", NULL);
	html_textf(&h, "%s from %s who take part.",
	    say_count(call, (int64_t)l->n_requests, "request", "requests"),
	    say_count(call, (int64_t)l->n_members, "member", "members"));
	if (l->more)
		html_text(&h, " The list is too long for one page and is cut.");
	html_close(&h, "p");
	if (l->n_requests)
		write_table(call, &h);
	html_item(&h, "h2", "Who takes part");
	html_open(&h, "ul", NULL);
	for (size_t i = 0; i < l->n_members; i++) {
		html_open(&h, "li", NULL);
		html_name(&h, l->members[i].name);
		html_close(&h, "li");
	}
	html_close(&h, "ul");
	frame_answer(call, 200, &h);
}

static void with_requests(struct call *call)
{
	load_enrolled(call, write_requests);
}

void page_requests(struct call *call)
{
	load_requests(call, 0, with_requests);
}
