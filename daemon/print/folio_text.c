/* SPDX-License-Identifier: MIT */
/*
 * folio_text.c - a folio in 80 columns.
 *
 * Tables: the columns of figures first, each as wide as its widest cell, then what the row is
 * of, broken into lines.  Where figures are so wide that less than a quarter of the line is
 * left, each row is told as facts, so nothing is ever cut.
 */
#include "catalogue.h"
#include "folio.h"
#include "screen.h"

#define NAME_LEAST 20 /* columns for what a row is of */
#define FACT_NAME 26

static void rule(struct text *out, char c, size_t n)
{
	for (size_t i = 0; i < n; i++)
		text_add_char(out, c);
	text_add_char(out, '\n');
}

static void title(const struct folio *f, struct text *out)
{
	const struct folio_about *a = &f->about;
	size_t width = a->number ? screen_width(a->number) : 0;
	const char *lines[] = {a->workshop, a->studio, a->person};

	rule(out, '=', SCREEN_COLUMNS);
	if (a->number)
		screen_pad(out, a->title, SCREEN_COLUMNS - width - 2);
	else
		text_add(out, a->title);
	text_addf(
	    out, "%s%s\n", a->number ? "  " : "", a->number ? a->number : "");
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++)
		if (lines[i] && *lines[i])
			screen_wrap(out, "", 0, lines[i]);
	rule(out, '=', SCREEN_COLUMNS);
}

static void heading(const char *s, struct text *out)
{
	text_add_char(out, '\n');
	screen_wrap(out, "", 0, s);
	rule(out, '-', screen_width(s) < 80 ? screen_width(s) : 80);
}

static void fact(const struct folio_fact *fact, struct text *out)
{
	struct text lead;

	text_init(&lead, 4096);
	if (screen_width(fact->name) < FACT_NAME) {
		screen_pad(&lead, fact->name, FACT_NAME);
	} else {
		screen_wrap(out, "", 0, fact->name);
		screen_pad(&lead, "", FACT_NAME);
	}
	screen_wrap(out, lead.data, FACT_NAME, fact->value);
	text_free(&lead);
}

/* Widths of all columns but the first; returns what is left for that. */
static size_t measure(const struct folio_block *b, size_t *widths)
{
	size_t used = 0;

	for (size_t c = 1; c < b->n_columns; c++) {
		widths[c] = screen_width(b->columns[c].name);
		for (size_t r = 0; r < b->n_rows; r++) {
			size_t width = screen_width(b->rows[r].cells[c]);
			widths[c] = width > widths[c] ? width : widths[c];
		}
		used += widths[c] + 2;
	}
	return used < SCREEN_COLUMNS ? SCREEN_COLUMNS - used : 0;
}

static void cells(const struct folio_block *b, const char *const *cell,
    const size_t *widths, struct text *out)
{
	struct text lead;

	text_init(&lead, 4096);
	for (size_t c = 1; c < b->n_columns; c++) {
		size_t width = screen_width(cell[c]);
		if (!b->columns[c].number) {
			screen_pad(&lead, cell[c], widths[c]);
		} else {
			for (size_t i = width; i < widths[c]; i++)
				text_add_char(&lead, ' ');
			text_add(&lead, cell[c]);
		}
		text_add(&lead, "  ");
	}
	screen_wrap(out, lead.data, screen_width(lead.data), cell[0]);
	text_free(&lead);
}

static void names(
    const struct folio_block *b, const size_t *widths, struct text *out)
{
	const char *name[FOLIO_COLUMNS_MAX] = {0};

	for (size_t c = 0; c < b->n_columns; c++)
		name[c] = b->columns[c].name;
	cells(b, name, widths, out);
}

static void rows_as_facts(const struct folio_block *b, struct text *out)
{
	for (size_t r = 0; r < b->n_rows; r++) {
		if (r > 0)
			text_add_char(out, '\n');
		for (size_t c = 0; c < b->n_columns; c++)
			fact(&(struct folio_fact){b->columns[c].name,
				 b->rows[r].cells[c], false},
			    out);
	}
}

static void table(const struct folio_block *b, struct text *out)
{
	size_t widths[FOLIO_COLUMNS_MAX] = {0};
	size_t left = measure(b, widths);

	if (left < NAME_LEAST) {
		rows_as_facts(b, out);
		return;
	}
	names(b, widths, out);
	rule(out, '-', SCREEN_COLUMNS);
	for (size_t r = 0; r < b->n_rows; r++) {
		if (b->rows[r].total && r > 0)
			rule(out, '-', SCREEN_COLUMNS - left - 2);
		cells(b, b->rows[r].cells, widths, out);
	}
}

void folio_text_form(const struct folio *f, struct text *out)
{
	title(f, out);
	for (size_t i = 0; i < f->n_blocks; i++) {
		const struct folio_block *b = &f->blocks[i];
		switch (b->kind) {
		case FOLIO_HEADING:
			heading(b->text, out);
			break;
		case FOLIO_TEXT:
			screen_wrap(out, "", 0, b->text);
			break;
		case FOLIO_FACTS:
			for (size_t k = 0; k < b->n_facts; k++)
				fact(&b->facts[k], out);
			break;
		case FOLIO_TABLE:
			table(b, out);
			break;
		case FOLIO_QR: /* a terminal has none */
			break;
		}
	}
}
