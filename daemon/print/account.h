/* SPDX-License-Identifier: MIT */
/*
 * A workshop's account, for the treasurer: the invoices against the shares, who has paid, what
 * is outstanding, what the shelf is worth, and every entry.  And the list of reminders.
 *
 * The input is borrowed for the call only.
 */
#ifndef PRINT_ACCOUNT_H
#define PRINT_ACCOUNT_H

#include "amount.h"
#include "entries.h"
#include "folio.h"

struct account_invoice {
	int64_t invoice_id;
	const char *number, *supplier, *dated_on; /* or NULL */
	money total;
	bool counts;      /* in force: neither replaced nor withdrawn */
	const char *note; /* "replaced by invoice 4", or NULL */
};

struct account_member {
	int64_t member_id;
	const char *name;
	int64_t sheets;
	money share, charged, paid; /* owed: charged - paid */
};

struct
    account_shelf { /* what this workshop took from the shelf or left on it */
	const char *what;
	money amount; /* left: positive, taken: negative */
};

struct account_payee {    /* who holds the money that came in */
	const char *name; /* NULL: the studio */
	money amount;
};

struct account_input {
	const char *studio, *workshop;
	int64_t workshop_id;
	struct manner manner;
	const char *language, *made;
	enum sheet_page page;
	const struct account_invoice *invoices;
	size_t n_invoices;
	money
	    estimated; /* of the plan's prices, for what is not invoiced yet */
	money used, kept; /* taken from the shelf, left on it */
	const struct account_member *members;
	size_t n_members;
	const struct account_payee *payees;
	size_t n_payees;
	const struct account_shelf *shelf;
	size_t n_shelf;
	money shelf_worth;          /* of all that lies on the studio's shelf */
	const char *const *trouble; /* what reconciliation found */
	size_t n_trouble;
	const struct entry_line *entries;
	size_t n_entries;
};

/* invoices that count + estimated + used - kept */
money account_cost(const struct account_input *input);
struct folio *account_folio(const struct account_input *input);

struct reminder { /* somebody who owes */
	const char *name;
	const char *contact; /* or NULL: not for the reader */
	const char *workshop;
	money owed;
	const char *since;  /* day of the first charge that is not paid */
	const char *due_on; /* or NULL */
	int64_t late_days;  /* 0: not yet due */
	const char *reference;
};

struct reminders_input {
	const char *studio;
	struct manner manner;
	const char *language, *made;
	enum sheet_page page;
	const struct reminder *items;
	size_t n;
};

struct folio *reminders_folio(const struct reminders_input *input);

#endif
