/* SPDX-License-Identifier: MIT */
/*
 * Laying the tear sheet out on pages: for the draw_*.c files.
 *
 * A flow goes down the page from `y`; flow_need() begins a new page when what comes next
 * does not fit.  Sizes are in points at normal size; px() makes them larger in large print.
 */
#ifndef PRINT_DRAW_H
#define PRINT_DRAW_H

#include "canvas.h"
#include "notes.h"
#include "sheet_model.h"

#define MARGIN 42.0
#define BODY 12.0

struct flow {
	const struct sheet *sheet;
	struct canvas *canvas;
	struct arena *arena;
	double left, top, width,
	    bottom; /* the room between header and footer */
	double y;
	double zoom;           /* 1, or 1.5 in large print */
	const char *section;   /* in the header of each page */
	const char **sections; /* of each page so far */
	size_t sections_room;
	size_t *
	    group_pages; /* page index of each group, in order; for the index */
	size_t n_groups;
};

static inline double px(const struct flow *f, double points)
{
	return points * f->zoom;
}

void flow_page(struct flow *f);
/* Room for `height` more, on this page or the next; true when a page was begun. */
bool flow_need(struct flow *f, double height);
void flow_gap(struct flow *f, double points);
/* A line or paragraph over the whole width. */
void flow_text(struct flow *f, const struct style *style, const char *s);
void flow_heading(struct flow *f, int level, const char *s);
void flow_notes(struct flow *f, const struct notes *notes);
/* In the middle of room, smaller when it must be: for what may not be left out. */
void flow_label(
    struct flow *f, struct box room, const struct style *style, const char *s);
/* A box to tick, `size` points. */
void flow_box(struct flow *f, double x, double y, double size);

struct style style_of(const struct flow *f, double points, bool bold);

/* Width and height of a page in points. */
void page_size(enum sheet_page page, double *width, double *height);

void draw_first_page(struct flow *f);
void draw_roll_picture(struct flow *f, const struct sheet_roll *roll);
/* One strip to scale in the box, with codes or segment numbers. */
void draw_strip(struct flow *f, const struct sheet_roll *roll,
    const struct group *group, struct box box);
void draw_roll_steps(struct flow *f, const struct sheet_roll *roll);
void draw_after(struct flow *f);

/* The pieces, waste and kept paper of a strip into a box; near edge at the bottom. */
void draw_strip_body(struct flow *f, const struct sheet_roll *roll,
    const struct strip *strip, struct box box, bool codes);

/* Code of the owner of a placed piece. */
const char *draw_code(
    const struct flow *f, const struct sheet_roll *roll, size_t piece);

#endif
