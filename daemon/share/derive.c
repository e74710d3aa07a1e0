/* SPDX-License-Identifier: MIT */
/*
 * derive.c - from lines of cost to shares, one pot after the other.
 *
 * Lines that are shared by the same weights are added up before they are split: each split
 * may move a member by one unit off the exact proportion, so there should be few.  With one
 * paper the common lines go by the area of that paper and fall into its pot.
 *
 * Odd units are handed out with an eye on the pots before: of members with equal remainders
 * the one with the larger area comes first, so that more area never pays less; then the one
 * with fewer odd units so far, so that equal members never differ by more than one unit
 * however many pots there are; then the order of share_tie().
 */
#include "derive.h"

#include <inttypes.h>
#include <stdlib.h>

#include "deriving.h"

/* ---- the order of members ---- */

struct place {
	area used;
	uint64_t tie;
	int64_t id;
	size_t member;
};

static int by_tie(const void *left, const void *right)
{
	const struct place *a = left, *b = right;
	if (a->tie != b->tie)
		return a->tie < b->tie ? -1 : 1;
	return a->id < b->id ? -1 : a->id > b->id;
}

static int by_area(const void *left, const void *right)
{
	const struct place *a = left, *b = right;
	if (a->used != b->used)
		return a->used > b->used ? -1 : 1;
	return a->member < b->member ? -1 : a->member > b->member;
}

static bool order_members(struct deriving *d, struct err *err)
{
	const struct share_order *o = d->order;
	size_t n = o->n_members;
	struct place *places = arena_array(d->arena, n, sizeof(*places));
	size_t group = 0;

	for (size_t i = 0; i < n; i++)
		places[i] = (struct place){d->result->members[i].used,
		    share_tie(o->workshop_id, o->members[i].member_id),
		    o->members[i].member_id, i};
	qsort(places, n, sizeof(*places), by_tie);
	for (size_t i = 0; i < n; i++) {
		d->rank[places[i].member] = i;
		if (i > 0 && places[i - 1].id == places[i].id)
			return err_set(err, ERR_INPUT,
			    "member %" PRId64 " is there twice", places[i].id);
	}
	qsort(places, n, sizeof(*places), by_area);
	for (size_t i = 0; i < n; i++) {
		group += i > 0 && places[i].used != places[i - 1].used;
		d->group[places[i].member] = group;
	}
	return true;
}

/*
 * Who takes an odd unit first among equal remainders: the larger torn area, then whoever
 * has paid fewer odd units (been spared fewer, when it is a unit off), then share_tie().
 */
static uint64_t tie_of(const struct deriving *d, size_t member, bool off)
{
	int64_t most = (int64_t)d->result->n_pots + 1;
	int64_t odds = most + (off ? -d->odds[member] : d->odds[member]);
	uint64_t n = d->order->n_members;

	return ((uint64_t)d->group[member] * (uint64_t)(2 * most + 1) +
		   (uint64_t)odds) *
		   n +
	       d->rank[member];
}

void deriving_split(struct deriving *d, money amount, const size_t *members,
    const area *own, size_t n, struct share_step *steps)
{
	uint64_t *tie = arena_array(d->arena, n, sizeof(*tie));
	money *due = arena_array(d->arena, n, sizeof(*due));
	wide size = amount < 0 ? -(wide)amount : amount;
	wide total = 0;

	for (size_t i = 0; i < n; i++) {
		tie[i] = tie_of(d, members[i], amount < 0);
		total += own[i];
	}
	share_split(amount, own, tie, n, due);
	for (size_t i = 0; i < n; i++) {
		wide exact = size * own[i];
		money whole = (money)(exact / total);
		steps[i] = (struct share_step){
		    .own = own[i],
		    .whole = amount < 0 ? -whole : whole,
		    .rest = (area)(exact % total),
		    .paid = due[i],
		};
		steps[i].odd = steps[i].paid != steps[i].whole;
		d->odds[members[i]] += steps[i].paid - steps[i].whole;
	}
}

/* ---- pots ---- */

static bool is_each(const struct share_order *o, const struct share_line *line)
{
	return line->paper_id == 0 && line->kind == COST_SHIPPING &&
	       o->rules.shipping_each;
}

/* With one paper its pot takes the common lines too. */
static bool belongs(const struct share_order *o, const struct share_line *line,
    const struct share_pot *pot)
{
	bool each = is_each(o, line);
	switch (pot->by) {
	case POT_BY_PAPER:
		return !each && (line->paper_id == pot->paper_id ||
				    (line->paper_id == 0 && o->n_papers == 1));
	case POT_BY_AREA:
		return !each && line->paper_id == 0 && o->n_papers != 1;
	case POT_EACH:
		return each;
	}
	return false;
}

static void fill_pot(struct deriving *d, struct share_pot *pot)
{
	const struct share_order *o = d->order;
	size_t *lines = NULL;
	size_t n = 0;

	for (size_t i = 0; i < o->n_lines; i++)
		n += belongs(o, &o->lines[i], pot);
	lines = arena_array(d->arena, n + 1, sizeof(*lines));
	for (size_t i = 0; i < o->n_lines; i++)
		if (belongs(o, &o->lines[i], pot)) {
			lines[pot->n_lines++] = i;
			pot->cost += o->lines[i].amount;
		}
	pot->lines = lines;
	pot->amount = pot->cost;
}

/* What the studio takes over of a paper, and pays for. */
static void keep_paper(struct deriving *d, struct share_pot *pot, size_t p)
{
	const struct share_of_paper *paper = &d->order->papers[p];
	money cost = d->costs[p];
	money *values = (money *)d->result->kept_values;

	if (d->order->rules.policy != SHARE_TORN || cost <= 0 ||
	    paper->bought == 0)
		return;
	pot->kept = (money)((wide)cost * paper->kept / paper->bought);
	pot->amount = pot->cost - pot->kept;
	values[p] = pot->kept;
	d->result->kept += pot->kept;
}

static void add_pot(
    struct deriving *d, enum pot_by by, size_t paper, int64_t paper_id)
{
	struct share_pot pot = {.by = by, .paper_id = paper_id};

	fill_pot(d, &pot);
	if (pot.n_lines == 0)
		return;
	if (by == POT_BY_PAPER)
		keep_paper(d, &pot, paper);
	d->result->pots[d->result->n_pots++] = pot;
}

struct paper_place {
	int64_t id;
	size_t paper;
};

static int by_paper_id(const void *left, const void *right)
{
	const struct paper_place *a = left, *b = right;
	return a->id < b->id ? -1 : a->id > b->id;
}

/* Papers by their ids, then what is common, so that the order of what is given is no matter. */
static void make_pots(struct deriving *d)
{
	const struct share_order *o = d->order;
	struct paper_place *places =
	    arena_array(d->arena, o->n_papers + 1, sizeof(*places));

	for (size_t p = 0; p < o->n_papers; p++) {
		places[p] = (struct paper_place){o->papers[p].paper_id, p};
		for (size_t i = 0; i < o->n_lines; i++)
			if (o->lines[i].paper_id == o->papers[p].paper_id)
				d->costs[p] += o->lines[i].amount;
	}
	qsort(places, o->n_papers, sizeof(*places), by_paper_id);
	for (size_t i = 0; i < o->n_papers; i++)
		add_pot(d, POT_BY_PAPER, places[i].paper, places[i].id);
	add_pot(d, POT_BY_AREA, 0, 0);
	add_pot(d, POT_EACH, 0, 0);
}

static area weight_in(const struct deriving *d, const struct share_pot *pot,
    size_t paper, size_t member)
{
	switch (pot->by) {
	case POT_BY_PAPER:
		return d->order->members[member].used[paper];
	case POT_BY_AREA:
		return d->result->members[member].used;
	case POT_EACH:
		return d->result->members[member].used > 0;
	}
	return 0;
}

static bool split_pot(
    struct deriving *d, size_t index, size_t paper, struct err *err)
{
	struct share_result *r = d->result;
	struct share_pot *pot = &r->pots[index];
	size_t n = 0;
	size_t *members = arena_array(d->arena, r->n_members, sizeof(*members));
	area *own = arena_array(d->arena, r->n_members, sizeof(*own));
	struct share_step *steps = NULL;

	for (size_t i = 0; i < r->n_members; i++) {
		area weight = weight_in(d, pot, paper, i);
		if (weight == 0)
			continue;
		members[n] = i;
		own[n++] = weight;
		pot->total += weight;
	}
	if (n == 0)
		return err_set(err, ERR_INPUT,
		    "paper %" PRId64 " has a cost, but nothing was torn of it",
		    pot->paper_id);
	steps = arena_array(d->arena, n, sizeof(*steps));
	deriving_split(d, pot->amount, members, own, n, steps);
	for (size_t i = 0; i < n; i++) {
		struct share_due *due = &r->members[members[i]];

		steps[i].pot = index;
		due->base += steps[i].paid;
		d->steps[members[i]][due->n_steps++] = steps[i];
	}
	return true;
}

static bool split_pots(struct deriving *d, struct err *err)
{
	struct share_result *r = d->result;

	for (size_t i = 0; i < r->n_members; i++) {
		d->steps[i] =
		    arena_array(d->arena, r->n_pots + 1, sizeof(**d->steps));
		r->members[i].steps = d->steps[i];
	}
	for (size_t k = 0; k < r->n_pots; k++) {
		size_t paper = 0;

		while (r->pots[k].by == POT_BY_PAPER &&
		       d->order->papers[paper].paper_id != r->pots[k].paper_id)
			paper++;
		if (!split_pot(d, k, paper, err))
			return false;
	}
	return true;
}

/* ---- all of it ---- */

static void begin(struct deriving *d)
{
	const struct share_order *o = d->order;
	struct share_result *r = arena_alloc(d->arena, sizeof(*r));

	*r = (struct share_result){
	    .rules = o->rules,
	    .lines = o->lines,
	    .n_lines = o->n_lines,
	    .papers = o->papers,
	    .n_papers = o->n_papers,
	    .n_members = o->n_members,
	};
	for (size_t i = 0; i < o->n_lines; i++)
		r->cost += o->lines[i].amount;
	r->kept_values =
	    arena_array(d->arena, o->n_papers + 1, sizeof(*r->kept_values));
	r->pots = arena_array(d->arena, o->n_papers + 2, sizeof(*r->pots));
	r->members = arena_array(d->arena, o->n_members, sizeof(*r->members));
	for (size_t i = 0; i < o->n_members; i++) {
		r->members[i].member_id = o->members[i].member_id;
		for (size_t p = 0; p < o->n_papers; p++)
			r->members[i].used += o->members[i].used[p];
	}
	d->result = r;
	d->group = arena_array(d->arena, o->n_members, sizeof(*d->group));
	d->rank = arena_array(d->arena, o->n_members, sizeof(*d->rank));
	d->odds = arena_array(d->arena, o->n_members, sizeof(*d->odds));
	d->steps = arena_array(d->arena, o->n_members, sizeof(*d->steps));
	d->costs = arena_array(d->arena, o->n_papers + 1, sizeof(*d->costs));
}

bool share_derive(const struct share_order *order, struct arena *arena,
    struct share_result **out, struct err *err)
{
	struct deriving d = {.order = order, .arena = arena};

	if (!order_check(order, err))
		return false;
	begin(&d);
	make_pots(&d);
	if (!order_members(&d, err) || !split_pots(&d, err))
		return false;
	ceiling_apply(&d);
	*out = d.result;
	return true;
}
