/* SPDX-License-Identifier: MIT */
/*
 * Tables: the columns of an answer, written for people or for programs.
 *
 * One list of columns serves both.  For people: aligned, at most `width` cells of a
 * terminal wide (texts give way, ending in "…").  Plain: the names of the columns, then one
 * line a row, tabs between; every named column in order, lengths as whole numbers of 1/320 mm and money in
 * minor units.  Plain columns are a promise: they stand in the man page, new ones are only
 * added behind.
 */
#ifndef CLI_TABLE_H
#define CLI_TABLE_H

#include <jansson.h>
#include <stdio.h>

#include "text.h"

enum column_kind {
	COL_TEXT,
	COL_NUMBER,
	COL_LENGTH, /* {"u", "text"} */
	COL_SIZE,   /* {"across": LENGTH, "along": LENGTH}; for people only */
	COL_MONEY, /* minor units; the currency is the row's or the whole answer's */
	COL_INSTANT, /* RFC 3339; for people in the studio's time zone */
	COL_YES,     /* true or false; for people "yes" or nothing */
	COL_LIST,    /* texts or numbers, with commas */
	COL_TENTHS,  /* 7 is 0.7 */
	COL_JSON,    /* whatever it is, in one line */
};

struct column {
	const char *name;  /* under --plain; NULL: for people only */
	const char *title; /* for people; NULL: under --plain only */
	const char *path;  /* in the row's object */
	enum column_kind kind;
	const char *absent; /* for people, when it is null; NULL: nothing */
};

enum style { STYLE_PEOPLE, STYLE_PLAIN, STYLE_JSON };

struct paper_and_pen { /* what a writer of tables must know */
	FILE *out;
	enum style style;
	int width;            /* of the terminal, in cells */
	const char *currency; /* when the row does not say; may be NULL */
	const char *zone;     /* for instants; NULL: UTC */
};

/* Columns end with an entry whose path is NULL; items is an array of objects. */
void table_write(const struct paper_and_pen *pen, const struct column *columns,
    const json_t *items);
/* One object: for people a line for each column, plain one row. */
void record_write(const struct paper_and_pen *pen, const struct column *columns,
    const json_t *object);
/* Any JSON for programs and careful terminals: nothing in it can steer one. */
void json_write(FILE *out, const json_t *value);

/* Cells of a terminal that s takes (wide characters two, combining ones none). */
int text_cells(const char *s);
/* Shortens s in place to at most `cells`, ending in "…" when something is left out. */
void text_shorten(char *s, int cells);

#endif
