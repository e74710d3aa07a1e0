/* SPDX-License-Identifier: MIT */
/*
 * A member's statement: "why do I owe 23.41?" answered on one paper.  What was asked for, how
 * the share was reckoned line by line to the cent, what was charged and paid, what is left,
 * and how to pay it.
 *
 * The input is borrowed for the call only.
 */
#ifndef PRINT_STATEMENT_H
#define PRINT_STATEMENT_H

#include "amount.h"
#include "derive.h"
#include "entries.h"
#include "folio.h"

struct paper_name {
	int64_t paper_id;
	const char *name;
};

struct statement_sheets { /* one request */
	int64_t count;
	length across, along; /* torn */
	int64_t paper_id;
};

/* To whom, and how. */
struct payee {
	const char *name;    /* NULL or "": the studio has not said */
	const char *account; /* an IBAN, or words: "cash, to Ash" */
	int64_t within_days; /* of the last charge; 0: not said */
};

struct statement_input {
	const char *studio, *workshop, *member;
	int64_t workshop_id, member_id;
	struct manner manner;
	const char *language; /* of the words; NULL: English */
	const char *made;
	enum sheet_page page;
	const struct paper_name *papers;
	size_t n_papers;
	const struct statement_sheets *sheets;
	size_t n_sheets;
	/* How the share was reckoned, or NULL: nothing is planned yet.  estimate: no invoice is
	 * in, nothing is charged. */
	const struct share_result *result;
	bool estimate;
	const struct entry_line *entries;
	size_t n_entries;
	struct payee payee;
	const char *due_on; /* day, or NULL */
	bool no_code;       /* leave out the payment's QR code */
};

/* What is owed: the entries added up. */
money statement_balance(const struct statement_input *input);
/* The member's part of the result; NULL when there is none. */
const struct share_due *statement_due(const struct statement_input *input);
struct folio *statement_folio(const struct statement_input *input);

/*
 * The words of the payment's QR code: true and out filled when the payee's account is an
 * IBAN within the EEA, the currency is the euro, and something is owed.
 */
bool statement_code(const struct payee *payee, const char *currency, money owed,
    const char *reference, struct text *out);

/* The derivation as rows of a table, for statements and for whoever explains a share. */
void derivation_table(struct folio *folio, const struct share_result *result,
    const struct share_due *due, const struct paper_name *papers,
    size_t n_papers, const struct manner *manner);

#endif
