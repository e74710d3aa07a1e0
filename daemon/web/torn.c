/* SPDX-License-Identifier: MIT */
/*
 * torn.c - what the sheet says goes back on the shelf becomes stock.
 *
 * The list is the tear sheet's own, so that the code somebody wrote on a roll-end or an
 * offcut finds its row.  The end of a roll has the roll's width, lot and spoiled runs.  What is
 * left of a flat sheet or an offcut is an offcut.  Spoiled runs are measured from the new end;
 * offcuts of strips have none.
 *
 * Where members pay for the whole order nothing has a price: whoever bought the roll has paid
 * for it.  Where the studio keeps the ends, all ends of a paper are worth together what the
 * members were let off, each by its area to the exact cent.
 */
#include "torn.h"

#include <string.h>

#include "counting.h"
#include "rows.h"

struct shelf_job {
	struct call *call;
	call_fn *next;
	const struct counting *counting;
	const struct layout *layouts;
	const struct share_result *shares;
	struct sheet *sheet;
	money *prices; /* of one piece, by place in the sheet's list */
	size_t at;     /* in the sheet's list */
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
	    .price_minor = s->prices[s->at - 1],
	    .available = s->kept.count,
	    .from_plan_id = call->plan.plan_id,
	    .shelf_code = call_printf(call, "%s", s->kept.code),
	    .active = true,
	    .spoiled = "[]",
	    .lot = lot,
	    .place = "",
	    .moved_by = call->caller.member_id,
	    .moved_for = call->plan.plan_id,
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

/* ---- what the ends are worth ---- */

/* What was kept when the workshop was settled, else what would be now. */
static const struct share_result *kept_by(
    const struct shelf_job *s, const struct shares *shares)
{
	const struct settlement_row *last = &s->counting->last;
	struct share_result *charged = NULL;
	struct err err;

	if (last->number > 0 && last->plan_id == s->counting->plan.plan_id &&
	    share_result_read(last->derivation, strlen(last->derivation),
		s->call->arena, &charged, &err))
		return charged;
	return shares->result;
}

static money kept_of(const struct share_result *result, int64_t paper_id)
{
	for (size_t i = 0; i < result->n_papers; i++)
		if (result->papers[i].paper_id == paper_id)
			return result->kept_values[i];
	return 0;
}

/* Spread over the ends of one paper by area.  Of several alike each has the same price: what
 * does not divide is levelled when the workshop is settled. */
static void value_paper(struct shelf_job *s, size_t paper, size_t n)
{
	struct arena *arena = s->call->arena;
	area *areas = arena_array(arena, n + 1, sizeof(*areas));
	uint64_t *tie = arena_array(arena, n + 1, sizeof(*tie));
	money *value = arena_array(arena, n + 1, sizeof(*value));
	money kept = kept_of(s->shares, s->layouts[paper].job->paper_id);
	struct sheet_kept end;
	bool any = false;

	for (size_t i = 0; i < n; i++) {
		tie[i] = i;
		if (!sheet_kept(s->sheet, i, &end) || end.paper != paper ||
		    !end.is_rest)
			continue;
		areas[i] = end.across * end.along * end.count;
		any = true;
	}
	if (any && kept > 0)
		share_split(kept, areas, tie, n, value);
	for (size_t i = 0; i < n; i++)
		if (value[i] > 0 && sheet_kept(s->sheet, i, &end))
			s->prices[i] = value[i] / end.count;
}

static void on_sheet(struct call *call, const struct sheet_input *input,
    const int64_t *member_ids)
{
	struct shelf_job *s = call->shelving;
	size_t n = 0;
	struct sheet_kept kept;

	(void)member_ids;
	s->sheet = sheet_new(input);
	while (sheet_kept(s->sheet, n, &kept))
		n++;
	s->prices = arena_array(call->arena, n + 1, sizeof(*s->prices));
	for (size_t p = 0; p < s->counting->facts.n_layouts; p++)
		value_paper(s, p, n);
	shelve_next(s);
}

static void on_counted(void *ctx, struct shares *shares)
{
	struct shelf_job *s = ctx;
	struct sheet_wish wish = sheet_wish(s->call);

	s->layouts = s->counting->facts.layouts;
	s->shares = kept_by(s, shares);
	s->call->plan = s->counting->plan;
	act_plan_sheet(s->call, &wish, on_sheet);
}

void torn_shelve(struct call *call, call_fn *next)
{
	struct shelf_job *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->next = next;
	call->shelving = s;
	s->counting = count_shares(call, on_counted, s);
}
