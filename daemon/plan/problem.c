/* SPDX-License-Identifier: MIT */
/*
 * problem.c - what is asked: its memory and its rules.
 *
 * The rules are walked in one function that hands every broken one to a callback, so
 * that the reader can collect ten of them and problem_check() can stop at the first.
 */
#include "problem.h"
#include "problem_rules.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define PROBLEM_MEMORY ((size_t)1 << 30)

struct problem *problem_new(size_t n_stock, size_t n_pieces)
{
	struct arena *arena = arena_new(PROBLEM_MEMORY);
	struct problem *problem = arena_alloc(arena, sizeof(*problem));

	problem->arena = arena;
	problem->stages = 3;
	problem->milliseconds = PROBLEM_SECONDS * 1000;
	problem->stock = arena_array(arena, n_stock, sizeof(*problem->stock));
	problem->n_stock = n_stock;
	problem->pieces =
	    arena_array(arena, n_pieces, sizeof(*problem->pieces));
	problem->n_pieces = n_pieces;
	return problem;
}

void problem_delete(struct problem *problem)
{
	if (problem != NULL)
		arena_delete(problem->arena);
}

const char *rules_length(char buf[static LENGTH_TEXT_MAX], length l)
{
	return length_print(
	    buf, l, l % (INCH / 64) == 0 ? MEASURE_INCH : MEASURE_MM);
}

struct walk {
	broken_rule_fn *broken;
	void *ctx;
	bool go;
};

static void tell(struct walk *w, const char *hint, const char *field,
    const char *fmt, ...) PRINTF_LIKE(4, 5);

static void tell(
    struct walk *w, const char *hint, const char *field, const char *fmt, ...)
{
	char text[512];
	va_list args;

	if (!w->go)
		return;
	va_start(args, fmt);
	vsnprintf(text, sizeof(text), fmt, args);
	va_end(args);
	w->go = w->broken(w->ctx, field, text, hint);
}

static void check_length(struct walk *w, length l, length least,
    const char *part, size_t i, const char *key)
{
	char field[128];

	if (l >= least && l <= LENGTH_MAX)
		return;
	if (part != NULL)
		snprintf(field, sizeof(field), "/%s/%zu/%s", part, i, key);
	else
		snprintf(field, sizeof(field), "/%s", key);
	if (l < least)
		tell(w, "Lengths count units of 1/320 mm.", field,
		    "%s is %" PRId64 ", it must be %s", key, l,
		    least == 0 ? "zero or more" : "more than zero");
	else
		tell(w,
		    "Lengths count units of 1/320 mm: 1 mm is 320, 1 in is "
		    "8128.",
		    field, "%s is %" PRId64 ", the most is %" PRId64 " (1 km)",
		    key, l, (int64_t)LENGTH_MAX);
}

static void check_name(struct walk *w, const char *name, const char *part,
    size_t i, const char *key)
{
	char field[128];

	if (name == NULL || utf8_is_line(name, strlen(name)))
		return;
	snprintf(field, sizeof(field), "/%s/%zu/%s", part, i, key);
	tell(w, "Use letters, digits and signs.", field,
	    "%s is not one line of printable text", key);
}

static void check_spoiled(struct walk *w, const struct stock *s, size_t i)
{
	char field[128];
	length end = 0;

	for (size_t k = 0; k < s->n_spoiled && w->go; k++) {
		const struct run *run = &s->spoiled[k];

		snprintf(field, sizeof(field), "/stock/%zu/spoiled/%zu", i, k);
		if (run->from < 0 || run->to <= run->from ||
		    run->to > s->length)
			tell(w, "A run is [from, to] in rising order.", field,
			    "spoiled run from %" PRId64 " to %" PRId64
			    " does not lie on the length %" PRId64,
			    run->from, run->to, s->length);
		else if (run->from < end)
			tell(w, "List the runs in rising order.", field,
			    "spoiled run from %" PRId64
			    " begins before the one before it ends (%" PRId64
			    ")",
			    run->from, end);
		end = run->to > end ? run->to : end;
	}
}

static void check_stock(struct walk *w, const struct stock *s, size_t i)
{
	char field[128];

	check_name(w, s->name, "stock", i, "name");
	check_length(w, s->width, 1, "stock", i, "width");
	check_length(w, s->length, 1, "stock", i, "length");
	if (s->price < 0 || s->price > PROBLEM_PRICE_MAX) {
		snprintf(field, sizeof(field), "/stock/%zu/price", i);
		tell(w, "Prices count minor units (cents).", field,
		    "price is %" PRId64 ", it must lie between 0 and %" PRId64,
		    s->price, (int64_t)PROBLEM_PRICE_MAX);
	}
	if (s->available != UNLIMITED &&
	    (s->available < 0 || s->available > PROBLEM_PIECES_MAX)) {
		snprintf(field, sizeof(field), "/stock/%zu/available", i);
		tell(w, "Write null for as many as needed.", field,
		    "available is %" PRId64 ", it must lie between 0 and %d",
		    s->available, PROBLEM_PIECES_MAX);
	}
	check_spoiled(w, s, i);
}

static void check_piece(struct walk *w, const struct piece *p, size_t i)
{
	char field[128];

	check_name(w, p->name, "pieces", i, "name");
	check_name(w, p->owner, "pieces", i, "owner");
	check_length(w, p->across, 1, "pieces", i, "across");
	check_length(w, p->along, 1, "pieces", i, "along");
	if (p->count < 1 || p->count > PROBLEM_PIECES_MAX) {
		snprintf(field, sizeof(field), "/pieces/%zu/count", i);
		tell(w, "Leave the piece out when none is wanted.", field,
		    "count is %" PRId64 ", it must lie between 1 and %d",
		    p->count, PROBLEM_PIECES_MAX);
	}
}

static void check_whole(struct walk *w, const struct problem *problem)
{
	if (problem->stages != 2 && problem->stages != 3)
		tell(w,
		    "2: strips and segments; 3: stacks in the segments too.",
		    "/stages", "stages is %d, it must be 2 or 3",
		    problem->stages);
	if (problem->n_stock == 0 || problem->n_stock > PROBLEM_STOCK_MAX)
		tell(w, "List what the paper can be bought or taken as.",
		    "/stock", "stock has %zu entries, it must have 1 to %d",
		    problem->n_stock, PROBLEM_STOCK_MAX);
	if (problem->n_pieces == 0 || problem->n_pieces > PROBLEM_SIZES_MAX)
		tell(w, "List at least one piece.", "/pieces",
		    "pieces has %zu entries, it must have 1 to %d",
		    problem->n_pieces, PROBLEM_SIZES_MAX);
	check_length(w, problem->sliver, 0, NULL, 0, "sliver");
	check_length(w, problem->oversize, 0, NULL, 0, "oversize");
	check_length(w, problem->keep, 0, NULL, 0, "keep");
	check_length(w, problem->ruler, 0, NULL, 0, "ruler");
	if (problem->milliseconds < 1 ||
	    problem->milliseconds > PROBLEM_SECONDS_MAX * 1000)
		tell(w, "Five seconds is plenty for a class.", "/seconds",
		    "seconds must lie between 0.001 and %d",
		    PROBLEM_SECONDS_MAX);
}

void problem_walk_rules(
    const struct problem *problem, broken_rule_fn *broken, void *ctx)
{
	struct walk w = {.broken = broken, .ctx = ctx, .go = true};
	int64_t total = 0;

	check_whole(&w, problem);
	for (size_t i = 0; i < problem->n_stock && w.go; i++)
		check_stock(&w, &problem->stock[i], i);
	for (size_t i = 0; i < problem->n_pieces && w.go; i++) {
		check_piece(&w, &problem->pieces[i], i);
		if (problem->pieces[i].count > 0 &&
		    problem->pieces[i].count <= PROBLEM_PIECES_MAX)
			total += problem->pieces[i].count;
	}
	if (total > PROBLEM_PIECES_MAX)
		tell(&w, "Plan it in parts.", "/pieces",
		    "there are %" PRId64 " pieces in all, the most is %d",
		    total, PROBLEM_PIECES_MAX);
}

static bool keep_first(
    void *ctx, const char *field, const char *text, const char *hint)
{
	struct err *err = ctx;

	err_set(err, ERR_INPUT, "%s", text);
	err_hint(err, "%s", hint);
	err_field(err, "%s", field);
	return false;
}

bool problem_check(const struct problem *problem, struct err *err)
{
	struct err first = {.kind = ERR_NONE};

	problem_walk_rules(problem, keep_first, &first);
	if (first.kind == ERR_NONE)
		return true;
	if (err != NULL)
		*err = first;
	return false;
}
