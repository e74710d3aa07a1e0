/* SPDX-License-Identifier: MIT */
/*
 * table.c - columns for people and for programs.
 *
 * Widths are counted in cells of a terminal with wcwidth(), for which main() chooses a
 * UTF-8 locale.  When a table is too wide the widest text column gives way, cell by cell,
 * so that numbers and money are never cut.
 */
#include "table.h"

#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include "alloc.h"
#include "cli_answer.h"
#include "measure.h"
#include "reach.h"
#include "cli_when.h"

#define CELL_MAX 4096
#define LEAST_CELLS 8 /* no text column is made narrower */

/* One character at s: its bytes, and its cells in *cells. */
static size_t next_character(const char *s, int *cells)
{
	wchar_t c;
	mbstate_t state = {0};
	size_t n = mbrtowc(&c, s, strlen(s), &state);
	if (n == (size_t)-1 || n == (size_t)-2 || n == 0) {
		*cells = 1;
		return 1;
	}
	int w = wcwidth(c);
	*cells = w < 0 ? 1 : w;
	return n;
}

int text_cells(const char *s)
{
	int total = 0, cells;
	while (*s) {
		s += next_character(s, &cells);
		total += cells;
	}
	return total;
}

void text_shorten(char *s, int cells)
{
	static const char dots[] = "\xE2\x80\xA6";
	if (text_cells(s) <= cells || strlen(s) < sizeof(dots))
		return;
	char *at = s;
	int used = 0, one;
	for (;;) {
		size_t n = next_character(at, &one);
		if (used + one > cells - 1)
			break;
		used += one;
		at += n;
	}
	/* What is left out takes at least two cells; where it is two bytes, one more must go. */
	while (strlen(at) < sizeof(dots) - 1 && at > s)
		do
			at--;
		while (at > s && ((unsigned char)*at & 0xC0) == 0x80);
	memcpy(at, dots, sizeof(dots));
}

static void add_list(struct text *t, const json_t *list)
{
	size_t i;
	const json_t *one;
	json_array_foreach(list, i, one)
	{
		if (i)
			text_add(t, ",");
		if (json_is_integer(one))
			text_addf(
			    t, "%lld", (long long)json_integer_value(one));
		else if (json_is_string(one))
			text_add(t, json_string_value(one));
	}
}

static void add_money(struct text *t, const struct paper_and_pen *pen,
    const json_t *row, const json_t *value)
{
	const char *currency = reach_text(row, "currency");
	char buf[MONEY_TEXT_MAX];
	money m = json_integer_value(value);
	if (pen->style == STYLE_PLAIN)
		text_addf(t, "%lld", (long long)m);
	else if (*currency || pen->currency)
		text_add(t,
		    money_print(buf, m, *currency ? currency : pen->currency));
	else
		text_addf(t, "%lld", (long long)m);
}

static void add_size(struct text *t, const json_t *value)
{
	text_addf(t, "%s x %s", reach_text(value, "across/text"),
	    reach_text(value, "along/text"));
}

static void add_json(struct text *t, const json_t *value)
{
	char *s = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY);
	text_add(t, s ? s : "");
	free(s);
}

static void add_instant(
    struct text *t, const struct paper_and_pen *pen, const char *instant)
{
	char buf[WHEN_TEXT_MAX];
	text_add(t, pen->style == STYLE_PLAIN
			? instant
			: when_print(buf, instant, pen->zone));
}

static void add_value(struct text *t, const struct paper_and_pen *pen,
    const struct column *col, const json_t *row, const json_t *value)
{
	bool plain = pen->style == STYLE_PLAIN;
	switch (col->kind) {
	case COL_TEXT:
		text_add(
		    t, json_is_string(value) ? json_string_value(value) : "");
		break;
	case COL_NUMBER:
		text_addf(t, "%lld", (long long)json_integer_value(value));
		break;
	case COL_LENGTH:
		if (plain)
			text_addf(t, "%lld", (long long)reach_int(value, "u"));
		else
			text_add(t, reach_text(value, "text"));
		break;
	case COL_SIZE:
		add_size(t, value);
		break;
	case COL_MONEY:
		add_money(t, pen, row, value);
		break;
	case COL_INSTANT:
		add_instant(t, pen,
		    json_is_string(value) ? json_string_value(value) : "");
		break;
	case COL_YES:
		text_add(t, json_is_true(value) ? "yes" : plain ? "no" : "");
		break;
	case COL_LIST:
		add_list(t, value);
		break;
	case COL_TENTHS:
		text_addf(t, "%lld.%lld",
		    (long long)json_integer_value(value) / 10,
		    (long long)json_integer_value(value) % 10);
		break;
	case COL_JSON:
		add_json(t, value);
		break;
	}
}

/* The text of one cell, fit for a terminal; yours to free. */
static char *make_cell(const struct paper_and_pen *pen,
    const struct column *col, const json_t *row)
{
	const json_t *value = reach(row, col->path);
	struct text t;
	text_init(&t, CELL_MAX);
	if (value && !json_is_null(value))
		add_value(&t, pen, col, row, value);
	else if (pen->style == STYLE_PEOPLE && col->absent)
		text_add(&t, col->absent);
	char *s = text_take(&t);
	text_clean(s);
	return s;
}

static bool is_shown(const struct paper_and_pen *pen, const struct column *col)
{
	return pen->style == STYLE_PLAIN ? col->name != NULL
					 : col->title != NULL;
}

static void plain_row(const struct paper_and_pen *pen,
    const struct column *columns, const json_t *row)
{
	bool first = true;
	for (const struct column *col = columns; col->path; col++) {
		if (!is_shown(pen, col))
			continue;
		char *cell = make_cell(pen, col, row);
		fprintf(pen->out, "%s%s", first ? "" : "\t", cell);
		free(cell);
		first = false;
	}
	fputc('\n', pen->out);
}

static void plain_heading(
    const struct paper_and_pen *pen, const struct column *columns)
{
	bool first = true;
	for (const struct column *col = columns; col->path; col++) {
		if (!is_shown(pen, col))
			continue;
		fprintf(pen->out, "%s%s", first ? "" : "\t", col->name);
		first = false;
	}
	fputc('\n', pen->out);
}

static bool is_right(enum column_kind kind)
{
	return kind == COL_NUMBER || kind == COL_MONEY || kind == COL_TENTHS ||
	       kind == COL_LENGTH;
}

static bool gives_way(enum column_kind kind)
{
	return kind == COL_TEXT || kind == COL_LIST || kind == COL_JSON;
}

/* The cells of a table for people: row 0 holds the titles. */
struct grid {
	const struct column *col[24];
	int width[24]; /* 0: left out */
	size_t n_cols, n_rows;
	char **cell;
};

static void make_grid(struct grid *g, const struct paper_and_pen *pen,
    const struct column *columns, const json_t *items)
{
	*g = (struct grid){.n_rows = json_array_size(items) + 1};
	for (const struct column *c = columns; c->path && g->n_cols < 24; c++)
		if (is_shown(pen, c))
			g->col[g->n_cols++] = c;
	g->cell = xcalloc(g->n_rows * g->n_cols + 1, sizeof(char *));
	for (size_t r = 0; r < g->n_rows; r++) {
		for (size_t c = 0; c < g->n_cols; c++) {
			char *s = r ? make_cell(pen, g->col[c],
					  json_array_get(items, r - 1))
				    : xstrdup(g->col[c]->title);
			int cells = text_cells(s);
			g->cell[r * g->n_cols + c] = s;
			if (cells > g->width[c])
				g->width[c] = cells;
		}
	}
}

/* For people, a column in which nothing stands is left out. */
static void drop_empty_columns(struct grid *g)
{
	for (size_t c = 0; c < g->n_cols; c++) {
		bool empty = g->n_rows > 1;
		for (size_t r = 1; r < g->n_rows; r++)
			empty = empty && !*g->cell[r * g->n_cols + c];
		if (empty)
			g->width[c] = 0;
	}
}

static void free_grid(struct grid *g)
{
	for (size_t i = 0; i < g->n_rows * g->n_cols; i++)
		free(g->cell[i]);
	free(g->cell);
}

static int total_width(const struct grid *g)
{
	int total = -2;
	for (size_t c = 0; c < g->n_cols; c++)
		total += g->width[c] ? g->width[c] + 2 : 0;
	return total;
}

static void fit_grid(struct grid *g, int width)
{
	while (total_width(g) > width) {
		size_t widest = g->n_cols;
		for (size_t c = 0; c < g->n_cols; c++)
			if (gives_way(g->col[c]->kind) &&
			    g->width[c] > LEAST_CELLS &&
			    (widest == g->n_cols ||
				g->width[c] > g->width[widest]))
				widest = c;
		if (widest == g->n_cols)
			return;
		g->width[widest]--;
	}
}

/* Blanks are written only before something, so that no line ends in them. */
static void write_row(FILE *out, const struct grid *g, size_t r)
{
	int blanks = 0;
	for (size_t c = 0; c < g->n_cols; c++) {
		char *cell = g->cell[r * g->n_cols + c];
		if (g->width[c] == 0)
			continue;
		text_shorten(cell, g->width[c]);
		int pad = g->width[c] - text_cells(cell);
		bool right = is_right(g->col[c]->kind);
		if (*cell)
			fprintf(
			    out, "%*s%s", blanks + (right ? pad : 0), "", cell);
		blanks = *cell ? 0 : blanks + g->width[c];
		blanks += (*cell && !right ? pad : 0) + 2;
	}
	fputc('\n', out);
}

void table_write(const struct paper_and_pen *pen, const struct column *columns,
    const json_t *items)
{
	struct grid g;
	size_t i;
	const json_t *row;
	if (pen->style == STYLE_PLAIN) {
		plain_heading(pen, columns);
		json_array_foreach(items, i, row)
		{
			plain_row(pen, columns, row);
		}
		return;
	}
	make_grid(&g, pen, columns, items);
	drop_empty_columns(&g);
	fit_grid(&g, pen->width);
	for (size_t r = 0; r < g.n_rows; r++)
		write_row(pen->out, &g, r);
	free_grid(&g);
}

void record_write(const struct paper_and_pen *pen, const struct column *columns,
    const json_t *object)
{
	int width = 0;
	if (pen->style == STYLE_PLAIN) {
		plain_heading(pen, columns);
		plain_row(pen, columns, object);
		return;
	}
	for (const struct column *c = columns; c->path; c++)
		if (c->title && text_cells(c->title) > width)
			width = text_cells(c->title);
	for (const struct column *c = columns; c->path; c++) {
		if (!c->title)
			continue;
		char *cell = make_cell(pen, c, object);
		if (*cell)
			fprintf(pen->out, "%s%*s  %s\n", c->title,
			    width - text_cells(c->title), "", cell);
		free(cell);
	}
}

/* jansson leaves DEL as it is; it can only stand within a string. */
static void write_without_del(FILE *out, const char *s)
{
	for (; *s; s++)
		if (*s == 0x7F)
			fputs("\\u007F", out);
		else
			fputc(*s, out);
	fputc('\n', out);
}

void json_write(FILE *out, const json_t *value)
{
	size_t flags = JSON_INDENT(2) | JSON_ENCODE_ANY;
	char *line = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY);
	if (line && !utf8_is_line(line, strlen(line)))
		flags |= JSON_ENSURE_ASCII;
	free(line);
	char *s = json_dumps(value, flags);
	if (s)
		write_without_del(out, s);
	free(s);
}
