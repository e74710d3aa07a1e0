/* SPDX-License-Identifier: MIT */
/*
 * A canvas: what is drawn is first written down, page by page, and only then becomes PDF,
 * SVG or a list of commands.
 *
 * So every form shows the same, the number of pages is known before the first "page 1 of 14"
 * is drawn, and a test can ask whether a label leaves its box without looking at a picture.
 *
 * Units are points (1/72 in), y grows downwards.  Positions here are for the eye; nothing
 * about a piece is decided with them.
 *
 * Text is shaped by pango: only one thread of a process may use canvases.
 */
#ifndef PRINT_CANVAS_H
#define PRINT_CANVAS_H

#include <stdbool.h>
#include <stddef.h>

#include "err.h"
#include "text.h"

struct box {
	double x, y, w, h;
};

enum face { FACE_SANS, FACE_SERIF };
enum align { ALIGN_LEFT, ALIGN_CENTER, ALIGN_RIGHT };

struct style {
	enum face face;
	double size;
	bool bold;
	enum align align;
	bool wrap; /* break into lines; otherwise shorten with an ellipsis */
	bool fractions; /* set "1/2" as a fraction */
};

enum fill {
	FILL_NONE,
	FILL_WHITE,
	FILL_BLACK,
	FILL_SHADE, /* light grey */
	FILL_WASTE, /* thin slanted lines */
	FILL_KEEP,  /* slanted lines both ways */
	FILL_DOTS,  /* the four for pieces, beside plain white */
	FILL_ACROSS,
	FILL_DOWN,
	FILL_PLUS,
};

enum item_kind {
	ITEM_RECT,
	ITEM_LINE,
	ITEM_TORN,
	ITEM_TEXT,
	ITEM_QR,
	ITEM_OUTLINE
};

struct item {
	enum item_kind kind;
	struct box
	    box; /* rect, text as shaped; a line from (x, y) to (x + w, y + h) */
	struct box room; /* text: the room it was given; it must not leave it */
	enum fill fill;
	double line; /* width of the pen; 0: none */
	bool dashed;
	struct style style;
	const char
	    *text;    /* what is shown, encoded, or the name in the outline */
	void *layout; /* PangoLayout of a text */
	int level;    /* of an outline entry, from 1 */
};

struct canvas_page {
	struct item *items;
	size_t n, room;
};

struct canvas {
	double width, height;
	struct canvas_page *pages;
	size_t n_pages, room;
	size_t now; /* index of the page that is drawn on */
	struct arena *arena;
	void *context;         /* PangoContext */
	size_t unknown_glyphs; /* signs no font on this machine can show */
};

struct canvas *canvas_new(double width, double height, const char *language);
void canvas_delete(struct canvas *c); /* NULL is fine */

void canvas_add_page(struct canvas *c); /* and draw on it */
void canvas_turn_to(
    struct canvas *c, size_t page); /* index of a page that exists */

/* How much stands on this page, and back to that: for trying whether something fits. */
size_t canvas_drawn(const struct canvas *c);
void canvas_undraw(struct canvas *c, size_t drawn);

void canvas_rect(struct canvas *c, struct box box, enum fill fill, double line);
void canvas_line(struct canvas *c, double x1, double y1, double x2, double y2,
    double line, bool dashed);
/* A line across that looks torn: from x over w, at y. */
void canvas_torn(struct canvas *c, double x, double y, double w);
/* Draws s inside room (its height is not used when it is 0); returns the box it takes. */
struct box canvas_text(struct canvas *c, struct box room,
    const struct style *style, const char *s);
/* In the middle of room; nothing is drawn (false) when it does not fit. */
bool canvas_label(struct canvas *c, struct box room, const struct style *style,
    const char *s);
/* What canvas_text would take, drawing nothing. */
struct box canvas_measure(
    struct canvas *c, double width, const struct style *style, const char *s);
void canvas_qr(struct canvas *c, struct box box, const char *s);
/* An entry of the PDF's outline, pointing at this page. */
void canvas_outline(struct canvas *c, int level, double y, const char *name);

struct canvas_about {
	const char *title, *subject, *author, *language;
	const char *made; /* ISO 8601 */
};

bool canvas_pdf(const struct canvas *c, const struct canvas_about *about,
    struct text *out, struct err *err) MUST_USE;
/* One page, index from 0. */
void canvas_svg(const struct canvas *c, size_t page,
    const struct canvas_about *about, struct text *out);
void canvas_commands(const struct canvas *c, struct text *out);

/* A number with one decimal and a point, in every locale. */
#define CANVAS_NUMBER_MAX 32
const char *canvas_number(char buf[static CANVAS_NUMBER_MAX], double value);

#endif
