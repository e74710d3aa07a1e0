/* SPDX-License-Identifier: MIT */
/*
 * torn.c - roll-ends go to the shelf.
 *
 * The end of a roll has the roll's width, lot and spoiled runs, and no price: whoever bought
 * the roll has paid for it.  What is left of a flat sheet or an offcut is an offcut.  Spoiled
 * runs are measured from the new end.
 */
#include "torn.h"

#include <string.h>

#include "layout.h"
#include "rows.h"

struct shelf_job {
	struct call *call;
	call_fn *next;
	struct plan_row plan;
	const struct layout *layouts;
	size_t n_layouts;
	size_t at_layout, at_roll;
	struct rest rest;
};

bool torn_rest(const struct roll *roll, length keep, struct rest *out)
{
	length used = 0;

	for (size_t i = 0; i < roll->n_strips; i++)
		if (roll->strips[i].at + roll->strips[i].height > used)
			used = roll->strips[i].at + roll->strips[i].height;
	*out = (struct rest){
	    .stock = roll->stock,
	    .width = roll->quarter ? roll->length - used : roll->width,
	    .length = roll->quarter ? roll->width : roll->length - used,
	    .from = used,
	    .quarter = roll->quarter,
	};
	return roll->length > used && roll->length - used >= keep;
}

const char *torn_spoiled(
    struct call *call, const struct stock *stock, length from)
{
	const char *text = "[";
	bool first = true;

	for (size_t i = 0; i < stock->n_spoiled; i++) {
		struct run run = stock->spoiled[i];

		if (run.to <= from)
			continue;
		if (run.from < from)
			run.from = from;
		text = call_printf(call, "%s%s[%lld,%lld]", text,
		    first ? "" : ",", (long long)(run.from - from),
		    (long long)(run.to - from));
		first = false;
	}
	return call_printf(call, "%s]", text);
}

static void shelve_next(struct shelf_job *s);

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelf_job *s = ctx;

	(void)rows;
	(void)n;
	if (!call_failed(s->call, err))
		shelve_next(s);
}

/* The stock as it was gives lot and place; what lies on the shelf has its own row. */
static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelf_job *s = ctx;
	struct call *call = s->call;
	const struct layout *l = &s->layouts[s->at_layout];
	const struct stock *of = &l->problem->stock[s->rest.stock];
	const struct stock_row *was = rows;
	bool flat = of->flat;
	struct stock_row row = {
	    .studio_id = call->caller.studio_id,
	    .paper_id = l->job->paper_id,
	    .kind = flat ? STOCK_OFFCUT : STOCK_ROLL_END,
	    .width_u = s->rest.width,
	    .length_u = s->rest.length,
	    .available = 1,
	    .from_plan_id = s->plan.plan_id,
	    .active = true,
	};

	if (call_failed(call, err))
		return;
	row.name = call_printf(call, "end of %.180s, plan %lld", of->name,
	    (long long)s->plan.plan_id);
	row.spoiled =
	    s->rest.quarter ? "[]" : torn_spoiled(call, of, s->rest.from);
	row.lot = n > 0 ? was->lot : "";
	row.place = "";
	store_stock_add(call->tx, &row, on_added, s);
}

static void shelve_next(struct shelf_job *s)
{
	struct call *call = s->call;

	while (s->at_layout < s->n_layouts) {
		const struct layout *l = &s->layouts[s->at_layout];

		if (s->at_roll == l->plan->n_rolls) {
			s->at_layout++;
			s->at_roll = 0;
		} else if (torn_rest(&l->plan->rolls[s->at_roll++],
			       call->caller.studio.keep_u, &s->rest)) {
			store_stock(call->tx, call->caller.studio_id,
			    l->stock[s->rest.stock], on_stock, s);
			return;
		}
	}
	s->next(call);
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct shelf_job *s = ctx;

	s->layouts = layouts;
	s->n_layouts = n;
	shelve_next(s);
}

static void on_plan(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelf_job *s = ctx;

	if (call_failed(s->call, err))
		return;
	if (n == 0) {
		call_refuse(s->call, ERR_INTERNAL, NULL,
		    "workshop %lld has lost its plan",
		    (long long)s->call->workshop.workshop_id);
		return;
	}
	s->plan = row_keep_plan(s->call->arena, rows);
	layout_load(s->call, &s->plan, 0, on_layouts, s);
}

void torn_shelve(struct call *call, call_fn *next)
{
	struct shelf_job *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->next = next;
	store_plan(call->tx, call->caller.studio_id,
	    call->workshop.accepted_plan_id, on_plan, s);
}
