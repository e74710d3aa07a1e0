/* SPDX-License-Identifier: MIT */
/*
 * act_shelf.c - papers and what there is of them.
 */
#include "act_shelf.h"

#include <string.h>

#include "json_in.h"
#include "problem.h"
#include "rows.h"

static const char *const kinds[] = {"fresh", "roll-end", "offcut", "flat"};
#define N_KINDS ((int64_t)(sizeof(kinds) / sizeof(kinds[0])))

const char *stock_kind_name(int64_t kind)
{
	return kind >= 0 && kind < N_KINDS ? kinds[kind] : NULL;
}

int64_t stock_kind_from(const char *name)
{
	for (int64_t i = 0; i < N_KINDS; i++)
		if (strcmp(kinds[i], name) == 0)
			return i;
	return -1;
}

struct shelving {
	struct call *call;
	struct paper_row paper;
	struct stock_row stock;
	const char *event;
	act_paper_fn *paper_done;
	act_stock_fn *stock_done;
};

static struct shelving *shelving_new(struct call *call, const char *event)
{
	struct shelving *s = call_alloc(call, sizeof(*s));

	s->call = call;
	s->event = event;
	call->act = s;
	return s;
}

static bool is_gone(struct call *call, size_t n)
{
	if (n == 0)
		call_refuse(call, ERR_STALE, "Read it again, then change it.",
		    "it has changed in the meantime");
	return n == 0;
}

/* ---- papers ---- */

static void on_paper_noted(struct call *call)
{
	struct shelving *s = call->act;

	s->paper_done(call, &s->paper);
}

static void on_paper(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelving *s = ctx;

	if (call_failed(s->call, err) || is_gone(s->call, n))
		return;
	s->paper = row_keep_paper(s->call->arena, rows);
	call_event(s->call, s->event, 0, 0,
	    json_pack("{s: I, s: s}", "paper_id", (json_int_t)s->paper.paper_id,
		"name", s->paper.name),
	    on_paper_noted);
}

static void check_paper(struct call *call, const struct paper_row *paper)
{
	static const char *const finishes[] = {
	    "hot press", "cold press", "rough"};
	bool known = false;

	for (size_t i = 0; i < sizeof(finishes) / sizeof(finishes[0]); i++)
		known = known || strcmp(finishes[i], paper->finish) == 0;
	if (!known)
		call_fault(call, "/finish",
		    "Send \"hot press\", \"cold press\" or \"rough\".",
		    "finish \"%s\" is not known", shown(call, paper->finish));
	if (paper->weight_gsm < 1 || paper->weight_gsm > WEIGHT_MAX)
		call_fault(call, "/weight_gsm",
		    call_printf(call, "Give 1 to %d g/m2.", WEIGHT_MAX),
		    "weight_gsm %lld is out of range",
		    (long long)paper->weight_gsm);
}

void act_paper_add(
    struct call *call, const struct paper_row *paper, act_paper_fn *done)
{
	struct shelving *s = shelving_new(call, "paper-added");

	s->paper_done = done;
	check_paper(call, paper);
	if (!call_is_faulty(call))
		store_paper_add(call->tx, paper, on_paper, s);
}

void act_paper_change(
    struct call *call, const struct paper_row *paper, act_paper_fn *done)
{
	struct shelving *s = shelving_new(call, "paper-changed");

	s->paper_done = done;
	check_paper(call, paper);
	if (!call_is_faulty(call))
		store_paper_change(call->tx, paper, on_paper, s);
}

/* ---- stock ---- */

static void on_stock_noted(struct call *call)
{
	struct shelving *s = call->act;

	s->stock_done(call, &s->stock);
}

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelving *s = ctx;

	if (call_failed(s->call, err) || is_gone(s->call, n))
		return;
	s->stock = row_keep_stock(s->call->arena, rows);
	call_event(s->call, s->event, 0, 0,
	    json_pack("{s: I, s: I, s: s}", "stock_id",
		(json_int_t)s->stock.stock_id, "paper_id",
		(json_int_t)s->stock.paper_id, "name", s->stock.name),
	    on_stock_noted);
}

/* Runs in rising order, apart, inside the length. */
static void check_spoiled(struct call *call, const struct stock_row *stock)
{
	json_t *runs = json_loads(stock->spoiled, 0, NULL), *run = NULL;
	length at = -1;
	size_t i = 0;

	json_array_foreach(runs, i, run)
	{
		length from = json_integer_value(json_array_get(run, 0));
		length to = json_integer_value(json_array_get(run, 1));

		if (from <= at || to <= from || to > stock->length_u) {
			call_fault(call, call_printf(call, "/spoiled/%zu", i),
			    "Give runs [from, to] in rising order, apart, "
			    "within the length.",
			    "spoiled run %zu does not lie in order on the "
			    "stock",
			    i + 1);
			break;
		}
		at = to;
	}
	json_decref(runs);
}

static void check_side(struct call *call, const char *pointer, length l)
{
	if (l < 1 || l > 1000 * 1000 * MM / 10)
		call_fault(call, pointer, "Stock is at most 100 m long.",
		    "%s is out of range", pointer + 1);
}

static void check_stock(struct call *call, const struct stock_row *stock)
{
	bool may_be_endless =
	    stock->kind == STOCK_FRESH || stock->kind == STOCK_FLAT;

	check_side(call, "/width", stock->width_u);
	check_side(call, "/length", stock->length_u);
	if (stock->price_minor < 0 || stock->price_minor > PRICE_MAX)
		call_fault(call, "/price_minor",
		    "Give whole minor units, 0 or more.",
		    "price_minor %lld is out of range",
		    (long long)stock->price_minor);
	if (stock->available == UNLIMITED && !may_be_endless)
		call_fault(call, "/available", "Say how many there are.",
		    "a %s is counted", stock_kind_name(stock->kind));
	if (stock->available != UNLIMITED &&
	    (stock->available < 0 || stock->available > AVAILABLE_MAX))
		call_fault(call, "/available",
		    call_printf(call,
			"Give 0 to %d, or null for as many as are needed.",
			AVAILABLE_MAX),
		    "available %lld is out of range",
		    (long long)stock->available);
	check_spoiled(call, stock);
}

void act_stock_change(
    struct call *call, const struct stock_row *stock, act_stock_fn *done)
{
	struct shelving *s = shelving_new(call, "stock-changed");

	s->stock_done = done;
	s->stock = *stock;
	s->stock.moved_by = call->caller.member_id;
	check_stock(call, stock);
	if (!call_is_faulty(call))
		store_stock_change(call->tx, &s->stock, on_stock, s);
}

static void on_paper_of_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct shelving *s = ctx;

	(void)rows;
	if (call_failed(s->call, err))
		return;
	if (n == 0)
		call_fault(s->call, "/paper_id", "Add the paper first.",
		    "there is no paper %lld", (long long)s->stock.paper_id);
	if (!call_is_faulty(s->call))
		store_stock_add(s->call->tx, &s->stock, on_stock, s);
}

void act_stock_add(
    struct call *call, const struct stock_row *stock, act_stock_fn *done)
{
	struct shelving *s = shelving_new(call, "stock-added");

	s->stock = *stock;
	s->stock.moved_by = call->caller.member_id;
	s->stock_done = done;
	check_stock(call, stock);
	if (!call_is_faulty(call))
		store_paper(call->tx, call->caller.studio_id, stock->paper_id,
		    on_paper_of_stock, s);
}
