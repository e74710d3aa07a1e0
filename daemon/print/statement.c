/* SPDX-License-Identifier: MIT */
/*
 * statement.c - a member's statement, block by block.
 *
 * What a member asks first stands first: how much, to whom, by when.  The reasons follow in
 * the order in which one doubts them: was it my paper, was it shared rightly, was my payment
 * seen?
 */
#include "statement.h"

#include <string.h>

#include "catalogue.h"
#include "epc.h"
#include "iban.h"
#include "reference.h"

static bool is_set(const char *s)
{
	return s != NULL && *s != '\0';
}

money statement_balance(const struct statement_input *input)
{
	money sum = 0;

	for (size_t i = 0; i < input->n_entries; i++)
		sum += input->entries[i].amount;
	return sum;
}

const struct share_due *statement_due(const struct statement_input *input)
{
	const struct share_result *r = input->result;

	for (size_t i = 0; r != NULL && i < r->n_members; i++)
		if (r->members[i].member_id == input->member_id)
			return &r->members[i];
	return NULL;
}

static const char *cash(
    struct folio *f, const struct statement_input *input, money m)
{
	return amount_money(f->arena, &input->manner, m);
}

/* ---- how much, to whom ---- */

static void tell_sum(struct folio *f, const struct statement_input *input)
{
	money owed = statement_balance(input);
	const struct share_due *due = statement_due(input);

	if (input->estimate && due != NULL)
		folio_fact(f, _("Your share, as the plan stands"),
		    cash(f, input, due->share), true);
	if (owed < 0)
		folio_fact(f, _("You have paid too much"),
		    cash(f, input, -owed), true);
	else if (owed > 0)
		folio_fact(f, _("To pay"), cash(f, input, owed), true);
	else if (input->n_entries > 0)
		folio_fact(f, _("To pay"), _("nothing: all is paid"), true);
	else if (!input->estimate)
		folio_fact(
		    f, _("To pay"), _("nothing: nothing is charged"), true);
}

bool statement_code(const struct payee *payee, const char *currency, money owed,
    const char *reference, struct text *out)
{
	char iban[IBAN_MAX];
	struct epc epc = {.name = payee->name,
	    .iban = iban,
	    .amount = owed,
	    .reference = is_set(reference) ? reference : NULL};

	return is_set(payee->name) && is_set(payee->account) &&
	       strcmp(currency, "EUR") == 0 && owed > 0 &&
	       iban_read(iban, payee->account, NULL) && iban_is_eea(iban) &&
	       epc_write(&epc, out, NULL);
}

static void tell_account(struct folio *f, const char *account)
{
	char iban[IBAN_MAX], grouped[GROUPED_MAX];

	if (iban_read(iban, account, NULL))
		folio_fact(f, _("Account (IBAN)"),
		    grouped_by_four(grouped, iban), false);
	else
		folio_fact(f, _("Account"), account, false);
}

static void tell_payment(struct folio *f, const struct statement_input *input)
{
	const struct payee *p = &input->payee;
	money owed = statement_balance(input);
	char reference[REFERENCE_MAX] = "", grouped[GROUPED_MAX];
	struct text code;

	if (owed <= 0)
		return;
	folio_heading(f, _("How to pay"));
	if (is_set(p->name))
		folio_fact(f, _("To"), p->name, false);
	if (is_set(p->account))
		tell_account(f, p->account);
	if (!is_set(p->name) && !is_set(p->account))
		folio_text(f, _("Ask the treasurer to whom the money goes."));
	if (reference_of(reference, input->workshop_id, input->member_id))
		folio_fact(f, _("Reference, to be copied"),
		    grouped_by_four(grouped, reference), false);
	if (is_set(input->due_on))
		folio_fact(f, _("By"), input->due_on, false);
	text_init(&code, EPC_MAX + 1);
	if (!input->no_code &&
	    statement_code(p, input->manner.currency, owed, reference, &code)) {
		folio_qr(f,
		    _("Or scan this code with your bank's program: it holds "
		      "the same. Compare before you pay."),
		    code.data);
	}
	text_free(&code);
}

/* ---- what was asked for ---- */

static const char *paper_of(
    const struct statement_input *input, int64_t paper_id)
{
	for (size_t i = 0; i < input->n_papers; i++)
		if (input->papers[i].paper_id == paper_id)
			return input->papers[i].name;
	return "";
}

static void tell_sheets(struct folio *f, const struct statement_input *input)
{
	area sum = 0;
	int64_t count = 0;

	folio_heading(f, _("Your sheets"));
	if (input->n_sheets == 0) {
		folio_text(f, _("You asked for no sheets in this workshop."));
		return;
	}
	folio_table(f, _("Your sheets"),
	    (const struct folio_column[]){{_("Paper"), false},
		{_("Sheets"), true}, {_("Torn size"), false},
		{_("Area together"), true}, {0}});
	for (size_t i = 0; i < input->n_sheets; i++) {
		const struct statement_sheets *s = &input->sheets[i];
		area a = s->across * s->along * s->count;
		folio_row(f, false,
		    (const char *const[]){paper_of(input, s->paper_id),
			arena_printf(f->arena, "%lld", (long long)s->count),
			amount_size(
			    f->arena, &input->manner, s->across, s->along),
			amount_area(f->arena, &input->manner, a)});
		sum += a;
		count += s->count;
	}
	folio_row(f, true,
	    (const char *const[]){_("Together"),
		arena_printf(f->arena, "%lld", (long long)count), "",
		amount_area(f->arena, &input->manner, sum)});
}

/* ---- how it is reckoned ---- */

static const char *policy_words(const struct share_rules *rules)
{
	return rules->policy == SHARE_TORN
		   ? _("Members pay for the paper that was torn, by area; what "
		       "is left of the rolls the studio keeps at cost.")
		   : _("Members pay for the whole order, by the area torn for "
		       "each.");
}

static void tell_share(struct folio *f, const struct statement_input *input)
{
	const struct share_due *due = statement_due(input);

	folio_heading(f, _("How your share is reckoned"));
	if (due == NULL) {
		folio_text(f, _("There is no share yet: it comes from the "
				"accepted plan."));
		return;
	}
	if (input->estimate)
		folio_text(f, _("This is reckoned from the price in the plan. "
				"When the invoice is in, the exact share is "
				"charged."));
	folio_text(f, policy_words(&input->result->rules));
	derivation_table(f, input->result, due, input->papers, input->n_papers,
	    &input->manner);
	if (due->n_steps > 0)
		folio_text(f, _("Parts are cut off to whole units; the units "
				"that are left over then go one each to the "
				"largest remainders, so that all shares add up "
				"exactly."));
}

/* ---- charged and paid ---- */

static void tell_entries(struct folio *f, const struct statement_input *input)
{
	money balance = 0;

	folio_heading(f, _("Charged and paid"));
	if (input->n_entries == 0) {
		folio_text(f, _("Nothing is charged and nothing is paid."));
		return;
	}
	folio_table(f, _("Charged and paid"),
	    (const struct folio_column[]){{_("What"), false},
		{_("Entry"), true}, {_("On"), false}, {_("Amount"), true},
		{_("Owed after it"), true}, {0}});
	for (size_t i = 0; i < input->n_entries; i++) {
		const struct entry_line *e = &input->entries[i];
		balance += e->amount;
		folio_row(f, false,
		    (const char *const[]){entry_words(e, f->arena),
			arena_printf(f->arena, "%lld", (long long)e->entry_id),
			e->on, cash(f, input, e->amount),
			cash(f, input, balance)});
	}
	folio_row(f, true,
	    (const char *const[]){
		balance < 0 ? _("You have paid too much") : _("Still to pay"),
		"", "", "", cash(f, input, balance < 0 ? -balance : balance)});
}

struct folio *statement_folio(const struct statement_input *input)
{
	char reference[REFERENCE_MAX], grouped[GROUPED_MAX] = "";
	struct folio *f = NULL;

	catalogue_use(input->language);
	if (reference_of(reference, input->workshop_id, input->member_id))
		grouped_by_four(grouped, reference);
	f = folio_new(&(struct folio_about){.title = _("Statement"),
	    .number = *grouped ? grouped : NULL,
	    .studio = input->studio,
	    .workshop = input->workshop,
	    .person = input->member,
	    .made = input->made,
	    .language = input->language,
	    .page = input->page});
	tell_sum(f, input);
	tell_payment(f, input);
	tell_sheets(f, input);
	tell_share(f, input);
	tell_entries(f, input);
	folio_text(f, _("This statement is no tax invoice."));
	return f;
}
