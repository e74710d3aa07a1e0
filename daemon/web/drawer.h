/* SPDX-License-Identifier: MIT */
/*
 * Prints are drawn on a thread beside the loop, one at a time in the whole process (the
 * drawing libraries want it so), and in turn between studios: so many run and wait for one
 * studio, and one that floods it waits for itself only.
 */
#ifndef WEB_DRAWER_H
#define WEB_DRAWER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"
#include "folio.h"
#include "sheet.h"

struct drawer;
struct event_base;

enum draw_form {
	DRAW_TEXT,
	DRAW_PDF,
	DRAW_SVG,
	DRAW_HTML,
	DRAW_JSON,
	DRAW_LABELS
};

struct drawing { /* what is asked for; borrowed until done is called */
	int64_t studio_id;
	const struct sheet_input *input;
	const struct folio *folio; /* instead of it: drawn as PDF */
	enum draw_form form;
	size_t number;          /* of the page, for DRAW_SVG */
	struct label_grid grid; /* for DRAW_LABELS */
};

/* data lives until done returns; err NULL when all is well. */
typedef void draw_fn(void *ctx, const char *data, size_t len, size_t pages,
    const struct err *err);

struct drawer *drawer_new(struct event_base *base, int per_studio);
/* Waits for what is being drawn; what waits ends in ERR_BUSY. */
void drawer_delete(struct drawer *drawer); /* NULL is fine */

/* False: the studio has its number already.  done is called on the loop's thread. */
bool drawer_add(struct drawer *drawer, const struct drawing *drawing,
    draw_fn *done, void *ctx) MUST_USE;

#endif
