/* SPDX-License-Identifier: MIT */
/*
 * A folio: a paper of the treasurer's (a statement, a workshop's account) before it has a
 * form.  Headings, sentences, facts, tables and a payment's QR code, one after another; text,
 * PDF and page are drawn from it, so they say the same.
 *
 *     struct folio *folio = folio_new(&about);
 *     folio_heading(folio, _("Payments"));
 *     folio_fact(folio, _("Paid"), "12.00 USD", false);
 *     folio_text_form(folio, &out);
 *     folio_delete(folio);
 *
 * Strings given are copied.  Names must be lines of UTF-8.  Only folio_pdf() and
 * folio_commands() draw (sheet.h says which thread may).
 */
#ifndef PRINT_FOLIO_H
#define PRINT_FOLIO_H

#include <stdbool.h>
#include <stddef.h>

#include "arena.h"
#include "err.h"
#include "sheet.h"
#include "text.h"

#define FOLIO_MAX ((size_t)64 << 20) /* for text_init() of any form */
#define FOLIO_CELLS_DRAWN_MAX 40000
#define FOLIO_COLUMNS_MAX 8

enum folio_kind {
	FOLIO_HEADING,
	FOLIO_TEXT,
	FOLIO_FACTS, /* facts that follow one another */
	FOLIO_TABLE,
	FOLIO_QR,
};

struct folio_fact {
	const char *name, *value;
	bool strong;
};

/* The first column names the row and takes the room that is left; the text form puts it last,
 * so that a name running from right to left carries no number with it. */
struct folio_column {
	const char *name;
	bool number; /* set to the right */
};

struct folio_row {
	const char **cells;
	bool total; /* set off from the rows above it */
};

struct folio_block {
	enum folio_kind kind;
	const char
	    *text; /* heading, sentence, name of a table, words of a code */
	const char *caption; /* of a code */
	struct folio_fact *facts;
	size_t n_facts, facts_room;
	struct folio_column *columns;
	size_t n_columns;
	struct folio_row *rows;
	size_t n_rows, rows_room;
};

struct folio_about {
	const char *title;  /* "Statement" */
	const char *number; /* which one: stands on every page, or NULL */
	const char *studio, *workshop;
	const char *person;   /* whose it is, or NULL */
	const char *made;     /* ISO 8601: what is told was so then */
	const char *language; /* of the words */
	enum sheet_page page;
};

struct folio {
	struct arena *arena;
	struct folio_about about;
	struct folio_block *blocks;
	size_t n_blocks, blocks_room;
};

struct folio *folio_new(const struct folio_about *about);
void folio_delete(struct folio *f); /* NULL is fine */

void folio_heading(struct folio *f, const char *s);
void folio_text(struct folio *f, const char *s);
void folio_fact(
    struct folio *f, const char *name, const char *value, bool strong);
/* Columns end with one without a name. */
void folio_table(
    struct folio *f, const char *name, const struct folio_column *columns);
/* A row of the table begun last: as many cells as it has columns. */
void folio_row(struct folio *f, bool total, const char *const cells[]);
/* Left out of the text form, caption and all. */
void folio_qr(struct folio *f, const char *caption, const char *words);

/* At most 80 columns, lines end in LF, no control characters. */
void folio_text_form(const struct folio *f, struct text *out);
/* The same bytes for the same folio on the same machine. */
bool folio_pdf(
    const struct folio *f, struct text *out, struct err *err) MUST_USE;
/* What the PDF is drawn of, for review. */
void folio_commands(const struct folio *f, struct text *out);

#endif
