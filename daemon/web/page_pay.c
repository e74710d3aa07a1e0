/* SPDX-License-Identifier: MIT */
/*
 * page_pay.c - payments: booked in two steps, reversed in two steps, never changed.
 */
#include "pages.h"

#include "act_money.h"
#include "act_people.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "money_parts.h"
#include "read.h"
#include "say.h"

static const char *id_text(struct call *call, int64_t id)
{
	return call_printf(call, "%lld", (long long)id);
}

/* ---- the form ---- */

static void write_payer(
    struct call *call, struct html *h, const struct shares *shares)
{
	struct choice *choices =
	    arena_array(call->arena, shares->n_items + 1, sizeof(*choices));

	for (size_t i = 0; i < shares->n_items; i++) {
		const struct share_row *row = &shares->items[i];

		choices[i] = (struct choice){id_text(call, row->member_id),
		    call_printf(call, "%s (still %s)", row->member_name,
			say_money(call, row->charged_minor - row->paid_minor))};
	}
	field_choose(call, h,
	    &(struct field){.name = "member_id", .label = "Who has paid"},
	    choices, shares->n_items);
}

void pay_write_form(
    struct call *call, struct html *h, const struct shares *shares)
{
	html_item(h, "h2", "Book a payment");
	field_form(call, h, money_path(call, "/payments/look"), NULL);
	write_payer(call, h, shares);
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){.name = "amount_minor",
		.label = call_printf(
		    call, "Amount in %s", call->caller.studio.currency),
		.mode = "decimal",
		.small = true});
	field_line(call, h,
	    &(struct field){.name = "paid_on",
		.label = "Paid on",
		.type = "date",
		.optional = true});
	field_line(call, h,
	    &(struct field){.name = "method",
		.label = "How",
		.hint = "Cash, transfer.",
		.optional = true});
	field_line(call, h,
	    &(struct field){
		.name = "reference", .label = "Reference", .optional = true});
	html_close(h, "div");
	field_submit(h, "Look at it first", false);
	field_form_end(h);
}

static bool read_payment(struct call *call, struct entry_row *entry)
{
	*entry = (struct entry_row){
	    .studio_id = call->caller.studio_id,
	    .workshop_id = call->workshop.workshop_id,
	    .kind = BOOKING_PAYMENT,
	    .reason = "",
	};
	entry->member_id = form_number(call->form, "member_id", 0);
	if (entry->member_id == 0)
		call_fault(call, "/member_id", "Choose one of the list.",
		    "who has paid is missing");
	entry->amount_minor = read_money(call, "amount_minor", "the amount");
	if (call->n_faults == 0 &&
	    (entry->amount_minor < 1 || entry->amount_minor > AMOUNT_MAX))
		call_fault(call, "/amount_minor",
		    "Give what came in; money given back is a reversal.",
		    "a payment is more than nothing");
	entry->paid_on = read_day(call, "paid_on", "the day of payment", false);
	entry->method = read_line(call, "method", "how it was paid", false, 60);
	entry->reference = read_line(
	    call, "reference", "the reference", false, TEXT_MAX_SIGNS);
	return call->n_faults == 0;
}

/* ---- looking, then booking ---- */

static const char *name_of(const struct shares *shares, int64_t member_id)
{
	for (size_t i = 0; i < shares->n_items; i++)
		if (shares->items[i].member_id == member_id)
			return shares->items[i].member_name;
	return "";
}

static void begin(struct call *call, struct html *h, const char *title)
{
	frame_begin(call, h,
	    &(struct frame){
		.title = title, .workshop = &call->workshop, .tab = "/money"});
}

static void write_payment_facts(struct call *call, struct html *h,
    const struct entry_row *e, const char *name)
{
	html_open(h, "dl", "class", "facts", NULL);
	frame_fact(h, "From", name);
	frame_fact(h, "Amount", say_money(call, e->amount_minor));
	if (e->paid_on)
		frame_fact(h, "Paid on", say_day(call, e->paid_on));
	if (e->method && *e->method)
		frame_fact(h, "How", e->method);
	if (e->reference && *e->reference)
		frame_fact(h, "Reference", e->reference);
	html_close(h, "dl");
}

static void write_hidden(
    struct call *call, struct html *h, const struct entry_row *e)
{
	field_hidden(h, "member_id", id_text(call, e->member_id));
	field_hidden(h, "amount_minor", money_major(call, e->amount_minor));
	field_hidden(h, "paid_on", e->paid_on ? e->paid_on : "");
	field_hidden(h, "method", e->method);
	field_hidden(h, "reference", e->reference);
}

static void on_look(struct call *call, const struct shares *shares)
{
	struct entry_row entry;
	struct html h;

	if (!read_payment(call, &entry)) {
		err_set(&call->err, ERR_INPUT, "%s", call->faults[0].text);
		begin(call, &h, "Book a payment");
		pay_write_form(call, &h, shares);
		frame_answer(call, 422, &h);
		return;
	}
	begin(call, &h, "Book this payment?");
	write_payment_facts(call, &h, &entry, name_of(shares, entry.member_id));
	field_form(call, &h, money_path(call, "/payments"), NULL);
	write_hidden(call, &h, &entry);
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Book it", false);
	frame_button(&h, money_path(call, "/money"), "Not yet", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, 200, &h);
}

void page_pay_look_post(struct call *call)
{
	act_shares(call, on_look);
}

static void on_paid(struct call *call, const struct entry_row *entry)
{
	(void)entry;
	call_answer_redirect(call, money_path(call, "/money?said=paid"));
}

void page_pay_post(struct call *call)
{
	struct entry_row entry;

	call->on_fail = page_money;
	read_payment(call, &entry);
	if (!call_is_faulty(call))
		act_book(call, &entry, 0, on_paid);
}

/* ---- what was booked ---- */

static const char *kind_of(struct call *call, const struct entry_row *e)
{
	const char *kind = booking_kind_name(e->kind);

	return e->reversed_by_id ? call_printf(call, "%s, reversed", kind)
				 : kind;
}

static void write_entry(
    struct call *call, struct html *h, const struct entry_row *e)
{
	html_open(h, "tr", NULL);
	frame_number(h, id_text(call, e->entry_id));
	html_open(h, "td", NULL);
	html_name(h, e->member_name);
	html_close(h, "td");
	html_item(h, "td", kind_of(call, e));
	frame_number(h, say_money(call, e->amount_minor));
	html_item(h, "td",
	    e->paid_on ? say_day(call, e->paid_on)
		       : say_instant(call, e->created_at));
	html_open(h, "td", NULL);
	if (e->settlement_id == 0 && e->kind != BOOKING_REVERSAL &&
	    !e->reversed_by_id) {
		html_open(h, "a", NULL);
		html_attrf(h, "href", "/payments/%lld/reverse",
		    (long long)e->entry_id);
		html_attrf(h, "aria-label", "Reverse %s %lld",
		    booking_kind_name(e->kind), (long long)e->entry_id);
		html_text(h, "Reverse");
		html_close(h, "a");
	}
	html_close(h, "td");
	html_close(h, "tr");
}

void pay_write_entries(struct call *call, struct html *h)
{
	const struct loaded *l = loaded_of(call);

	if (l->n_entries == 0)
		return;
	html_item(h, "h2", "Ledger of this workshop");
	frame_scroll(h, "Ledger of this workshop");
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	frame_head(h, "Number", true);
	frame_head(h, "Member", false);
	frame_head(h, "What", false);
	frame_head(h, "Amount", true);
	frame_head(h, "When", false);
	frame_head(h, "Reverse", false);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < l->n_entries; i++)
		write_entry(call, h, &l->entries[i]);
	html_close(h, "tbody");
	html_close(h, "table");
	frame_unscroll(h);
}

/* ---- reversing ---- */

void page_reverse(struct call *call)
{
	const struct entry_row *e = &call->entry;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	begin(call, &h, "Reverse this payment?");
	write_payment_facts(call, &h, e, e->member_name ? e->member_name : "");
	html_item(&h, "p",
	    "The payment stays in the ledger; an entry against it is added.");
	field_form(call, &h,
	    call_printf(call, "/payments/%lld/reverse", (long long)e->entry_id),
	    NULL);
	field_line(call, &h,
	    &(struct field){.name = "reason",
		.label = "Why",
		.hint = "It stands in the ledger."});
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Reverse it", false);
	frame_button(&h, money_path(call, "/money"), "Leave it", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, status, &h);
}

static void on_reversed(struct call *call, const struct entry_row *entry)
{
	(void)entry;
	call_answer_redirect(call, money_path(call, "/money?said=reversed"));
}

void page_reverse_post(struct call *call)
{
	const char *reason;

	call->on_fail = page_reverse;
	reason = read_line(call, "reason", "the reason", true, TEXT_MAX_SIGNS);
	if (!call_is_faulty(call))
		act_reverse(call, reason, on_reversed);
}
