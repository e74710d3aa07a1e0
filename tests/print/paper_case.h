/* SPDX-License-Identifier: MIT */
/*
 * One workshop on paper: three members, two papers, an invoice and its correction, a part paid.
 *
 * Torn sizes 9 1/2 x 12 1/2 in as in docs/share.md; 198.40 EUR and a correction of -5.00.
 * The shares come from share_derive(), the entries are written here by hand.
 */
#ifndef TESTS_PAPER_CASE_H
#define TESTS_PAPER_CASE_H

#include <stdlib.h>
#include <string.h>

#include "account.h"
#include "statement.h"

struct paper_case {
	struct arena *arena;
	struct share_result *result;
	struct entry_line entries[16];
	size_t n_entries;
	struct account_member members[3];
	struct statement_sheets sheets[2];
	struct statement_input statement; /* of member 12 */
	struct account_input account;
};

static const struct paper_name case_papers[] = {
    {1, "Cold press 300"}, {2, "Rough 640"}};
static const char *const case_names[] = {
    "Ash", "Birch \xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D", "Cedar"};

static inline void case_derive(struct paper_case *c, money rolls, bool ceiling)
{
	static const area sheet =
	    (9 * INCH + INCH / 2) * (12 * INCH + INCH / 2);
	static area used[3][2];
	static struct share_alone alone[3][2];
	static struct share_line lines[4];
	static struct share_of_paper papers[2];
	static struct share_member members[3];
	struct err err = {0};
	static const int counts[3][2] = {{10, 0}, {7, 2}, {4, 0}};
	area roll = 45 * INCH * 10 * YARD;

	papers[0] = (struct share_of_paper){1, 16200, roll, 0};
	papers[1] = (struct share_of_paper){2, 2800, 2 * sheet, 0};
	lines[0] = (struct share_line){1, COST_ROLLS, rolls};
	lines[1] = (struct share_line){2, COST_ROLLS, 2800};
	lines[2] = (struct share_line){0, COST_SHIPPING, 840};
	lines[3] = (struct share_line){1, COST_DISCOUNT, -500};
	for (size_t i = 0; i < 3; i++) {
		for (size_t k = 0; k < 2; k++) {
			used[i][k] = counts[i][k] * sheet;
			alone[i][k] = (struct share_alone){
			    counts[i][k] == 0 ? 0 : papers[k].planned,
			    counts[i][k] == 0 ? 0 : papers[k].bought, 0};
		}
		members[i] = (struct share_member){
		    (int64_t)i + 11, used[i], ceiling ? alone[i] : NULL};
	}
	if (!share_derive(&(struct share_order){.workshop_id = 7,
			      .rules = {SHARE_ORDER, ceiling, false},
			      .lines = lines,
			      .n_lines = 4,
			      .papers = papers,
			      .n_papers = 2,
			      .members = members,
			      .n_members = 3},
		c->arena, &c->result, &err))
		abort();
}

static inline void case_entry(struct paper_case *c, size_t member,
    const char *kind, money amount, const char *on, const char *reason)
{
	c->entries[c->n_entries] = (struct entry_line){
	    .entry_id = 101 + (int64_t)c->n_entries,
	    .booking_id = 51 + (int64_t)c->n_entries,
	    .kind = kind,
	    .on = on,
	    .made = "2026-11-28T10:00:00Z",
	    .workshop_id = 7,
	    .workshop = "Saturday, wet in wet",
	    .member_id = 11 + (int64_t)member,
	    .member = case_names[member],
	    .amount = amount,
	    .currency = "EUR",
	    .method = strcmp(kind, "payment") == 0 ? "transfer" : "",
	    .reason = reason,
	};
	c->n_entries++;
}

static inline void case_entries(struct paper_case *c)
{
	for (size_t i = 0; i < 3; i++) {
		money share = c->result->members[i].share;
		case_entry(c, i, "charge", share + 100, "2026-11-28",
		    "share of 203.40");
		case_entry(c, i, "adjustment", -100, "2026-11-30",
		    "share of 200.40 instead of 203.40");
	}
	case_entry(c, 1, "payment", 0 - 5000, "2026-12-01", "");
	case_entry(c, 0, "payment", 0 - c->result->members[0].share - 250,
	    "2026-12-02", "=HYPERLINK(\"a\",\"b\")");
	for (size_t i = 0; i < 3; i++) {
		struct account_member *m = &c->members[i];
		*m = (struct account_member){.member_id = 11 + (int64_t)i,
		    .name = case_names[i],
		    .sheets = i == 0   ? 10
			      : i == 1 ? 9
				       : 4,
		    .share = c->result->members[i].share};
		for (size_t k = 0; k < c->n_entries; k++) {
			if (c->entries[k].member_id != m->member_id)
				continue;
			if (strcmp(c->entries[k].kind, "payment") == 0)
				m->paid -= c->entries[k].amount;
			else
				m->charged += c->entries[k].amount;
		}
	}
}

/* Entries of member 12 stand together in the statement: they are picked out here. */
static inline void case_statement(struct paper_case *c, const char *language,
    const char *locale, const char *currency, const char *account)
{
	static struct entry_line own[16];
	size_t n = 0;

	for (size_t i = 0; i < c->n_entries; i++)
		if (c->entries[i].member_id == 12)
			own[n++] = c->entries[i];
	for (size_t i = 0; i < n; i++)
		own[i].currency = currency;
	c->sheets[0] = (struct statement_sheets){
	    7, 9 * INCH + INCH / 2, 12 * INCH + INCH / 2, 1};
	c->sheets[1] = (struct statement_sheets){
	    2, 9 * INCH + INCH / 2, 12 * INCH + INCH / 2, 2};
	c->statement = (struct statement_input){
	    .studio = "Studio on the Quay",
	    .workshop = "Saturday, wet in wet",
	    .member = case_names[1],
	    .workshop_id = 7,
	    .member_id = 12,
	    .manner = {currency, locale, MEASURE_INCH},
	    .language = language,
	    .made = "2026-12-02T09:00:00Z",
	    .papers = case_papers,
	    .n_papers = 2,
	    .sheets = c->sheets,
	    .n_sheets = 2,
	    .result = c->result,
	    .entries = own,
	    .n_entries = n,
	    .payee = {"Studio on the Quay", account, 14},
	    .due_on = "2026-12-14",
	};
}

static inline void case_account(
    struct paper_case *c, const char *language, const char *locale)
{
	static const struct account_invoice invoices[] = {
	    {1, "R-77", "Paper mill", "2026-11-27", 19640, false,
		"replaced by invoice 2"},
	    {2, "R-77a", "Paper mill", "2026-11-30", 19340, true, NULL}};
	static const struct account_shelf shelf[] = {
	    {"roll-end 45 x 60 in of Cold press 300", 1234}};
	static struct account_payee payees[2];

	payees[0] = (struct account_payee){
	    NULL, c->members[0].paid + c->members[1].paid};
	c->account = (struct account_input){
	    .studio = "Studio on the Quay",
	    .workshop = "Saturday, wet in wet",
	    .workshop_id = 7,
	    .manner = {"EUR", locale, MEASURE_INCH},
	    .language = language,
	    .made = "2026-12-02T09:00:00Z",
	    .invoices = invoices,
	    .n_invoices = 2,
	    .members = c->members,
	    .n_members = 3,
	    .payees = payees,
	    .n_payees = 1,
	    .shelf = shelf,
	    .n_shelf = 1,
	    .shelf_worth = 1234,
	    .entries = c->entries,
	    .n_entries = c->n_entries,
	};
}

static inline void paper_case_init(struct paper_case *c, bool ceiling,
    const char *language, const char *locale)
{
	memset(c, 0, sizeof(*c));
	c->arena = arena_new((size_t)1 << 26);
	case_derive(c, 16200, ceiling);
	case_entries(c);
	case_statement(
	    c, language, locale, "EUR", "de89 3704 0044 0532 0130 00");
	case_account(c, language, locale);
}

static inline void paper_case_free(struct paper_case *c)
{
	arena_delete(c->arena);
}

#endif
