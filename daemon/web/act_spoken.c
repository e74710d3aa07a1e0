/* SPDX-License-Identifier: MIT */
/*
 * act_spoken.c - how much of each paper is spoken for.
 *
 * All that a class sees of each other's requests: sums, beside what a roll of that paper has.
 */
#include "act_workshop.h"
#include "fits.h"
#include "measure.h"
#include "rows.h"

struct summing {
	struct call *call;
	struct spoken *items;
	size_t n, at;
	act_spoken_fn *done;
};

/* Rounded up, so that anything at all shows. */
static int64_t tenths_of(area used, const struct stock_row *stock, size_t n)
{
	wide largest = 0;

	for (size_t i = 0; i < n; i++) {
		wide a = (wide)stock[i].width_u * stock[i].length_u;

		if (stock[i].kind == STOCK_FRESH && a > largest)
			largest = a;
	}
	return largest == 0
		   ? -1
		   : (int64_t)(((wide)used * 10 + largest - 1) / largest);
}

static void ask_next(struct summing *s);

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct summing *s = ctx;
	struct spoken *item = &s->items[s->at];
	const struct stock_row *widest = fits_widest(rows, n);

	if (call_failed(s->call, err))
		return;
	item->widest = widest == NULL ? 0 : widest->width_u;
	item->roll_tenths = tenths_of(item->row.area_uu, rows, n);
	s->at++;
	ask_next(s);
}

static void ask_next(struct summing *s)
{
	struct call *call = s->call;

	if (s->at < s->n)
		store_stock_usable(call->tx, call->caller.studio_id,
		    s->items[s->at].row.paper_id, on_stock, s);
	else
		s->done(call, s->items, s->n);
}

static void on_spoken(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct summing *s = ctx;
	const struct spoken_row *spoken = rows;

	if (call_failed(s->call, err))
		return;
	s->items = arena_array(s->call->arena, n + 1, sizeof(*s->items));
	for (s->n = 0; s->n < n; s->n++)
		s->items[s->n].row =
		    row_keep_spoken(s->call->arena, &spoken[s->n]);
	ask_next(s);
}

void act_workshop_spoken(struct call *call, act_spoken_fn *done)
{
	struct summing *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->done = done;
	store_spoken_for(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_spoken, s);
}
