/* SPDX-License-Identifier: MIT */
/*
 * account.c - a workshop's account, block by block.
 *
 * The treasurer's first question is whether it all agrees: what the paper cost, what is
 * charged, and a difference of nothing stand above everything else.
 */
#include "account.h"

#include "catalogue.h"
#include "reference.h"

static bool is_set(const char *s)
{
	return s != NULL && *s != '\0';
}

static const char *cash(
    struct folio *f, const struct account_input *input, money m)
{
	return amount_money(f->arena, &input->manner, m);
}

static money invoiced(const struct account_input *input)
{
	money sum = 0;

	for (size_t i = 0; i < input->n_invoices; i++)
		sum += input->invoices[i].counts ? input->invoices[i].total : 0;
	return sum;
}

money account_cost(const struct account_input *input)
{
	return invoiced(input) + input->estimated + input->used - input->kept;
}

static struct account_member all_of(const struct account_input *input)
{
	struct account_member all = {0};

	for (size_t i = 0; i < input->n_members; i++) {
		all.sheets += input->members[i].sheets;
		all.share += input->members[i].share;
		all.charged += input->members[i].charged;
		all.paid += input->members[i].paid;
	}
	return all;
}

/* ---- does it agree ---- */

static void tell_sum(struct folio *f, const struct account_input *input)
{
	struct account_member all = all_of(input);
	money cost = account_cost(input);

	folio_fact(f, _("Invoices"), cash(f, input, invoiced(input)), false);
	if (input->estimated != 0)
		folio_fact(f, _("Not invoiced yet, by the plan"),
		    cash(f, input, input->estimated), false);
	if (input->used != 0)
		folio_fact(f, _("Taken from the shelf"),
		    cash(f, input, input->used), false);
	if (input->kept != 0)
		folio_fact(f, _("Left on the shelf"),
		    cash(f, input, -input->kept), false);
	folio_fact(
	    f, _("Shared among the members"), cash(f, input, cost), true);
	folio_fact(f, _("Charged to them"), cash(f, input, all.charged), false);
	folio_fact(f, _("Still to be charged"),
	    cash(f, input, cost - all.charged), false);
	folio_fact(f, _("Paid"), cash(f, input, all.paid), false);
	folio_fact(
	    f, _("Outstanding"), cash(f, input, all.charged - all.paid), true);
	folio_fact(f, _("The studio's shelf is worth"),
	    cash(f, input, input->shelf_worth), false);
	if (input->n_trouble == 0)
		folio_text(f, _("The books agree."));
	for (size_t i = 0; i < input->n_trouble; i++)
		folio_text(
		    f, arena_printf(f->arena, _("THE BOOKS DO NOT AGREE: %s"),
			   input->trouble[i]));
}

/* ---- invoices ---- */

static void tell_invoices(struct folio *f, const struct account_input *input)
{
	folio_heading(f, _("Invoices"));
	if (input->n_invoices == 0) {
		folio_text(f, _("No invoice is in."));
		return;
	}
	folio_table(f, _("Invoices"),
	    (const struct folio_column[]){{_("Number, supplier"), false},
		{_("Entered as"), true}, {_("Dated"), false},
		{_("Total"), true}, {0}});
	for (size_t i = 0; i < input->n_invoices; i++) {
		const struct account_invoice *v = &input->invoices[i];
		const char *name = arena_printf(f->arena, "%s%s%s%s%s",
		    is_set(v->number) ? v->number : _("without a number"),
		    is_set(v->supplier) ? ", " : "",
		    is_set(v->supplier) ? v->supplier : "",
		    is_set(v->note) ? "; " : "",
		    is_set(v->note) ? v->note : "");
		folio_row(f, false,
		    (const char *const[]){name,
			arena_printf(
			    f->arena, "%lld", (long long)v->invoice_id),
			v->dated_on ? v->dated_on : "",
			cash(f, input, v->total)});
	}
	folio_row(f, true,
	    (const char *const[]){_("In force, together"), "", "",
		cash(f, input, invoiced(input))});
}

/* ---- members ---- */

static void member_row(struct folio *f, const struct account_input *input,
    const struct account_member *m, const char *name, bool total)
{
	folio_row(f, total,
	    (const char *const[]){name, cash(f, input, m->share),
		cash(f, input, m->charged), cash(f, input, m->paid),
		cash(f, input, m->charged - m->paid)});
}

static void tell_members(struct folio *f, const struct account_input *input)
{
	struct account_member all = all_of(input);

	folio_heading(f, _("Who has paid"));
	folio_table(f, _("Who has paid"),
	    (const struct folio_column[]){{_("Member"), false},
		{_("Share"), true}, {_("Charged"), true}, {_("Paid"), true},
		{_("Still to pay"), true}, {0}});
	for (size_t i = 0; i < input->n_members; i++)
		member_row(f, input, &input->members[i], input->members[i].name,
		    false);
	member_row(f, input, &all, _("Together"), true);
}

static void tell_payees(struct folio *f, const struct account_input *input)
{
	if (input->n_payees == 0)
		return;
	folio_heading(f, _("Where the money is"));
	folio_table(f, _("Where the money is"),
	    (const struct folio_column[]){
		{_("Held by"), false}, {_("Amount"), true}, {0}});
	for (size_t i = 0; i < input->n_payees; i++)
		folio_row(f, false,
		    (const char *const[]){input->payees[i].name
					      ? input->payees[i].name
					      : _("the studio"),
			cash(f, input, input->payees[i].amount)});
}

static void tell_shelf(struct folio *f, const struct account_input *input)
{
	if (input->n_shelf == 0)
		return;
	folio_heading(f, _("The shelf"));
	folio_table(f, _("The shelf"),
	    (const struct folio_column[]){
		{_("What"), false}, {_("Value"), true}, {0}});
	for (size_t i = 0; i < input->n_shelf; i++)
		folio_row(f, false,
		    (const char *const[]){input->shelf[i].what,
			cash(f, input, input->shelf[i].amount)});
}

static void tell_entries(struct folio *f, const struct account_input *input)
{
	money sum = 0;

	folio_heading(f, _("Ledger"));
	if (input->n_entries == 0) {
		folio_text(f, _("Nothing is charged and nothing is paid."));
		return;
	}
	folio_table(f, _("Ledger"),
	    (const struct folio_column[]){{_("What, and for whom"), false},
		{_("Entry"), true}, {_("On"), false}, {_("Amount"), true},
		{0}});
	for (size_t i = 0; i < input->n_entries; i++) {
		const struct entry_line *e = &input->entries[i];
		folio_row(f, false,
		    (const char *const[]){
			arena_printf(f->arena, "%s; %s",
			    entry_words(e, f->arena), e->member),
			arena_printf(f->arena, "%lld", (long long)e->entry_id),
			e->on, cash(f, input, e->amount)});
		sum += e->amount;
	}
	folio_row(f, true,
	    (const char *const[]){
		_("Outstanding"), "", "", cash(f, input, sum)});
}

struct folio *account_folio(const struct account_input *input)
{
	struct folio *f = NULL;

	catalogue_use(input->language);
	f = folio_new(&(struct folio_about){.title = _("Account of a workshop"),
	    .studio = input->studio,
	    .workshop = input->workshop,
	    .made = input->made,
	    .language = input->language,
	    .page = input->page});
	tell_sum(f, input);
	tell_invoices(f, input);
	tell_members(f, input);
	tell_payees(f, input);
	tell_shelf(f, input);
	tell_entries(f, input);
	return f;
}

/* ---- reminders ---- */

static const char *due_words(struct folio *f, const struct reminder *r)
{
	if (!is_set(r->due_on))
		return "";
	return r->late_days > 0
		   ? arena_printf(f->arena, _("%s, %lld days late"), r->due_on,
			 (long long)r->late_days)
		   : r->due_on;
}

struct folio *reminders_folio(const struct reminders_input *input)
{
	struct folio *f = NULL;
	money sum = 0;

	catalogue_use(input->language);
	f = folio_new(&(struct folio_about){.title = _("Who still owes"),
	    .studio = input->studio,
	    .made = input->made,
	    .language = input->language,
	    .page = input->page});
	if (input->n == 0) {
		folio_text(f, _("Nobody owes anything."));
		return f;
	}
	folio_table(f, _("Who still owes"),
	    (const struct folio_column[]){
		{_("Member, workshop, contact"), false},
		{_("Still to pay"), true}, {_("Since"), false},
		{_("By"), false}, {_("Reference"), false}, {0}});
	for (size_t i = 0; i < input->n; i++) {
		const struct reminder *r = &input->items[i];
		char grouped[GROUPED_MAX];
		folio_row(f, false,
		    (const char *const[]){
			arena_printf(f->arena, "%s, %s%s%s", r->name,
			    r->workshop, is_set(r->contact) ? ", " : "",
			    is_set(r->contact) ? r->contact : ""),
			amount_money(f->arena, &input->manner, r->owed),
			r->since, due_words(f, r),
			r->reference ? grouped_by_four(grouped, r->reference)
				     : ""});
		sum += r->owed;
	}
	folio_row(f, true,
	    (const char *const[]){_("Together"),
		amount_money(f->arena, &input->manner, sum), "", "", ""});
	return f;
}
