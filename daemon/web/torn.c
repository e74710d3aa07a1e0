/* SPDX-License-Identifier: MIT */
/*
 * torn.c - what the sheet says goes back on the shelf becomes stock.
 *
 * The list is the tear sheet's own, so that the code somebody wrote on a roll-end or an
 * offcut finds its row.  The end of a roll has the roll's width, lot and spoiled runs, and no
 * price: whoever bought the roll has paid for it.  What is left of a flat sheet or an offcut
 * is an offcut.  Spoiled runs are measured from the new end; offcuts of strips have none.
 */
#include "torn.h"

#include <string.h>

#include "layout.h"
#include "rows.h"

struct shelf_job {
	struct call *call;
	call_fn *next;
	const struct layout *layouts;
	struct sheet *sheet;
	size_t at; /* in the sheet's list */
	struct sheet_kept kept;
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

static void end_job(struct shelf_job *s)
{
	sheet_delete(s->sheet);
	s->sheet = NULL;
}

static void on_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelf_job *s = ctx;

	(void)rows;
	(void)n;
	if (call_failed(s->call, err))
		end_job(s);
	else
		shelve_next(s);
}

static const struct roll *roll_of(const struct shelf_job *s)
{
	return &s->layouts[s->kept.paper].plan->rolls[s->kept.roll];
}

/* A sheet that was begun the other way is turned back: grain along its length again. */
static struct stock_row row_of(struct shelf_job *s, const char *lot)
{
	struct call *call = s->call;
	const struct layout *l = &s->layouts[s->kept.paper];
	const struct roll *roll = roll_of(s);
	const struct stock *of = &l->problem->stock[roll->stock];
	bool end = s->kept.is_rest && !of->flat;
	struct rest rest;
	struct stock_row row = {
	    .studio_id = call->caller.studio_id,
	    .paper_id = l->job->paper_id,
	    .kind = end ? STOCK_ROLL_END : STOCK_OFFCUT,
	    .width_u = roll->quarter ? s->kept.along : s->kept.across,
	    .length_u = roll->quarter ? s->kept.across : s->kept.along,
	    .available = s->kept.count,
	    .from_plan_id = call->plan.plan_id,
	    .shelf_code = call_printf(call, "%s", s->kept.code),
	    .active = true,
	    .spoiled = "[]",
	    .lot = lot,
	    .place = "",
	};

	torn_rest(roll, 0, &rest);
	if (s->kept.is_rest && !roll->quarter)
		row.spoiled = torn_spoiled(call, of, rest.from);
	row.name = call_printf(call, "%s of %.170s, plan %lld",
	    s->kept.is_rest ? "end" : "offcut", of->name,
	    (long long)call->plan.plan_id);
	return row;
}

/* The stock as it was gives the lot; what lies on the shelf has its own row. */
static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelf_job *s = ctx;
	const struct stock_row *was = rows;
	struct stock_row row;

	if (call_failed(s->call, err)) {
		end_job(s);
		return;
	}
	row = row_of(s, n > 0 ? was->lot : "");
	store_stock_add(s->call->tx, &row, on_added, s);
}

static void shelve_next(struct shelf_job *s)
{
	if (!sheet_kept(s->sheet, s->at++, &s->kept)) {
		end_job(s);
		s->next(s->call);
		return;
	}
	store_stock(s->call->tx, s->call->caller.studio_id,
	    s->layouts[s->kept.paper].stock[roll_of(s)->stock], on_stock, s);
}

static void on_sheet(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	struct shelf_job *s = call->shelving;

	(void)member_ids;
	s->sheet = sheet_new(input);
	shelve_next(s);
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct shelf_job *s = ctx;
	struct sheet_wish wish = sheet_wish(s->call);

	(void)n;
	s->layouts = layouts;
	act_plan_sheet(s->call, &wish, on_sheet);
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
	s->call->plan = row_keep_plan(s->call->arena, rows);
	layout_load(s->call, &s->call->plan, 0, on_layouts, s);
}

void torn_shelve(struct call *call, call_fn *next)
{
	struct shelf_job *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->next = next;
	call->shelving = s;
	store_plan(call->tx, call->caller.studio_id,
	    call->workshop.accepted_plan_id, on_plan, s);
}
