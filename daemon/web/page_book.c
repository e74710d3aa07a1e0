/* SPDX-License-Identifier: MIT */
/*
 * page_book.c - what a treasurer books beside payments: refunds, write-offs, corrections,
 * transfers, carried credit.  Each can be reversed, so one step is enough (WCAG 3.3.4).
 */
#include "pages.h"

#include <string.h>

#include "act_money.h"
#include "act_people.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "money_parts.h"
#include "read.h"
#include "say.h"

static const struct choice kinds[] = {
    {"refund", "give money back"},
    {"write-off", "give up what is owed"},
    {"correction", "put right: owes more"},
    {"correction-less", "put right: owes less"},
    {"transfer", "move a credit to another member"},
    {"carry", "carry a credit to another workshop"},
};
#define N_KINDS (sizeof(kinds) / sizeof(kinds[0]))
static const enum booking_kind booking_kinds[] = {BOOKING_REFUND,
    BOOKING_WRITE_OFF, BOOKING_CORRECTION, BOOKING_CORRECTION, BOOKING_TRANSFER,
    BOOKING_CARRY};

static const char *id_text(struct call *call, int64_t id)
{
	return call_printf(call, "%lld", (long long)id);
}

/* "" first, when there need be none. */
static struct choice *member_choices(
    struct call *call, const struct shares *shares, bool none, size_t *n)
{
	struct choice *choices =
	    arena_array(call->arena, shares->n_items + 1, sizeof(*choices));

	*n = 0;
	if (none)
		choices[(*n)++] = (struct choice){"", "nobody else"};
	for (size_t i = 0; i < shares->n_items; i++) {
		const struct share_row *row = &shares->items[i];
		money owed = row->charged_minor - row->paid_minor;

		choices[(*n)++] = (struct choice){id_text(call, row->member_id),
		    call_printf(call, "%s (%s %s)", row->member_name,
			owed < 0 ? "credit" : "still",
			say_money(call, owed < 0 ? -owed : owed))};
	}
	return choices;
}

static struct choice *workshop_choices(struct call *call, size_t *n)
{
	const struct loaded *l = loaded_of(call);
	struct choice *choices =
	    arena_array(call->arena, l->n_workshops + 1, sizeof(*choices));

	*n = 0;
	choices[(*n)++] = (struct choice){"", "no other workshop"};
	for (size_t i = 0; i < l->n_workshops; i++)
		if (l->workshops[i].workshop_id != call->workshop.workshop_id)
			choices[(*n)++] = (struct choice){
			    id_text(call, l->workshops[i].workshop_id),
			    l->workshops[i].name};
	return choices;
}

static void write_form(
    struct call *call, struct html *h, const struct shares *shares)
{
	size_t n_members, n_others, n_workshops;
	const struct choice *members =
	    member_choices(call, shares, false, &n_members);
	const struct choice *others =
	    member_choices(call, shares, true, &n_others);
	const struct choice *workshops = workshop_choices(call, &n_workshops);

	field_form(call, h, money_path(call, "/bookings"), NULL);
	field_choose(call, h, &(struct field){.name = "kind", .label = "What"},
	    kinds, N_KINDS);
	field_choose(call, h,
	    &(struct field){.name = "member_id", .label = "Whose"}, members,
	    n_members);
	field_line(call, h,
	    &(struct field){.name = "amount_minor",
		.label = call_printf(
		    call, "Amount in %s", call->caller.studio.currency),
		.mode = "decimal",
		.small = true});
	field_line(call, h,
	    &(struct field){.name = "reason",
		.label = "Why",
		.hint = "It stands in the ledger."});
	field_choose(call, h,
	    &(struct field){.name = "to_member_id", .label = "To which member"},
	    others, n_others);
	field_choose(call, h,
	    &(struct field){
		.name = "to_workshop_id", .label = "To which workshop"},
	    workshops, n_workshops);
	html_open(h, "div", "class", "buttons", NULL);
	field_submit(h, "Book it", false);
	frame_button(h, money_path(call, "/money"), "Not now", true);
	html_close(h, "div");
	field_form_end(h);
}

static void on_shares(struct call *call, const struct shares *shares)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Give back, put right, carry on",
		.workshop = &call->workshop,
		.tab = "/money"});
	if (shares->n_items == 0)
		html_item(&h, "p", "Nobody takes part yet.");
	else
		write_form(call, &h, shares);
	frame_answer(call, status, &h);
}

static void with_workshops(struct call *call)
{
	act_shares(call, on_shares);
}

void page_bookings(struct call *call)
{
	struct html h;

	call->state = NULL;
	if (call->workshop.accepted_plan_id != 0) {
		load_workshops(call, 0, with_workshops);
		return;
	}
	frame_begin(call, &h,
	    &(struct frame){.title = "Give back, put right, carry on",
		.workshop = &call->workshop,
		.tab = "/money"});
	html_item(&h, "p",
	    "There is nothing to book yet: the shares come from the accepted "
	    "plan.");
	frame_answer(call, call->form ? frame_status_of(call) : 200, &h);
}

static void on_booked(struct call *call, const struct entry_row *entry)
{
	(void)entry;
	call_answer_redirect(call, money_path(call, "/money?said=booked"));
}

static int64_t read_other(struct call *call, const char *name)
{
	int64_t id = form_number(call->form, name, 0);

	if (id == 0)
		call_fault(call, call_printf(call, "/%s", name),
		    "Choose one of the list.", "it says not to whom it goes");
	return id;
}

void page_bookings_post(struct call *call)
{
	struct entry_row e = {.method = "", .reference = ""};
	const char *kind = form_text(call->form, "kind");
	int64_t to = 0;
	size_t k = 0;

	call->on_fail = page_bookings;
	while (k < N_KINDS && strcmp(kinds[k].value, kind) != 0)
		k++;
	if (k == N_KINDS)
		call_fault(call, "/kind", "Choose one of the list.",
		    "what to book is missing");
	else
		e.kind = booking_kinds[k];
	e.member_id = form_number(call->form, "member_id", 0);
	if (e.member_id == 0)
		call_fault(call, "/member_id", "Choose one of the list.",
		    "whose it is is missing");
	e.amount_minor = read_money(call, "amount_minor", "the amount");
	if (strcmp(kind, "correction-less") == 0)
		e.amount_minor = -e.amount_minor;
	e.reason =
	    read_line(call, "reason", "the reason", true, TEXT_MAX_SIGNS);
	if (e.kind == BOOKING_TRANSFER)
		to = read_other(call, "to_member_id");
	if (e.kind == BOOKING_CARRY)
		to = read_other(call, "to_workshop_id");
	if (!call_is_faulty(call))
		act_book(call, &e, to, on_booked);
}
