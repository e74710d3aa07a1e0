/* SPDX-License-Identifier: MIT */
/*
 * inspect.c - a plan is believed only after this file has walked over it.
 *
 * The code is written from docs/plan.md, "The rules", and shares nothing with the
 * planner but the structs: no helper, no shortcut, no table.  Where the planner works
 * with sizes and patterns, the inspector looks at single pieces on single rolls.
 */
#include "inspect.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

/* Where the inspector stands, for its messages. */
struct walk {
	const struct problem *problem;
	const struct roll *roll;
	size_t n_roll, n_strip, n_segment;
	int64_t *placed; /* pieces seen, for each entry of problem->pieces */
	struct err *err;
};

#define AT "roll %zu, strip %zu, segment %zu"
#define WHERE(w) (w)->n_roll, (w)->n_strip, (w)->n_segment

static bool trim_allowed(const struct problem *problem, length trim)
{
	return trim == 0 || trim >= problem->sliver;
}

static bool on_spoiled(const struct stock *stock, length from, length to)
{
	for (size_t i = 0; i < stock->n_spoiled; i++)
		if (from < stock->spoiled[i].to && to > stock->spoiled[i].from)
			return true;
	return false;
}

/* Is `is` the length asked for, or larger by no more than the oversize? */
static bool near_enough(const struct problem *problem, length asked, length is)
{
	return is >= asked && is - asked <= problem->oversize;
}

static bool inspect_size(struct walk *w, const struct placed *p)
{
	const struct piece *asked = &w->problem->pieces[p->piece];
	bool swap =
	    p->turned !=
	    w->roll->quarter; /* exchanged once, by turning or by the frame */
	length across = swap ? asked->along : asked->across;
	length along = swap ? asked->across : asked->along;

	if (p->turned && !asked->turn)
		return err_set(w->err, ERR_INTERNAL,
		    AT ": piece %zu may not be turned", WHERE(w), p->piece);
	if (!near_enough(w->problem, across, p->across) ||
	    !near_enough(w->problem, along, p->along))
		return err_set(w->err, ERR_INTERNAL,
		    AT ": piece %zu is %" PRId64 " x %" PRId64
		       ", asked for %" PRId64 " x %" PRId64,
		    WHERE(w), p->piece, p->across, p->along, across, along);
	return true;
}

static bool inspect_piece(struct walk *w, const struct strip *strip,
    const struct segment *segment, const struct placed *p)
{
	const struct stock *stock = &w->problem->stock[w->roll->stock];
	length from = w->roll->quarter ? segment->at : strip->at + p->at;
	length to = from + (w->roll->quarter ? p->across : p->along);

	if (p->piece >= w->problem->n_pieces)
		return err_set(w->err, ERR_INTERNAL,
		    AT ": there is no piece %zu", WHERE(w), p->piece);
	if (!inspect_size(w, p))
		return false;
	if (p->across > segment->width ||
	    !trim_allowed(w->problem, segment->width - p->across))
		return err_set(w->err, ERR_INTERNAL,
		    AT ": piece %zu, %" PRId64
		       " across, cannot be torn from a segment of %" PRId64,
		    WHERE(w), p->piece, p->across, segment->width);
	if (w->problem->stages == 2 && p->across != segment->width)
		return err_set(w->err, ERR_INTERNAL,
		    AT ": piece %zu is trimmed across in two stages", WHERE(w),
		    p->piece);
	if (on_spoiled(stock, from, to))
		return err_set(w->err, ERR_INTERNAL,
		    AT ": piece %zu touches a spoiled run", WHERE(w), p->piece);
	w->placed[p->piece]++;
	return true;
}

static bool inspect_segment(
    struct walk *w, const struct strip *strip, const struct segment *segment)
{
	length at = 0;

	if (segment->n_pieces == 0 ||
	    (w->problem->stages == 2 && segment->n_pieces != 1))
		return err_set(w->err, ERR_INTERNAL,
		    AT ": holds %zu pieces in %d stages", WHERE(w),
		    segment->n_pieces, w->problem->stages);
	for (size_t i = 0; i < segment->n_pieces; i++) {
		const struct placed *p = &segment->pieces[i];

		if (p->at != at)
			return err_set(w->err, ERR_INTERNAL,
			    AT ": piece %zu lies at %" PRId64
			       ", the one before ends at %" PRId64,
			    WHERE(w), p->piece, p->at, at);
		if (!inspect_piece(w, strip, segment, p))
			return false;
		at += p->along;
	}
	if (at > strip->height || !trim_allowed(w->problem, strip->height - at))
		return err_set(w->err, ERR_INTERNAL,
		    AT ": %" PRId64
		       " along cannot be torn from a strip of %" PRId64,
		    WHERE(w), at, strip->height);
	return true;
}

static bool inspect_strip(struct walk *w, const struct strip *strip)
{
	length at = 0;

	if (strip->height <= 0 || strip->n_segments == 0)
		return err_set(w->err, ERR_INTERNAL,
		    "roll %zu, strip %zu is empty", w->n_roll, w->n_strip);
	for (size_t i = 0; i < strip->n_segments; i++) {
		const struct segment *segment = &strip->segments[i];

		w->n_segment = i;
		if (segment->at != at || segment->width <= 0)
			return err_set(w->err, ERR_INTERNAL,
			    AT ": lies at %" PRId64
			       ", the one before ends at %" PRId64,
			    WHERE(w), segment->at, at);
		if (!inspect_segment(w, strip, segment))
			return false;
		at += segment->width;
	}
	if (at > w->roll->width ||
	    !trim_allowed(w->problem, w->roll->width - at))
		return err_set(w->err, ERR_INTERNAL,
		    "roll %zu, strip %zu: %" PRId64
		    " across cannot be torn from %" PRId64,
		    w->n_roll, w->n_strip, at, w->roll->width);
	return true;
}

static bool inspect_roll(struct walk *w)
{
	const struct roll *roll = w->roll;
	const struct stock *stock;
	length at = 0;

	if (roll->stock >= w->problem->n_stock)
		return err_set(w->err, ERR_INTERNAL,
		    "roll %zu: there is no stock %zu", w->n_roll, roll->stock);
	stock = &w->problem->stock[roll->stock];
	if (roll->quarter && !stock->flat)
		return err_set(w->err, ERR_INTERNAL,
		    "roll %zu is begun along its side", w->n_roll);
	if (roll->width != (roll->quarter ? stock->length : stock->width) ||
	    roll->length != (roll->quarter ? stock->width : stock->length))
		return err_set(w->err, ERR_INTERNAL,
		    "roll %zu has not the size of its stock", w->n_roll);
	if (roll->n_strips == 0)
		return err_set(
		    w->err, ERR_INTERNAL, "roll %zu is not used", w->n_roll);
	for (size_t i = 0; i < roll->n_strips; i++) {
		const struct strip *strip = &roll->strips[i];

		w->n_strip = i;
		if (strip->at < at || strip->at > roll->length ||
		    strip->height > roll->length - strip->at)
			return err_set(w->err, ERR_INTERNAL,
			    "roll %zu, strip %zu at %" PRId64
			    " overlaps or leaves the roll",
			    w->n_roll, i, strip->at);
		if (!inspect_strip(w, strip))
			return false;
		at = strip->at + strip->height;
	}
	return true;
}

static bool inspect_stock_use(
    const struct problem *problem, const struct plan *plan, struct err *err)
{
	int64_t *used = xcalloc(problem->n_stock, sizeof(*used));
	bool ok = true;

	for (size_t i = 0; i < plan->n_rolls; i++)
		used[plan->rolls[i].stock]++;
	for (size_t i = 0; i < problem->n_stock && ok; i++)
		if (problem->stock[i].available != UNLIMITED &&
		    used[i] > problem->stock[i].available)
			ok = err_set(err, ERR_INTERNAL,
			    "stock %zu is used %" PRId64
			    " times, there are %" PRId64,
			    i, used[i], problem->stock[i].available);
	free(used);
	return ok;
}

static bool inspect_demand(struct walk *w, const struct plan *plan)
{
	if (plan->n_unplaced != w->problem->n_pieces)
		return err_set(
		    w->err, ERR_INTERNAL, "the plan is of another problem");
	for (size_t i = 0; i < w->problem->n_pieces; i++)
		if (plan->unplaced[i] < 0 || w->placed[i] + plan->unplaced[i] !=
						 w->problem->pieces[i].count)
			return err_set(w->err, ERR_INTERNAL,
			    "piece %zu: %" PRId64 " placed and %" PRId64
			    " left out, asked for %" PRId64,
			    i, w->placed[i], plan->unplaced[i],
			    w->problem->pieces[i].count);
	return true;
}

static bool inspect_value(const char *name, int64_t told, int64_t counted,
    int64_t bound, bool proven, struct err *err)
{
	if (told != counted)
		return err_set(err, ERR_INTERNAL,
		    "%s is told as %" PRId64 " and counted as %" PRId64, name,
		    told, counted);
	if (bound < 0 || bound > counted)
		return err_set(err, ERR_INTERNAL,
		    "%s is %" PRId64 ", below its bound %" PRId64, name,
		    counted, bound);
	if (proven != (bound == counted))
		return err_set(err, ERR_INTERNAL,
		    "%s is %" PRId64 ", its bound %" PRId64 ", proven: %s",
		    name, counted, bound, proven ? "yes" : "no");
	return true;
}

static bool inspect_totals(
    const struct problem *problem, const struct plan *plan, struct err *err)
{
	const struct totals *t = &plan->totals;
	const struct bounds *b = &plan->bounds;
	const struct proven *p = &plan->proven;
	struct totals c;

	plan_count(problem, plan, &c);
	if (t->tears != c.tears || t->strip_kinds != c.strip_kinds)
		return err_set(err, ERR_INTERNAL,
		    "tears %" PRId64 ", kinds %" PRId64 ", counted %" PRId64
		    " and %" PRId64,
		    t->tears, t->strip_kinds, c.tears, c.strip_kinds);
	return inspect_value("unplaced", t->unplaced, c.unplaced, b->unplaced,
		   p->unplaced, err) &&
	       inspect_value("fresh_rolls", t->fresh_rolls, c.fresh_rolls,
		   b->fresh_rolls, p->fresh_rolls, err) &&
	       inspect_value(
		   "price", t->price, c.price, b->price, p->price, err) &&
	       inspect_value("strip_length", t->strip_length, c.strip_length,
		   b->strip_length, p->strip_length, err);
}

bool plan_inspect(
    const struct problem *problem, const struct plan *plan, struct err *err)
{
	struct walk w = {.problem = problem, .err = err};
	bool ok = true;

	w.placed = xcalloc(problem->n_pieces + 1, sizeof(*w.placed));
	for (size_t i = 0; i < plan->n_rolls && ok; i++) {
		w.roll = &plan->rolls[i];
		w.n_roll = i;
		ok = inspect_roll(&w);
	}
	ok = ok && inspect_stock_use(problem, plan, err) &&
	     inspect_demand(&w, plan) && inspect_totals(problem, plan, err);
	free(w.placed);
	return ok;
}

/*
 * Tears.  Every straight edge that has to be torn counts once: across the roll where a
 * strip begins or ends (not at the roll's own ends), then in a strip where a segment
 * ends (not at the roll's side), then in a segment where a piece ends (not at the
 * strip's edge), then beside a piece narrower than its segment.
 */
static int64_t tears_in_segment(
    const struct strip *strip, const struct segment *segment)
{
	int64_t tears = 0;

	for (size_t i = 0; i < segment->n_pieces; i++) {
		const struct placed *p = &segment->pieces[i];

		tears += p->at + p->along < strip->height;
		tears += p->across < segment->width;
	}
	return tears;
}

static int64_t tears_in_roll(const struct roll *roll)
{
	int64_t tears = 0;
	length end = 0;

	for (size_t i = 0; i < roll->n_strips; i++) {
		const struct strip *strip = &roll->strips[i];

		tears +=
		    strip->at > end; /* a gap is torn off before the strip */
		end = strip->at + strip->height;
		tears += end < roll->length;
		for (size_t k = 0; k < strip->n_segments; k++) {
			const struct segment *segment = &strip->segments[k];

			tears += segment->at + segment->width < roll->width;
			tears += tears_in_segment(strip, segment);
		}
	}
	return tears;
}

static int compare_lengths(length a, length b)
{
	return (a > b) - (a < b);
}

static int compare_segments(const struct segment *a, const struct segment *b)
{
	int d = compare_lengths(a->width, b->width);

	for (size_t i = 0; i < a->n_pieces && i < b->n_pieces && d == 0; i++) {
		d = compare_lengths(a->pieces[i].across, b->pieces[i].across);
		if (d == 0)
			d = compare_lengths(
			    a->pieces[i].along, b->pieces[i].along);
	}
	return d != 0
		   ? d
		   : (a->n_pieces > b->n_pieces) - (a->n_pieces < b->n_pieces);
}

static int compare_strips(const void *x, const void *y)
{
	const struct strip *a = *(const struct strip *const *)x;
	const struct strip *b = *(const struct strip *const *)y;
	int d = compare_lengths(a->height, b->height);

	for (size_t i = 0; i < a->n_segments && i < b->n_segments && d == 0;
	     i++)
		d = compare_segments(&a->segments[i], &b->segments[i]);
	return d != 0 ? d
		      : (a->n_segments > b->n_segments) -
			    (a->n_segments < b->n_segments);
}

/* Strips are of one kind when the same marks tear them. */
static int64_t count_kinds(const struct plan *plan)
{
	const struct strip **strips;
	size_t n = 0;
	int64_t kinds = 0;

	for (size_t i = 0; i < plan->n_rolls; i++)
		n += plan->rolls[i].n_strips;
	strips = xcalloc(n + 1, sizeof(*strips));
	n = 0;
	for (size_t i = 0; i < plan->n_rolls; i++)
		for (size_t k = 0; k < plan->rolls[i].n_strips; k++)
			strips[n++] = &plan->rolls[i].strips[k];
	qsort(strips, n, sizeof(struct strip *), compare_strips);
	for (size_t i = 0; i < n; i++)
		kinds +=
		    i == 0 || compare_strips(&strips[i - 1], &strips[i]) != 0;
	free(strips);
	return kinds;
}

void plan_count(
    const struct problem *problem, const struct plan *plan, struct totals *out)
{
	*out = (struct totals){0};
	for (size_t i = 0; i < plan->n_unplaced; i++)
		out->unplaced += plan->unplaced[i];
	for (size_t i = 0; i < plan->n_rolls; i++) {
		const struct roll *roll = &plan->rolls[i];
		const struct stock *stock = &problem->stock[roll->stock];

		out->price += stock->price;
		out->tears += tears_in_roll(roll);
		if (!stock->fresh)
			continue;
		out->fresh_rolls++;
		for (size_t k = 0; k < roll->n_strips; k++)
			out->strip_length += roll->strips[k].height;
	}
	out->strip_kinds = count_kinds(plan);
}
