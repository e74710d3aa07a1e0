/* SPDX-License-Identifier: MIT */
/*
 * folio_write.c - a folio as a part of a page.
 *
 * Tables scroll in a box of their own on a telephone; the first cell of a row is its head.
 */
#include "frame.h"
#include "papers.h"
#include "qr.h"

static void write_facts(struct html *h, const struct folio_block *b)
{
	html_open(h, "dl", "class", "facts number", NULL);
	for (size_t i = 0; i < b->n_facts; i++) {
		html_item(h, "dt", b->facts[i].name);
		html_open(
		    h, "dd", "class", b->facts[i].strong ? "size" : NULL, NULL);
		html_name(h, b->facts[i].value);
		html_close(h, "dd");
	}
	html_close(h, "dl");
}

static void write_row(
    struct html *h, const struct folio_block *b, const struct folio_row *row)
{
	html_open(h, "tr", NULL);
	html_open(h, "th", "scope", "row", NULL);
	html_name(h, row->cells[0]);
	html_close(h, "th");
	for (size_t c = 1; c < b->n_columns; c++) {
		if (b->columns[c].number) {
			html_open(h, "td", "class", "number", NULL);
			if (row->total)
				html_item(h, "strong", row->cells[c]);
			else
				html_text(h, row->cells[c]);
			html_close(h, "td");
		} else {
			html_item(h, "td", row->cells[c]);
		}
	}
	html_close(h, "tr");
}

static void write_table(struct html *h, const struct folio_block *b)
{
	frame_scroll(h, b->text);
	html_open(h, "table", NULL);
	html_open(h, "thead", NULL);
	html_open(h, "tr", NULL);
	for (size_t c = 0; c < b->n_columns; c++)
		frame_head(h, b->columns[c].name, b->columns[c].number);
	html_close(h, "tr");
	html_close(h, "thead");
	html_open(h, "tbody", NULL);
	for (size_t i = 0; i < b->n_rows; i++)
		write_row(h, b, &b->rows[i]);
	html_close(h, "tbody");
	html_close(h, "table");
	frame_unscroll(h);
}

static void write_code(struct html *h, const char *words)
{
	struct text svg;

	text_init(&svg, HTML_PAGE_MAX);
	if (qr_svg(words, "Payment code", &svg)) {
		html_open(h, "div", "class", "qr", NULL);
		html_picture(h, &svg);
		html_close(h, "div");
	}
	text_free(&svg);
}

void folio_write(struct html *h, const struct folio *folio)
{

	for (size_t i = 0; i < folio->n_blocks; i++) {
		const struct folio_block *b = &folio->blocks[i];

		switch (b->kind) {
		case FOLIO_HEADING:
			html_item(h, "h2", b->text);
			break;
		case FOLIO_TEXT:
			html_item(h, "p", b->text);
			break;
		case FOLIO_FACTS:
			write_facts(h, b);
			break;
		case FOLIO_TABLE:
			write_table(h, b);
			break;
		case FOLIO_QR:
			html_item(h, "p", b->caption);
			write_code(h, b->text);
			break;
		}
	}
}
