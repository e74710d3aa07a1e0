/* SPDX-License-Identifier: MIT */
/*
 * The dearest strip of three stages of every height at once, over a raster of cells.
 * Internal to plan/.
 *
 * Sizes are counted in whole cells, rounded down, so every strip that can be torn is in
 * the raster and its worth there is never too low: good for bounds.  Where the cells are
 * the greatest common divisors nothing is lost.
 */
#ifndef PLAN_RASTER_H
#define PLAN_RASTER_H

#include "budget.h"
#include "model.h"

struct raster;

/*
 * Strips of the frame up to its longest run; not many more than `cells` cells in all.
 * NULL: a piece would be lower or narrower than a cell.
 */
struct raster *raster_new(const struct model *m, size_t frame, int64_t cells);
void raster_delete(struct raster *r); /* NULL is fine */

int32_t raster_heights(const struct raster *r); /* cells of the highest strip */
length raster_unit(
    const struct raster *r); /* length of a cell along the roll */

/* Prices whose strips stay below this are safe. */
#define RASTER_MOST ((int64_t)1 << 30)

/* No strip at these prices is dearer than this, however it is made. */
int64_t raster_ceiling(const struct raster *r, const int64_t price[]);

/*
 * Set prices, raster_ceiling() of which is at most RASTER_MOST.  A stack holds a size at
 * most most[i] times; a row of stacks is not watched.  False: stopped.
 */
bool raster_set(struct raster *r, const int64_t price[], const int64_t most[],
    struct budget *budget) MUST_USE;

/* The dearest content of a strip up to h cells high. */
int64_t raster_value(const struct raster *r, int32_t h);
/* That content: how often each size is in it. */
void raster_content(const struct raster *r, int32_t h, int64_t count[]);

#endif
