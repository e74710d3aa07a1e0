/* SPDX-License-Identifier: MIT */
/*
 * page_money.c - the shares of a workshop, its invoice, who has paid.
 *
 * An invoice is charged in two steps: the first page shows what everybody would be charged,
 * reckoned by the same code, and its button charges it (WCAG 3.3.4).
 */
#include "pages.h"

#include <string.h>

#include "act_money.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "money_parts.h"
#include "read.h"
#include "say.h"

const char *money_path(struct call *call, const char *more)
{
	return call_printf(call, "/workshops/%lld%s",
	    (long long)call->workshop.workshop_id, more);
}

static bool may_book(const struct call *call)
{
	return call_has_role(call, ROLE_TREASURER | ROLE_OWNER);
}

const char *money_major(struct call *call, money m)
{
	char text[MONEY_TEXT_MAX];

	money_print(text, m, call->caller.studio.currency);
	return call_printf(call, "%.*s", (int)strcspn(text, " "), text);
}

/* ---- who owes what ---- */

static void write_shares_head(struct html *h)
{
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Member", false);
	frame_head(h, "Sheets", true);
	frame_head(h, "Share", true);
	frame_head(h, "Charged", true);
	frame_head(h, "Paid", true);
	frame_head(h, "Still to pay", true);
	html_close(h, "tr");
	html_close(h, "thead");
}

/* With the way to the statement, for those who may see it. */
static void write_name(
    struct call *call, struct html *h, const struct share_row *row)
{
	bool linked = call_has_role(call, ROLE_TREASURER | ROLE_OWNER);

	if (linked)
		html_open(h, "a", "href",
		    call_printf(call, "/members/%lld/statement?workshop=%lld",
			(long long)row->member_id,
			(long long)call->workshop.workshop_id),
		    NULL);
	html_name(h, row->member_name);
	if (linked)
		html_close(h, "a");
}

static void write_share(
    struct call *call, struct html *h, const struct share_row *row)
{
	money balance = row->charged_minor - row->paid_minor;

	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	write_name(call, h, row);
	html_close(h, "th");
	frame_number(h, call_printf(call, "%lld", (long long)row->sheets));
	frame_number(h, say_money(call, row->share_minor));
	frame_number(h, say_money(call, row->charged_minor));
	frame_number(h, say_money(call, row->paid_minor));
	frame_number(h, balance == 0 && row->charged_minor > 0
			    ? "settled"
			    : say_money(call, balance));
	html_close(h, "tr");
}

static void write_shares_foot(
    struct call *call, struct html *h, const struct shares *shares)
{
	struct share_row all = {0};

	for (size_t i = 0; i < shares->n_items; i++) {
		all.sheets += shares->items[i].sheets;
		all.share_minor += shares->items[i].share_minor;
		all.charged_minor += shares->items[i].charged_minor;
		all.paid_minor += shares->items[i].paid_minor;
	}
	html_open(h, "tfoot", NULL);
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_text(h, "All");
	html_close(h, "th");
	frame_number(h, call_printf(call, "%lld", (long long)all.sheets));
	frame_number(h, say_money(call, all.share_minor));
	frame_number(h, say_money(call, all.charged_minor));
	frame_number(h, say_money(call, all.paid_minor));
	frame_number(h, say_money(call, all.charged_minor - all.paid_minor));
	html_close(h, "tr");
	html_close(h, "tfoot");
}

static void write_shares(
    struct call *call, struct html *h, const struct shares *shares)
{
	frame_scroll(h, "Shares");
	html_open(h, "table", NULL);
	write_shares_head(h);
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < shares->n_items; i++)
		write_share(call, h, &shares->items[i]);
	html_close(h, "tbody");
	write_shares_foot(call, h, shares);
	html_close(h, "table");
	frame_unscroll(h);
	html_open(h, "p", NULL);
	html_textf(h, "%s of %s, and the shares add up to %s.",
	    shares->invoiced ? "The invoice is" : "The plan has a price",
	    say_money(call, shares->invoice_minor),
	    say_money(call, shares->sum_minor));
	html_close(h, "p");
}

/* ---- the invoice ---- */

static const char *invoice_field(struct call *call, int64_t paper_id)
{
	return call_printf(call, "invoice-%lld", (long long)paper_id);
}

static void write_invoice_form(
    struct call *call, struct html *h, const struct shares *shares)
{
	html_item(h, "h2",
	    shares->invoiced ? "The invoice has changed" : "Enter the invoice");
	html_open(h, "p", "class", "text", NULL);
	html_text(h,
	    shares->invoiced
		? "Give the whole new amounts: everybody is charged, or "
		  "credited, the difference."
		: "What the paper really cost, with tax and shipping. You see "
		  "everybody's share before anything is charged.");
	html_close(h, "p");
	field_form(call, h, money_path(call, "/invoice/look"), NULL);
	for (size_t i = 0; i < shares->n_papers; i++) {
		const struct share_paper *p = &shares->papers[i];

		if (p->by_lines)
			continue;
		field_line(call, h,
		    &(struct field){.name = invoice_field(call, p->paper_id),
			.label = call_printf(call, "%s, in %s", p->paper_name,
			    call->caller.studio.currency),
			.mode = "decimal",
			.small = true,
			.value = money_major(call, p->invoice_minor)});
	}
	field_submit(h, "Show the shares first", false);
	field_form_end(h);
}

static size_t read_invoices(
    struct call *call, const struct shares *shares, struct invoice *invoices)
{
	size_t n = 0;

	for (size_t i = 0; i < shares->n_papers; i++) {
		const struct share_paper *p = &shares->papers[i];

		if (p->by_lines)
			continue;
		invoices[n++] = (struct invoice){p->paper_id,
		    read_money(call, invoice_field(call, p->paper_id),
			call_printf(call, "the amount for %s", p->paper_name))};
	}
	return n;
}

static void write_due(
    struct call *call, struct html *h, const struct shares *shares)
{
	money sum = 0;

	frame_scroll(h, "Shares of this invoice");
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Member", false);
	frame_head(h, "Share", true);
	frame_head(h, "Charged so far", true);
	frame_head(h, "To be charged now", true);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < shares->n_items; i++) {
		const struct share_row *row = &shares->items[i];

		html_open(h, "tr", NULL);
		html_open(h, "th", "scope", "row", NULL);
		html_name(h, row->member_name);
		html_close(h, "th");
		frame_number(h, say_money(call, row->share_minor));
		frame_number(h, say_money(call, row->charged_minor));
		frame_number(
		    h, say_money(call, row->share_minor - row->charged_minor));
		html_close(h, "tr");
		sum += row->share_minor;
	}
	html_close(h, "tbody");
	html_open(h, "tfoot", NULL);
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_text(h, "All together");
	html_close(h, "th");
	frame_number(h, say_money(call, sum));
	html_open(h, "td", "colspan", "2", NULL);
	html_close(h, "td");
	html_close(h, "tr");
	html_close(h, "tfoot");
	html_close(h, "table");
	frame_unscroll(h);
}

static void begin(struct call *call, struct html *h, const char *title)
{
	frame_begin(call, h,
	    &(struct frame){
		.title = title, .workshop = &call->workshop, .tab = "/money"});
}

static void on_looked(struct call *call, const struct shares *shares)
{
	struct html h;

	begin(call, &h, "Charge these shares?");
	html_open(&h, "p", "class", "text", NULL);
	html_text(&h, "Everybody who takes part is charged. What is charged "
		      "stays in the ledger; a corrected invoice charges or "
		      "credits the difference.");
	html_close(&h, "p");
	write_due(call, &h, shares);
	field_form(call, &h, money_path(call, "/invoice"), NULL);
	for (size_t i = 0; i < shares->n_papers; i++)
		if (!shares->papers[i].by_lines)
			field_hidden(&h,
			    invoice_field(call, shares->papers[i].paper_id),
			    money_major(call, shares->papers[i].invoice_minor));
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Charge these shares", false);
	frame_button(&h, money_path(call, "/money"), "Not yet", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, 200, &h);
}

static void on_look(struct call *call, const struct shares *shares)
{
	struct invoice *invoices =
	    arena_array(call->arena, shares->n_papers + 1, sizeof(*invoices));
	size_t n = read_invoices(call, shares, invoices);
	struct html h;

	for (size_t i = 0; i < n; i++)
		if (invoices[i].amount_minor < 0 ||
		    invoices[i].amount_minor > AMOUNT_MAX)
			call_fault(call,
			    call_printf(call, "/%s",
				invoice_field(call, invoices[i].paper_id)),
			    "Give the amount of the invoice.",
			    "this amount is out of range");
	if (call->n_faults > 0) {
		err_set(&call->err, ERR_INPUT, "%s", call->faults[0].text);
		begin(call, &h, "Enter the invoice");
		write_invoice_form(call, &h, shares);
		frame_answer(call, 422, &h);
		return;
	}
	act_settle_look(call, invoices, n, on_looked);
}

void page_invoice_look_post(struct call *call)
{
	act_shares(call, on_look);
}

static void on_settled(
    struct call *call, const struct settlement_row *settlement)
{
	(void)settlement;
	call_answer_redirect(call, money_path(call, "/money?said=invoiced"));
}

static void on_shares_to_settle(struct call *call, const struct shares *shares)
{
	struct invoice *invoices =
	    arena_array(call->arena, shares->n_papers + 1, sizeof(*invoices));
	size_t n = read_invoices(call, shares, invoices);

	if (!call_is_faulty(call))
		act_settle(call, invoices, n, on_settled);
}

void page_invoice_post(struct call *call)
{
	call->on_fail = page_money;
	act_shares(call, on_shares_to_settle);
}

/* ---- the page ---- */

static void on_shares(struct call *call, const struct shares *shares)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	begin(call, &h, "Money");
	write_shares(call, &h, shares);
	if (may_book(call)) {
		html_open(&h, "div", "class", "buttons", NULL);
		frame_button(
		    &h, money_path(call, "/account"), "The account", true);
		frame_button(&h, "/reminders", "Who still owes", true);
		html_close(&h, "div");
		write_invoice_form(call, &h, shares);
		html_open(&h, "div", "class", "buttons", NULL);
		frame_button(&h, money_path(call, "/invoices"),
		    "Invoices, line by line", true);
		frame_button(&h, money_path(call, "/bookings"),
		    "Give back, put right, carry on", true);
		html_close(&h, "div");
		if (shares->n_items > 0)
			pay_write_form(call, &h, shares);
		pay_write_entries(call, &h);
	}
	frame_answer(call, status, &h);
}

static void with_entries(struct call *call)
{
	act_shares(call, on_shares);
}

void page_money(struct call *call)
{
	struct html h;

	call->state = NULL;
	if (call->workshop.accepted_plan_id == 0) {
		begin(call, &h, "Money");
		html_item(&h, "p",
		    "There is nothing to split yet: the shares come from the "
		    "accepted plan.");
		frame_answer(
		    call, call->form ? frame_status_of(call) : 200, &h);
		return;
	}
	load_entries(call, 0, with_entries);
}
