/* SPDX-License-Identifier: MIT */
/*
 * page_invoice.c - the invoices of a workshop, line by line: read, entered, withdrawn.
 *
 * Nothing here charges anybody, and what is entered can be withdrawn, so one step is enough
 * (WCAG 3.3.4).  The lines of the form stand in rows of fields; rows that are left empty are no
 * lines.  What is wrong with a line is told at its row: "/lines/1/amount_minor" of the action
 * becomes the field "lines-2-amount_minor" when the second row was left empty.
 */
#include "pages.h"

#include <stdio.h>

#include "act_invoice.h"
#include "act_money.h"
#include "act_people.h"
#include "field.h"
#include "form.h"
#include "frame.h"
#include "load.h"
#include "money_parts.h"
#include "read.h"
#include "rows.h"
#include "say.h"

#define ROWS 8

struct invoices { /* of the page */
	struct call *call;
	struct invoice_row *items;
	size_t n;
	struct invoice_line_row *lines;
	size_t n_lines;
};

static void begin(struct call *call, struct html *h, const char *title)
{
	frame_begin(call, h,
	    &(struct frame){
		.title = title, .workshop = &call->workshop, .tab = "/money"});
}

static const char *row_field(struct call *call, size_t row, const char *member)
{
	return call_printf(call, "lines-%zu-%s", row, member);
}

/* ---- what is there ---- */

static const char *line_words(
    struct call *call, const struct invoice_line_row *l)
{
	const struct paper_row *paper =
	    loaded_paper(loaded_of(call), l->paper_id);
	const char *what = l->description;

	if (l->kind == LINE_TAX && l->tax_rate_ppm >= 0)
		what = call_printf(
		    call, "%s %%", percent_text(call, l->tax_rate_ppm));
	if (l->count)
		what =
		    call_printf(call, "%s%s%lld at %s", what, *what ? ", " : "",
			(long long)l->count, say_money(call, l->unit_minor));
	return call_printf(call, "%s%s%s%s%s", line_kind_name(l->kind),
	    paper ? ", " : "", paper ? paper->name : "", *what ? ", " : "",
	    what);
}

static const char *state_of(struct call *call, const struct invoice_row *i)
{
	if (i->withdrawn)
		return call_printf(
		    call, "withdraws invoice %lld", (long long)i->replaces_id);
	if (i->replaced_by_id)
		return call_printf(
		    call, "replaced by %lld", (long long)i->replaced_by_id);
	return i->tax_included ? "tax included" : "";
}

static void write_invoice(struct call *call, struct html *h,
    const struct invoices *all, const struct invoice_row *i)
{
	const char *state = state_of(call, i);

	html_open(h, "h2", NULL);
	html_textf(h, "Invoice %lld", (long long)i->invoice_id);
	html_close(h, "h2");
	html_open(h, "dl", "class", "facts", NULL);
	if (*i->number)
		frame_fact(h, "Number", i->number);
	if (*i->supplier)
		frame_fact(h, "Supplier", i->supplier);
	if (i->dated_on)
		frame_fact(h, "Date", say_day(call, i->dated_on));
	frame_fact(h, "Total", say_money(call, i->total_minor));
	if (*state)
		frame_fact(h, "State", state);
	if (*i->reason)
		frame_fact(h, "Why", i->reason);
	html_close(h, "dl");
	if (i->n_lines > 0) {
		html_open(h, "ul", NULL);
		for (size_t k = 0; k < all->n_lines; k++)
			if (all->lines[k].invoice_id == i->invoice_id) {
				html_open(h, "li", NULL);
				html_textf(h, "%s: %s",
				    line_words(call, &all->lines[k]),
				    say_money(
					call, all->lines[k].amount_minor));
				html_close(h, "li");
			}
		html_close(h, "ul");
	}
	if (!i->replaced_by_id && !i->withdrawn)
		frame_button(h,
		    call_printf(call, "/invoices/%lld/withdraw",
			(long long)i->invoice_id),
		    call_printf(call, "Withdraw invoice %lld",
			(long long)i->invoice_id),
		    true);
}

/* ---- the form ---- */

static void write_row(struct call *call, struct html *h, size_t row,
    const struct choice *papers, size_t n_papers)
{
	static const struct choice kinds[] = {{"", "no line"},
	    {"rolls", "rolls or sheets"}, {"shipping", "shipping"},
	    {"tax", "tax"}, {"discount", "discount"}, {"other", "other"}};

	html_open(h, "fieldset", NULL);
	html_open(h, "legend", NULL);
	html_textf(h, "Line %zu", row + 1);
	html_close(h, "legend");
	html_open(h, "div", "class", "pair", NULL);
	field_choose(call, h,
	    &(struct field){
		.name = row_field(call, row, "kind"), .label = "Kind"},
	    kinds, sizeof(kinds) / sizeof(kinds[0]));
	field_choose(call, h,
	    &(struct field){
		.name = row_field(call, row, "paper_id"), .label = "Paper"},
	    papers, n_papers);
	field_line(call, h,
	    &(struct field){.name = row_field(call, row, "tax_percent"),
		.label = "Words, or the rate of tax in %",
		.optional = true});
	field_line(call, h,
	    &(struct field){.name = row_field(call, row, "count"),
		.label = "How many",
		.mode = "numeric",
		.small = true,
		.optional = true});
	field_line(call, h,
	    &(struct field){.name = row_field(call, row, "amount_minor"),
		.label = "Amount, or the price of one",
		.mode = "decimal",
		.small = true,
		.optional = true});
	html_close(h, "div");
	html_close(h, "fieldset");
}

static size_t paper_choices(struct call *call, struct choice *choices)
{
	const struct loaded *l = loaded_of(call);
	size_t n = 0;

	choices[n++] = (struct choice){"", "of the whole order"};
	for (size_t i = 0; i < l->n_papers; i++)
		if (workshop_has_paper(&call->workshop, l->papers[i].paper_id))
			choices[n++] = (struct choice){
			    call_printf(
				call, "%lld", (long long)l->papers[i].paper_id),
			    l->papers[i].name};
	return n;
}

static void write_form(struct call *call, struct html *h)
{
	struct choice *papers = arena_array(
	    call->arena, loaded_of(call)->n_papers + 1, sizeof(*papers));
	size_t n = paper_choices(call, papers);

	html_item(h, "h2", "Enter an invoice");
	html_open(h, "p", "class", "text", NULL);
	html_text(h,
	    "As it is printed: every line, and the total. A discount is "
	    "taken off by itself. Tax is what the invoice says; follow your "
	    "local rules. Nobody is charged before you charge the shares.");
	html_close(h, "p");
	field_form(call, h, money_path(call, "/invoices"), NULL);
	html_open(h, "div", "class", "pair", NULL);
	field_line(call, h,
	    &(struct field){
		.name = "number", .label = "Number", .optional = true});
	field_line(call, h,
	    &(struct field){
		.name = "supplier", .label = "Supplier", .optional = true});
	field_line(call, h,
	    &(struct field){.name = "dated_on",
		.label = "Date",
		.type = "date",
		.optional = true});
	field_line(call, h,
	    &(struct field){.name = "total_minor",
		.label = call_printf(
		    call, "Total in %s", call->caller.studio.currency),
		.mode = "decimal",
		.small = true});
	html_close(h, "div");
	field_tick(call, h,
	    &(struct field){.name = "tax_included",
		.label = "Tax is in the other lines: told, not added"},
	    field_is_ticked(call, "tax_included"));
	for (size_t row = 0; row < ROWS; row++)
		write_row(call, h, row, papers, n);
	field_submit(h, "Enter the invoice", false);
	field_form_end(h);
}

/* ---- the page ---- */

static bool row_is_line(const struct call *call, size_t row)
{
	char name[40];

	snprintf(name, sizeof(name), "lines-%zu-kind", row);
	return *form_text(call->form, name) != '\0';
}

/* From the lines that were sent to the rows they stood in. */
static void tell_at_rows(struct call *call)
{
	size_t rows[ROWS], n = 0;

	for (size_t row = 0; row < ROWS; row++)
		if (row_is_line(call, row))
			rows[n++] = row;
	for (size_t i = 0; i < call->n_faults; i++) {
		struct fault *f = &call->faults[i];
		size_t line = 0;
		char member[40];

		if (sscanf(f->pointer, "/lines/%zu/%39s", &line, member) == 2 &&
		    line < n)
			f->pointer = call_printf(
			    call, "/%s", row_field(call, rows[line], member));
	}
}

static void write_page(struct call *call, const struct invoices *all)
{
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	if (call->form)
		tell_at_rows(call);
	begin(call, &h, "Invoices");
	if (all->n == 0)
		html_item(&h, "p", "No invoice is entered yet.");
	for (size_t i = 0; i < all->n; i++)
		write_invoice(call, &h, all, &all->items[i]);
	write_form(call, &h);
	frame_button(
	    &h, money_path(call, "/money"), "Back to the shares", true);
	frame_answer(call, status, &h);
}

static void on_lines(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct invoices *all = ctx;
	struct call *call = all->call;
	const struct invoice_line_row *lines = rows;

	if (call_failed(call, err))
		return;
	all->lines = arena_array(call->arena, n + 1, sizeof(*all->lines));
	all->n_lines = n;
	for (size_t i = 0; i < n; i++)
		all->lines[i] = row_keep_line(call->arena, &lines[i]);
	write_page(call, all);
}

static void on_invoices(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct invoices *all = call_alloc(call, sizeof(*all));
	const struct invoice_row *invoices = rows;

	if (call_failed(call, err))
		return;
	all->items = arena_array(call->arena, n + 1, sizeof(*all->items));
	all->n = n;
	for (size_t i = 0; i < n; i++)
		all->items[i] = row_keep_invoice(call->arena, &invoices[i]);
	all->call = call;
	store_invoice_lines(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, 0, on_lines, all);
}

static void with_papers(struct call *call)
{
	store_invoices(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, true, on_invoices, call);
}

void page_invoices(struct call *call)
{
	call->state = NULL;
	load_papers(call, with_papers);
}

/* ---- entering ---- */

static void read_row(
    struct call *call, size_t row, struct invoice_line_row *line)
{
	const char *words = read_line(call, row_field(call, row, "tax_percent"),
	    "the words", false, TEXT_MAX_SIGNS);
	money amount = read_money(call, row_field(call, row, "amount_minor"),
	    call_printf(call, "the amount of line %zu", row + 1));

	line->kind =
	    line_kind_from(form_text(call->form, row_field(call, row, "kind")));
	if (line->kind < 0)
		call_fault(call,
		    call_printf(call, "/%s", row_field(call, row, "kind")),
		    "Choose one of the list.", "there is no such kind of line");
	line->paper_id =
	    form_number(call->form, row_field(call, row, "paper_id"), 0);
	line->description = words;
	line->tax_rate_ppm = -1;
	if (line->kind == LINE_TAX && *words) {
		line->description = "";
		if (!percent_read(words, &line->tax_rate_ppm))
			call_fault(call,
			    call_printf(call, "/%s",
				row_field(call, row, "tax_percent")),
			    "For example 20 or 8.875.",
			    "the rate of tax is no percentage");
	}
	line->unit_minor = line->kind == LINE_DISCOUNT ? -amount : amount;
	line->amount_minor = line->unit_minor;
	if (*form_text(call->form, row_field(call, row, "count"))) {
		line->count = read_number(call, row_field(call, row, "count"),
		    "how many there are", 1, 1000000);
		if (line->count > 0 && amount >= 0 && amount <= AMOUNT_MAX)
			line->amount_minor = line->count * line->unit_minor;
	}
}

static void on_entered(struct call *call, const struct invoice_row *invoice)
{
	(void)invoice;
	call_answer_redirect(call, money_path(call, "/invoices?said=entered"));
}

void page_invoices_post(struct call *call)
{
	struct invoice_row invoice = {.note = "", .reason = ""};
	struct invoice_line_row *lines =
	    call_alloc(call, ROWS * sizeof(*lines));

	call->on_fail = page_invoices;
	invoice.number =
	    read_line(call, "number", "the number", false, NAME_MAX_SIGNS);
	invoice.supplier =
	    read_line(call, "supplier", "the supplier", false, NAME_MAX_SIGNS);
	invoice.dated_on = read_day(call, "dated_on", "the date", false);
	invoice.total_minor = read_money(call, "total_minor", "the total");
	invoice.tax_included = field_is_ticked(call, "tax_included");
	for (size_t row = 0; row < ROWS; row++)
		if (row_is_line(call, row))
			read_row(call, row, &lines[invoice.n_lines++]);
	if (!call_is_faulty(call))
		act_invoice_add(call, &invoice, lines, on_entered);
}

/* ---- withdrawing ---- */

void page_invoice_withdraw(struct call *call)
{
	const struct invoice_row *i = &call->invoice;
	int status = call->form ? frame_status_of(call) : 200;
	struct html h;

	begin(call, &h, "Withdraw this invoice?");
	html_open(&h, "dl", "class", "facts", NULL);
	if (*i->number)
		frame_fact(&h, "Number", i->number);
	frame_fact(&h, "Total", say_money(call, i->total_minor));
	html_close(&h, "dl");
	html_item(&h, "p",
	    "It stays to be read. What it has cost is credited when you charge "
	    "the shares again.");
	field_form(call, &h,
	    call_printf(
		call, "/invoices/%lld/withdraw", (long long)i->invoice_id),
	    NULL);
	field_line(call, &h,
	    &(struct field){.name = "reason",
		.label = "Why",
		.hint = "It stands in the books."});
	html_open(&h, "div", "class", "buttons", NULL);
	field_submit(&h, "Withdraw it", false);
	frame_button(&h, money_path(call, "/invoices"), "Leave it", true);
	html_close(&h, "div");
	field_form_end(&h);
	frame_answer(call, status, &h);
}

static void on_withdrawn(struct call *call, const struct invoice_row *invoice)
{
	(void)invoice;
	call_answer_redirect(
	    call, money_path(call, "/invoices?said=withdrawn"));
}

void page_invoice_withdraw_post(struct call *call)
{
	const char *reason = NULL;

	call->on_fail = page_invoice_withdraw;
	reason = read_line(call, "reason", "the reason", true, TEXT_MAX_SIGNS);
	if (!call_is_faulty(call))
		act_invoice_withdraw(call, reason, on_withdrawn);
}
