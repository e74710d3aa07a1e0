/* SPDX-License-Identifier: MIT */
/*
 * entries.c - rows of the ledger.
 *
 * Columns are only added behind: tables that others have built upon them go on working.
 */
#include "entries.h"

#include <string.h>

#include "catalogue.h"
#include "csv_out.h"

static const struct {
	const char *kind, *words;
} kinds[] = {
    {"charge", N_("Charge")},
    {"adjustment", N_("Adjustment")},
    {"payment", N_("Payment")},
    {"refund", N_("Refund")},
    {"reversal", N_("Reversal")},
    {"correction", N_("Correction")},
    {"write-off", N_("Written off")},
    {"transfer", N_("Transfer")},
    {"carry", N_("Carried over")},
};

static const char *kind_words(const char *kind)
{
	for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); i++)
		if (strcmp(kinds[i].kind, kind) == 0)
			return _(kinds[i].words);
	return kind;
}

static const char *more(struct arena *arena, const char *words, const char *s)
{
	return s == NULL || *s == '\0'
		   ? words
		   : arena_printf(arena, "%s, %s", words, s);
}

const char *entry_words(const struct entry_line *line, struct arena *arena)
{
	const char *s = kind_words(line->kind);

	if (line->reversed_by_id != 0)
		s = arena_printf(arena, _("%s, reversed by entry %lld"), s,
		    (long long)line->reversed_by_id);
	if (line->reverses_id != 0)
		s = arena_printf(arena, _("%s of entry %lld"), s,
		    (long long)line->reverses_id);
	s = more(arena, s, line->method);
	s = more(arena, s, line->reference);
	if (line->payer != NULL && *line->payer)
		s = arena_printf(arena, _("%s, paid by %s"), s, line->payer);
	return more(arena, s, line->reason);
}

/* "12.50" of "12.50 USD" */
static void add_amount(struct text *out, money amount, const char *currency)
{
	char plain[MONEY_TEXT_MAX];

	money_print(plain, amount, currency);
	plain[strcspn(plain, " ")] = '\0';
	csv_figure(out, plain);
}

static void add_row(const struct entry_line *e, struct text *out)
{
	csv_id(out, e->entry_id);
	csv_id(out, e->booking_id);
	csv_text(out, e->on);
	csv_text(out, e->made);
	csv_text(out, e->kind);
	csv_id(out, e->workshop_id);
	csv_text(out, e->workshop);
	csv_id(out, e->member_id);
	csv_text(out, e->member);
	csv_number(out, e->amount);
	add_amount(out, e->amount, e->currency);
	csv_text(out, e->currency);
	csv_id(out, e->settlement_id);
	csv_id(out, e->reverses_id);
	csv_id(out, e->reversed_by_id);
	csv_text(out, e->method);
	csv_text(out, e->reference);
	csv_text(out, e->bank_reference);
	csv_text(out, e->payer);
	csv_text(out, e->reason);
	csv_end(out);
}

void entries_csv(const struct entry_line *lines, size_t n, struct text *out)
{
	static const char *const names[] = {"entry", "booking", "on", "made",
	    "kind", "workshop_id", "workshop", "member_id", "member",
	    "amount_minor", "amount", "currency", "settlement", "reverses",
	    "reversed_by", "method", "reference", "bank_reference", "payer",
	    "reason"};

	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++)
		csv_text(out, names[i]);
	csv_end(out);
	for (size_t i = 0; i < n; i++)
		add_row(&lines[i], out);
}
