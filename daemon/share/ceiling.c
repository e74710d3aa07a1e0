/* SPDX-License-Identifier: MIT */
/*
 * ceiling.c - nobody pays more than their own sheets alone would have cost.
 *
 * "Cut down to the ceiling whoever is over it, put the excess on the others by area, look
 * again" is water rising in vessels with lids: at the end everybody below the lid has
 * risen by the same amount a unit of area, E / A (E the excess of those at the lid, A the
 * area of the others).  A member reaches the lid when (alone - base) / area < E / A, and
 * E / A only rises from round to round, so members are sorted once by (alone - base) /
 * area and each is looked at once.  All comparisons are products in 128 bits; the excess is
 * split in whole units at the end, and since the exact rise of whoever is left is at most
 * the whole number alone - base, so is its rounding up.  docs/share.md has the proofs.
 *
 * Cutting and splitting in whole units round by round was left: every round may add a unit
 * of rounding, and ten thousand members can take thousands of rounds.
 */
#include "deriving.h"

#include <assert.h>
#include <stdlib.h>

/* ---- what somebody's sheets alone would have cost ---- */

static money at_most(wide m)
{
	return m > SHARE_COST_MAX ? SHARE_COST_MAX : (money)m;
}

/* A reduction by area, cut towards nothing. */
static money reduction(money amount, area own, area total)
{
	return -(money)(-(wide)amount * own / total);
}

/* The own plan at the prices of the invoice: all that the paper came to, for a plan of
 * `planned`.  A cost without a planned price is in full, as if it were common. */
static struct share_ceiling paper_ceiling(const struct deriving *d, size_t p,
    const struct share_member *member, area total)
{
	const struct share_alone *own = &member->alone[p];
	money cost = d->costs[p], planned = d->order->papers[p].planned;
	struct share_ceiling c = {0};

	if (member->used[p] == 0)
		return c;
	if (cost < 0) {
		c.price = reduction(cost, member->used[p], total);
		return c;
	}
	if (planned > 0)
		c.price =
		    at_most(((wide)own->price * cost + planned - 1) / planned);
	else
		c.price = at_most((wide)own->price + cost);
	if (d->order->rules.policy == SHARE_TORN && own->bought > 0)
		c.kept = (money)((wide)c.price * own->kept / own->bought);
	return c;
}

/* Common lines: what is asked for in full, what is taken off by area. */
struct common {
	money asked, off;
};

static struct common common_lines(const struct share_order *o)
{
	struct common c = {0};

	for (size_t i = 0; i < o->n_lines; i++) {
		money amount =
		    o->lines[i].paper_id == 0 ? o->lines[i].amount : 0;

		*(amount < 0 ? &c.off : &c.asked) += amount;
	}
	return c;
}

static void fill_ceilings(struct deriving *d)
{
	const struct share_order *o = d->order;
	area *totals = arena_array(d->arena, o->n_papers + 1, sizeof(*totals));
	struct common common = common_lines(o);
	area all = 0;

	for (size_t i = 0; i < o->n_members; i++)
		for (size_t p = 0; p < o->n_papers; p++)
			totals[p] += o->members[i].used[p];
	for (size_t p = 0; p < o->n_papers; p++)
		all += totals[p];
	for (size_t i = 0; i < o->n_members; i++) {
		struct share_due *due = &d->result->members[i];
		struct share_ceiling *c = NULL;
		wide sum = 0;

		if (o->members[i].alone == NULL || due->used == 0)
			continue;
		c = arena_array(d->arena, o->n_papers, sizeof(*c));
		for (size_t p = 0; p < o->n_papers; p++) {
			c[p] = paper_ceiling(d, p, &o->members[i], totals[p]);
			sum += c[p].price - c[p].kept;
		}
		due->has_alone = true;
		due->ceilings = c;
		due->alone_common =
		    common.asked + reduction(common.off, due->used, all);
		due->alone = at_most(sum + due->alone_common);
	}
}

/* ---- the ceiling ---- */

struct room { /* below a member's ceiling */
	wide left;
	area used;
	size_t member;
};

/* By left / used. */
static int by_room(const void *one, const void *two)
{
	const struct room *a = one, *b = two;
	wide x = a->left * b->used, y = b->left * a->used;

	if (x != y)
		return x < y ? -1 : 1;
	return a->member < b->member ? -1 : a->member > b->member;
}

static bool all_known(const struct share_result *r)
{
	for (size_t i = 0; i < r->n_members; i++)
		if (r->members[i].used > 0 && !r->members[i].has_alone)
			return false;
	return true;
}

static size_t find_rooms(const struct share_result *r, struct room *rooms)
{
	size_t n = 0;

	for (size_t i = 0; i < r->n_members; i++) {
		const struct share_due *due = &r->members[i];

		if (due->used > 0)
			rooms[n++] = (struct room){
			    (wide)due->alone - due->base, due->used, i};
	}
	qsort(rooms, n, sizeof(*rooms), by_room);
	return n;
}

/* Who reaches the ceiling, round by round: the first *n_over of the rooms. */
static void rise(struct deriving *d, const struct room *rooms, size_t n,
    size_t *n_over, wide *excess, wide *others)
{
	struct share_result *r = d->result;
	size_t over = 0, before = 0;

	for (size_t i = 0; i < n; i++)
		*others += rooms[i].used;
	do {
		wide e = *excess, a = *others;

		before = over;
		for (; over < n && rooms[over].left * a < e * rooms[over].used;
		     over++) {
			r->members[rooms[over].member].round = r->rounds + 1;
			*excess -= rooms[over].left;
			*others -= rooms[over].used;
		}
		r->rounds += over > before;
	} while (over > before);
	*n_over = over;
}

static void take_back(struct share_result *r)
{
	r->ceiling = CEILING_TOO_LOW;
	r->rounds = 0;
	for (size_t i = 0; i < r->n_members; i++)
		r->members[i].round = 0;
}

static void raise_others(struct deriving *d, const struct room *rooms, size_t n)
{
	size_t *members = arena_array(d->arena, n + 1, sizeof(*members));
	area *own = arena_array(d->arena, n + 1, sizeof(*own));
	struct share_step *steps = arena_array(d->arena, n + 1, sizeof(*steps));

	for (size_t i = 0; i < n; i++) {
		members[i] = rooms[i].member;
		own[i] = rooms[i].used;
	}
	deriving_split(d, d->result->excess, members, own, n, steps);
	for (size_t i = 0; i < n; i++)
		d->result->members[members[i]].raised = steps[i];
}

static void apply(struct deriving *d)
{
	struct share_result *r = d->result;
	struct room *rooms =
	    arena_array(d->arena, r->n_members, sizeof(*rooms));
	size_t n = find_rooms(r, rooms), n_over = 0;
	wide excess = 0, others = 0;

	rise(d, rooms, n, &n_over, &excess, &others);
	if (n_over == 0)
		return;
	if (others == 0) {
		take_back(r);
		return;
	}
	assert(excess > 0 && excess <= SHARE_COST_MAX);
	r->excess = (money)excess;
	r->others = (area)others;
	raise_others(d, rooms + n_over, n - n_over);
}

void ceiling_apply(struct deriving *d)
{
	struct share_result *r = d->result;

	fill_ceilings(d);
	if (!r->rules.ceiling)
		r->ceiling = CEILING_OFF;
	else if (!all_known(r))
		r->ceiling = CEILING_UNKNOWN;
	else {
		r->ceiling = CEILING_KEPT;
		apply(d);
	}
	for (size_t i = 0; i < r->n_members; i++) {
		struct share_due *due = &r->members[i];

		due->share =
		    due->round > 0 ? due->alone : due->base + due->raised.paid;
	}
}
