/* SPDX-License-Identifier: MIT */
/*
 * label_grid.c - how labels lie on their page.
 *
 * Makers print five numbers on the box; they are asked for in that order, in one line, so
 * that a studio can copy them down and send them on.
 */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet_model.h"

#define PARTS 5
#define PART_MAX 96
#define LABEL_W_MIN (40 * MM)
#define LABEL_H_MIN (22 * MM)

struct label_grid label_grid_default(enum sheet_page page)
{
	if (page == SHEET_LETTER)
		return (struct label_grid){.page = page,
		    .columns = 3,
		    .rows = 10,
		    .width = 21 * INCH / 8,
		    .height = INCH,
		    .left = 3 * INCH / 16,
		    .top = INCH / 2,
		    .step_x = 11 * INCH / 4,
		    .step_y = INCH};
	return (struct label_grid){.page = page,
	    .columns = 3,
	    .rows = 7,
	    .width = 635 * MM / 10,
	    .height = 381 * MM / 10,
	    .left = 72 * MM / 10,
	    .top = 151 * MM / 10,
	    .step_x = 66 * MM,
	    .step_y = 381 * MM / 10};
}

bool label_grid_check(const struct label_grid *g, struct err *err)
{
	length page_w = g->page == SHEET_LETTER ? 17 * INCH / 2 : 210 * MM;
	length page_h = g->page == SHEET_LETTER ? 11 * INCH : 297 * MM;

	if (g->columns < 1 || g->rows < 1 || g->columns > 20 || g->rows > 50)
		return err_set(err, ERR_INPUT,
		    "a sheet of %zu x %zu labels cannot be printed", g->columns,
		    g->rows);
	if (g->width < LABEL_W_MIN || g->height < LABEL_H_MIN) {
		err_set(err, ERR_INPUT,
		    "a label is too small to be read at arm's length");
		return err_hint(err, "Take labels of at least 40 x 22 mm.");
	}
	if (g->left < 0 || g->top < 0 || g->step_x < g->width ||
	    g->step_y < g->height || g->left > page_w || g->top > page_h ||
	    g->step_x > page_w || g->step_y > page_h ||
	    g->left + (length)(g->columns - 1) * g->step_x + g->width >
		page_w ||
	    g->top + (length)(g->rows - 1) * g->step_y + g->height > page_h) {
		err_set(err, ERR_INPUT,
		    "the labels do not fit the page, or lie on one another");
		return err_hint(err,
		    "Check the margins, and the distance from label to label.");
	}
	if (g->skip >= g->columns * g->rows)
		return err_set(err, ERR_INPUT,
		    "%zu labels of %zu are said to be used up", g->skip,
		    g->columns * g->rows);
	return true;
}

/* --- reading ------------------------------------------------------------------------- */

static void copy_trimmed(char out[static PART_MAX], const char *from, size_t n)
{
	while (n > 0 && isspace((unsigned char)*from)) {
		from++;
		n--;
	}
	while (n > 0 && isspace((unsigned char)from[n - 1]))
		n--;
	if (n >= PART_MAX)
		n = PART_MAX - 1;
	memcpy(out, from, n);
	out[n] = '\0';
}

/* The parts between semicolons; SIZE_MAX when there are too many. */
static size_t split(const char *text, char parts[PARTS][PART_MAX])
{
	size_t n = 0;

	for (;;) {
		size_t len = strcspn(text, ";");
		if (n == PARTS)
			return SIZE_MAX;
		copy_trimmed(parts[n++], text, len);
		if (text[len] == '\0')
			return n;
		text += len + 1;
	}
}

/* "A x B": the two sides of the sign. */
static bool halve(
    const char *s, char a[static PART_MAX], char b[static PART_MAX])
{
	const char *x = strpbrk(s, "xX");

	if (!x)
		return false;
	copy_trimmed(a, s, (size_t)(x - s));
	copy_trimmed(b, x + 1, strlen(x + 1));
	return *a && *b;
}

static bool read_count(const char *s, size_t *out)
{
	char *end;

	if (!isdigit((unsigned char)*s) || strlen(s) > 3)
		return false;
	*out = strtoul(s, &end, 10);
	return *end == '\0';
}

static bool read_counts(const char *s, size_t *columns, size_t *rows)
{
	char a[PART_MAX], b[PART_MAX];

	return halve(s, a, b) && read_count(a, columns) && read_count(b, rows);
}

/* "63.5 x 38.1 mm": a unit that stands once is meant for both. */
static bool read_pair(const char *s, length *x, length *y)
{
	char a[PART_MAX], b[PART_MAX], both[PART_MAX + 8];
	struct err err;

	if (!halve(s, a, b))
		return false;
	size_t unit = strlen(b);
	while (unit > 0 && isalpha((unsigned char)b[unit - 1]))
		unit--;
	snprintf(both, sizeof(both), "%s%s%.7s", a,
	    isalpha((unsigned char)a[strlen(a) - 1]) ? "" : " ",
	    isalpha((unsigned char)a[strlen(a) - 1]) ? "" : b + unit);
	return length_parse_or_zero(both, strlen(both), x, &err) &&
	       length_parse_or_zero(b, strlen(b), y, &err);
}

static bool read_page(const char *s, enum sheet_page *page)
{
	if (strcmp(s, "a4") == 0 || strcmp(s, "A4") == 0)
		*page = SHEET_A4;
	else if (strcmp(s, "letter") == 0 || strcmp(s, "Letter") == 0)
		*page = SHEET_LETTER;
	else
		return false;
	return true;
}

bool label_grid_read(const char *text, enum sheet_page page,
    struct label_grid *out, struct err *err)
{
	char parts[PARTS][PART_MAX];
	size_t n = split(text ? text : "", parts);
	struct label_grid g = {.page = page};

	*out = label_grid_default(page);
	if (n == 1 && parts[0][0] == '\0')
		return true;
	if (n == 1 && read_page(parts[0], &page)) {
		*out = label_grid_default(page);
		return true;
	}
	if (n == PARTS && read_page(parts[0], &g.page) &&
	    read_counts(parts[1], &g.columns, &g.rows) &&
	    read_pair(parts[2], &g.width, &g.height) &&
	    read_pair(parts[3], &g.left, &g.top) &&
	    read_pair(parts[4], &g.step_x, &g.step_y)) {
		*out = g;
		return label_grid_check(&g, err);
	}
	err_set(err, ERR_INPUT, "\"%.60s\" is no grid of labels", text);
	return err_hint(err,
	    "Write page; columns x rows; width x height; left x top of the "
	    "first; from one to the next: \"a4; 3 x 7; 63.5 x 38.1 mm; "
	    "7.2 x 15.1 mm; 66 x 38.1 mm\".");
}
