/* SPDX-License-Identifier: MIT */
/*
 * papers.c - rows of the store into the papers of print/.
 */
#include "papers.h"

#include <string.h>

#include "reference.h"
#include "when.h"
#include "zone.h"

static struct manner manner_of(const struct call *call)
{
	const struct studio *s = &call->caller.studio;

	return (struct manner){
	    s->currency, s->locale, (enum measure_system)s->measure};
}

const char *papers_day(struct call *call, const char *instant)
{
	char local[ZONE_TEXT];

	if (zone_to_local(call->caller.studio.time_zone, instant, local))
		return call_printf(call, "%.10s", local);
	return call_printf(call, "%.10s", instant);
}

const struct entry_line *papers_lines(struct call *call,
    const struct workshop_row *workshop, const struct entry_row *entries,
    size_t n)
{
	struct entry_line *lines =
	    arena_array(call->arena, n + 1, sizeof(*lines));

	for (size_t i = 0; i < n; i++) {
		const struct entry_row *e = &entries[i];

		lines[i] = (struct entry_line){
		    .entry_id = e->entry_id,
		    .booking_id = e->booking_id,
		    .kind = booking_kind_name(e->kind),
		    .on = e->paid_on ? e->paid_on
				     : papers_day(call, e->created_at),
		    .made = e->created_at,
		    .workshop_id = e->workshop_id,
		    .workshop = workshop->name,
		    .member_id = e->member_id,
		    .member = e->member_name,
		    .amount = e->settlement_id != 0 ? e->amount_minor
						    : -e->amount_minor,
		    .currency = e->currency ? e->currency
					    : call->caller.studio.currency,
		    .settlement_id = e->settlement_id,
		    .reverses_id = e->reverses_id,
		    .reversed_by_id = e->reversed_by_id,
		    .method = e->method,
		    .reference = e->reference,
		    .bank_reference = e->bank_reference,
		    .payer = e->payer_name,
		    .reason = e->reason,
		};
	}
	return lines;
}

/* By when: so many days after the last charge. */
static const char *due_on(
    struct call *call, const struct entry_row *entries, size_t n)
{
	const char *last = NULL;
	char out[DAY_TEXT];

	for (size_t i = 0; i < n; i++)
		if (entries[i].settlement_id != 0)
			last = entries[i].created_at;
	if (last == NULL || call->caller.studio.pay_within_days == 0)
		return NULL;
	/* "Sat 2026-11-28" */
	return call_printf(call, "%s",
	    day_print(papers_day(call, last),
		(int)call->caller.studio.pay_within_days, out) +
		4);
}

static const char *made_at(
    const struct call *call, const struct entry_row *entries, size_t n)
{
	return n > 0 ? entries[n - 1].created_at : call->workshop.closes_at;
}

static void fill_papers(
    struct call *call, const struct statement *s, struct statement_input *input)
{
	struct paper_name *names = arena_array(
	    call->arena, s->n_papers + s->n_requests + 1, sizeof(*names));
	struct statement_sheets *sheets =
	    arena_array(call->arena, s->n_requests + 1, sizeof(*sheets));
	size_t n = 0;

	for (size_t i = 0; i < s->n_papers; i++)
		names[n++] = (struct paper_name){
		    s->papers[i].paper_id, s->papers[i].paper_name};
	for (size_t i = 0; i < s->n_requests; i++) {
		const struct request_row *r = &s->requests[i];

		names[n++] = (struct paper_name){r->paper_id, r->paper_name};
		sheets[i] = (struct statement_sheets){
		    r->count, r->torn_across_u, r->torn_along_u, r->paper_id};
	}
	input->papers = names;
	input->n_papers = n;
	input->sheets = sheets;
	input->n_sheets = s->n_requests;
}

struct folio *papers_statement(
    struct call *call, const struct statement *s, bool on_page)
{
	const struct studio *studio = &call->caller.studio;
	struct statement_input input = {
	    .studio = studio->name,
	    .workshop = s->workshop.name,
	    .member = call->member.name,
	    .workshop_id = s->workshop.workshop_id,
	    .member_id = call->member.member_id,
	    .manner = manner_of(call),
	    .language = on_page ? "en" : studio->language,
	    .made = made_at(call, s->entries, s->n_entries),
	    .page = (enum sheet_page)studio->sheet_page,
	    .result = s->result,
	    .estimate = s->estimate,
	    .entries =
		papers_lines(call, &s->workshop, s->entries, s->n_entries),
	    .n_entries = s->n_entries,
	    .payee = {studio->payee_name, studio->payee_account,
		studio->pay_within_days},
	    .due_on = due_on(call, s->entries, s->n_entries),
	};

	fill_papers(call, s, &input);
	return statement_folio(&input);
}

/* ---- the account ---- */

static void fill_invoices(
    struct call *call, const struct account *a, struct account_input *input)
{
	struct account_invoice *list =
	    arena_array(call->arena, a->n_invoices + 1, sizeof(*list));

	for (size_t i = 0; i < a->n_invoices; i++) {
		const struct invoice_row *v = &a->invoices[i];

		list[i] = (struct account_invoice){
		    .invoice_id = v->invoice_id,
		    .number = v->number,
		    .supplier = v->supplier,
		    .dated_on = v->dated_on,
		    .total = v->total_minor,
		    .counts = v->replaced_by_id == 0,
		    .note = v->note,
		};
	}
	input->invoices = list;
	input->n_invoices = a->n_invoices;
}

static void fill_members(
    struct call *call, const struct account *a, struct account_input *input)
{
	size_t n = a->shares ? a->shares->n_items : 0;
	struct account_member *list =
	    arena_array(call->arena, n + 1, sizeof(*list));

	for (size_t i = 0; i < n; i++) {
		const struct share_row *row = &a->shares->items[i];

		list[i] = (struct account_member){row->member_id,
		    row->member_name, row->sheets, row->share_minor,
		    row->charged_minor, row->paid_minor};
	}
	input->members = list;
	input->n_members = n;
	if (a->shares != NULL) {
		input->estimated = a->shares->estimated_minor;
		input->used = a->shares->used_minor;
		input->kept = a->shares->kept_minor;
	}
}

static void fill_payees(
    struct call *call, const struct account *a, struct account_input *input)
{
	struct account_payee *list =
	    arena_array(call->arena, a->n_totals + 1, sizeof(*list));

	for (size_t i = 0; i < a->n_totals; i++) {
		const struct total_row *t = &a->totals[i];

		if (t->account == ACCOUNT_PAYEE &&
		    t->debit_minor != t->credit_minor)
			list[input->n_payees++] = (struct account_payee){
			    t->member_id != 0 ? t->member_name : NULL,
			    t->debit_minor - t->credit_minor};
	}
	input->payees = list;
}

static void fill_shelf(
    struct call *call, const struct account *a, struct account_input *input)
{
	static const char *const kinds[] = {
	    "fresh", "roll-end", "offcut", "flat sheet"};
	struct account_shelf *list =
	    arena_array(call->arena, a->n_stock + 1, sizeof(*list));
	struct manner manner = manner_of(call);

	for (size_t i = 0; i < a->n_stock; i++) {
		const struct stock_row *s = &a->stock[i];
		money worth = 0;

		if (!s->active || s->kind == STOCK_FRESH ||
		    s->available == UNLIMITED ||
		    __builtin_mul_overflow(
			s->available, s->price_minor, &worth))
			continue;
		input->shelf_worth += worth;
		if (a->plan_id == 0 || s->from_plan_id != a->plan_id ||
		    worth == 0)
			continue;
		list[input->n_shelf++] = (struct account_shelf){
		    call_printf(call, "%lld x %s %s%s%s",
			(long long)s->available, kinds[s->kind],
			amount_size(
			    call->arena, &manner, s->width_u, s->length_u),
			*s->shelf_code ? ", " : "", s->shelf_code),
		    worth};
	}
	input->shelf = list;
}

struct folio *papers_account(
    struct call *call, const struct account *a, bool on_page)
{
	const struct studio *studio = &call->caller.studio;
	struct account_input input = {
	    .studio = studio->name,
	    .workshop = call->workshop.name,
	    .workshop_id = call->workshop.workshop_id,
	    .manner = manner_of(call),
	    .language = on_page ? "en" : studio->language,
	    .made = made_at(call, a->entries, a->n_entries),
	    .page = (enum sheet_page)studio->sheet_page,
	    .trouble = a->trouble,
	    .n_trouble = a->n_trouble,
	    .entries =
		papers_lines(call, &call->workshop, a->entries, a->n_entries),
	    .n_entries = a->n_entries,
	};

	fill_invoices(call, a, &input);
	fill_members(call, a, &input);
	fill_payees(call, a, &input);
	fill_shelf(call, a, &input);
	return account_folio(&input);
}

struct folio *papers_reminders(
    struct call *call, const struct owing_row *rows, size_t n, bool on_page)
{
	const struct studio *studio = &call->caller.studio;
	struct reminder *list = arena_array(call->arena, n + 1, sizeof(*list));
	char reference[REFERENCE_MAX];

	for (size_t i = 0; i < n; i++)
		list[i] = (struct reminder){
		    .name = rows[i].member_name,
		    .contact = rows[i].contact,
		    .workshop = rows[i].workshop_name,
		    .owed = rows[i].owed_minor,
		    .since = rows[i].since_on,
		    .due_on = rows[i].due_on,
		    .late_days = rows[i].late_days,
		    .reference = reference_of(reference, rows[i].workshop_id,
				     rows[i].member_id)
				     ? arena_strdup(call->arena, reference)
				     : NULL,
		};
	return reminders_folio(&(struct reminders_input){.studio = studio->name,
	    .manner = manner_of(call),
	    .language = on_page ? "en" : studio->language,
	    .page = (enum sheet_page)studio->sheet_page,
	    .items = list,
	    .n = n});
}
