/* SPDX-License-Identifier: MIT */
/*
 * page_share.c - what one member owes, and why: "why do I pay 14.37?" answered in one line a paper.
 */
#include "pages.h"

#include "act_money.h"
#include "frame.h"
#include "load.h"
#include "share_lines.h"
#include "say.h"

/* ---- the derivation ---- */

static const struct share_paper *paper_of(
    const struct shares *shares, int64_t paper_id)
{
	for (size_t i = 0; i < shares->n_papers; i++)
		if (shares->papers[i].paper_id == paper_id)
			return &shares->papers[i];
	return NULL;
}

static void write_line(struct call *call, struct html *h,
    const struct share_paper *paper, const struct share_part *part)
{
	money cost = paper->shared_minor;

	html_open(h, "li", NULL);
	html_name(h, paper->paper_name);
	html_textf(h, ": %s \u00d7 %s \u00f7 %s = %s, ", say_money(call, cost),
	    say_area(call, part->area_uu), say_area(call, paper->area_uu),
	    say_exact_share(call, cost, part->area_uu, paper->area_uu));
	html_item(h, "strong", say_money(call, part->share_minor));
	html_textf(h, "%s",
	    (wide)part->share_minor * paper->area_uu >
		    (wide)cost * part->area_uu
		? " with an odd cent"
		: "");
	html_close(h, "li");
}

void share_lines(struct call *call, struct html *h, const struct shares *shares,
    const struct share_row *row)
{
	html_open(h, "p", NULL);
	html_text(h,
	    "Cost of the paper \u00d7 your torn area \u00f7 the torn area "
	    "of all, to the exact cent:");
	html_close(h, "p");
	html_open(h, "ul", "class", "number", NULL);
	for (size_t i = 0; i < row->n_parts; i++) {
		const struct share_paper *paper =
		    paper_of(shares, row->parts[i].paper_id);

		if (paper)
			write_line(call, h, paper, &row->parts[i]);
	}
	html_close(h, "ul");
}

/* ---- the page ---- */

static void write_entries(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);
	size_t n = 0;

	for (size_t i = 0; i < l->n_entries; i++)
		n += l->entries[i].settlement_id == 0 &&
		     l->entries[i].member_id == call->caller.member_id;
	if (n == 0)
		return;
	html_item(h, "h2", "Payments");
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < l->n_entries; i++) {
		const struct entry_row *e = &l->entries[i];

		if (e->settlement_id != 0 ||
		    e->member_id != call->caller.member_id)
			continue;
		html_open(h, "li", NULL);
		html_textf(h, "%s, %s%s%s", say_money(call, e->amount_minor),
		    e->paid_on ? say_day(call, e->paid_on)
			       : say_instant(call, e->created_at),
		    e->kind == BOOKING_REVERSAL ? ", reverses a payment" : "",
		    e->reversed_by_id ? ", reversed later" : "");
		html_close(h, "li");
	}
	html_close(h, "ul");
}

static void begin(struct call *call, struct html *h)
{
	frame_begin(call, h,
	    &(struct frame){.title = "Your share",
		.workshop = &call->workshop,
		.tab = "/share"});
}

static void write_balance(
    struct call *call, struct html *h, const struct share_row *row)
{
	money balance = row->charged_minor - row->paid_minor;

	html_open(h, "dl", "class", "facts number", NULL);
	html_item(h, "dt", "Your share");
	html_open(h, "dd", "class", "size", NULL);
	html_text(h, say_money(call, row->share_minor));
	html_close(h, "dd");
	frame_fact(h, "Charged", say_money(call, row->charged_minor));
	frame_fact(h, "Paid", say_money(call, row->paid_minor));
	frame_fact(h, balance < 0 ? "Paid too much" : "Still to pay",
	    say_money(call, balance < 0 ? -balance : balance));
	html_close(h, "dl");
}

static void on_shares(struct call *call, const struct shares *shares)
{
	const struct share_row *row = NULL;
	struct html h;

	for (size_t i = 0; i < shares->n_items; i++)
		if (shares->items[i].member_id == call->caller.member_id)
			row = &shares->items[i];
	begin(call, &h);
	if (!row) {
		html_item(&h, "p", "You asked for no sheets in this workshop.");
		frame_answer(call, 200, &h);
		return;
	}
	write_balance(call, &h, row);
	if (!shares->invoiced) {
		html_open(&h, "p", "class", "note", NULL);
		html_text(&h,
		    "This is reckoned from the price in the plan. When the "
		    "invoice is in, the exact share is charged.");
		html_close(&h, "p");
	}
	html_item(&h, "h2", "How it is reckoned");
	share_lines(call, &h, shares, row);
	write_entries(call, &h);
	frame_answer(call, 200, &h);
}

static void with_entries(struct call *call)
{
	act_shares(call, on_shares);
}

void page_share(struct call *call)
{
	struct html h;

	if (call->workshop.accepted_plan_id != 0) {
		load_entries(call, call->caller.member_id, with_entries);
		return;
	}
	begin(call, &h);
	html_item(
	    &h, "p", "There is no share yet: it comes from the accepted plan.");
	frame_answer(call, 200, &h);
}
