/* SPDX-License-Identifier: MIT */
/*
 * Entries of the ledger as a treasurer hands them on: rows of CSV, and the words for them.
 *
 * amount is what the member owes more (charge, refund) or less (payment: negative), so the
 * amounts of a member add up to what is owed.
 */
#ifndef PRINT_ENTRIES_H
#define PRINT_ENTRIES_H

#include <stddef.h>
#include <stdint.h>

#include "arena.h"
#include "measure.h"
#include "text.h"

struct entry_line {
	int64_t entry_id, booking_id;
	const char
	    *kind; /* "charge", "adjustment", "payment", "refund", "reversal",
			      "correction", "write-off", "transfer", "carry" */
	const char *on;   /* day it was paid or made: "2026-11-28" */
	const char *made; /* instant */
	int64_t workshop_id, member_id;
	const char *workshop, *member;
	money amount;
	const char *currency;
	int64_t settlement_id;
	int64_t reverses_id, reversed_by_id; /* entries, or 0 */
	const char *method, *reference, *bank_reference, *reason; /* or NULL */
	const char *payer; /* who paid for the member, or NULL */
};

/* "Payment, cash, from Ash's mother": one line. */
const char *entry_words(const struct entry_line *line, struct arena *arena);

/*
 * The head and one row an entry (RFC 4180, UTF-8; csv_out.h tells how texts are made
 * harmless).  amount_minor in minor units, amount in the currency's own, both as they add up.
 * docs/treasurer.md has the columns.
 */
void entries_csv(const struct entry_line *lines, size_t n, struct text *out);

#endif
