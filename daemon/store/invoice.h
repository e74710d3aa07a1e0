/* SPDX-License-Identifier: MIT */
/*
 * Questions about invoices: what an order has cost, line by line.
 *
 * An invoice is never changed: another replaces it and names it, or it is withdrawn (replaced
 * by an empty one that says why).  In force is what nothing replaces.  The lines add up to
 * the total printed on the invoice, but for tax that is included, which is told and not added
 * (looked at by the database when the transaction ends).
 */
#ifndef STORE_INVOICE_H
#define STORE_INVOICE_H

#include "measure.h"
#include "store.h"

enum line_kind {
	LINE_ROLLS,
	LINE_SHIPPING,
	LINE_TAX,
	LINE_DISCOUNT,
	LINE_OTHER
};
const char *line_kind_name(int64_t kind); /* "rolls"; NULL: no kind */
int64_t line_kind_from(const char *name); /* -1: no kind */

struct invoice_row {
	int64_t studio_id, invoice_id, workshop_id;
	const char *number, *supplier; /* as printed on it */
	const char *dated_on;          /* date or NULL */
	const char *currency;
	bool tax_included;
	money total_minor; /* as printed on it; below 0: a credit note */
	int64_t n_lines;   /* how many lines it has */
	bool by_paper;     /* entered as one amount a paper, while settling */
	bool withdrawn;    /* of what replaces one that was withdrawn */
	const char *note;
	int64_t
	    advanced_by; /* member who paid the supplier, or 0: the studio */
	int64_t replaces_id, replaced_by_id; /* or 0 */
	const char *reason;                  /* why it replaces another */
	const char *created_at;
	int64_t created_by, key_id;
};

struct invoice_line_row {
	int64_t invoice_id, line; /* 1, 2, ... */
	int64_t kind;             /* enum line_kind */
	int64_t paper_id;         /* 0: of the whole order */
	int64_t stock_id;         /* or 0 */
	const char *description;
	int64_t count;    /* 0: not told */
	money unit_minor; /* told with count */
	money amount_minor;
	int64_t tax_rate_ppm; /* 88750 is 8.875 %; -1: not told */
	bool has_tax_base;
	money tax_base_minor;
};

/* The invoice and its lines in one message; struct invoice_row. */
void store_invoice_add(struct store_tx *tx, const struct invoice_row *invoice,
    const struct invoice_line_row *lines, store_rows_fn *fn, void *ctx);
void store_invoice(struct store_tx *tx, int64_t studio_id, int64_t invoice_id,
    store_rows_fn *fn, void *ctx);
/* struct invoice_row, by id; all: with those that were replaced and what withdrew them */
void store_invoices(struct store_tx *tx, int64_t studio_id, int64_t workshop_id,
    bool all, store_rows_fn *fn, void *ctx);
/* struct invoice_line_row: of one invoice, or (invoice_id 0) of all of a workshop */
void store_invoice_lines(struct store_tx *tx, int64_t studio_id,
    int64_t workshop_id, int64_t invoice_id, store_rows_fn *fn, void *ctx);
/* int64_t: the booking of an invoice that is not reversed yet; no row when its total is 0 */
void store_invoice_booking(struct store_tx *tx, int64_t studio_id,
    int64_t invoice_id, store_rows_fn *fn, void *ctx);

#endif
