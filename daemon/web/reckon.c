/* SPDX-License-Identifier: MIT */
/*
 * reckon.c - from plans of open requests to what each member may have to pay.
 *
 * The sharing is that of daemon/share, on the price of the plan.  A hint is worth showing only
 * when the share itself, with the smaller size planned and shared again, is less by at least one
 * unit for every sheet: a shorter strip alone may save nobody anything.
 */
#include "reckon.h"

#include <stdlib.h>

#include "alone.h"

struct reckoner {
	const struct layout *layouts;
	size_t n;
	struct arena *arena;
	struct share_order order;
	struct share_line *lines;
	struct share_of_paper *papers;
	struct share_member *members;
	struct reckoning *out;
};

static int by_id(const void *left, const void *right)
{
	int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;

	return (a > b) - (a < b);
}

static void find_members(struct reckoner *k)
{
	size_t room = 0, n = 0;
	int64_t *ids = NULL;

	for (size_t p = 0; p < k->n; p++)
		room += k->layouts[p].problem->n_pieces;
	ids = arena_array(k->arena, room + 1, sizeof(*ids));
	room = 0;
	for (size_t p = 0; p < k->n; p++)
		for (size_t i = 0; i < k->layouts[p].problem->n_pieces; i++)
			ids[room++] = k->layouts[p].members[i];
	qsort(ids, room, sizeof(*ids), by_id);
	for (size_t i = 0; i < room; i++)
		if (n == 0 || ids[n - 1] != ids[i])
			ids[n++] = ids[i];
	k->members = arena_array(k->arena, n + 1, sizeof(*k->members));
	k->out->rows = arena_array(k->arena, n + 1, sizeof(*k->out->rows));
	k->out->n_rows = n;
	for (size_t i = 0; i < n; i++) {
		k->members[i].member_id = k->out->rows[i].member_id = ids[i];
		k->members[i].used =
		    arena_array(k->arena, k->n + 1, sizeof(area));
	}
}

static size_t index_of(const struct reckoner *k, int64_t member_id)
{
	size_t low = 0, high = k->out->n_rows;

	while (low < high) {
		size_t mid = (low + high) / 2;

		if (k->members[mid].member_id < member_id)
			low = mid + 1;
		else
			high = mid;
	}
	return low;
}

static void add_alone(struct reckoner *k)
{
	for (size_t i = 0; i < k->out->n_rows; i++)
		k->members[i].alone =
		    arena_array(k->arena, k->n + 1, sizeof(struct share_alone));
	for (size_t p = 0; p < k->n; p++)
		for (size_t i = 0; i < k->layouts[p].plan->n_alone; i++) {
			const struct alone *a = &k->layouts[p].plan->alone[i];
			size_t m = index_of(k, strtoll(a->owner, NULL, 10));
			struct share_alone *to = NULL;

			if (m == k->out->n_rows)
				continue;
			to = (struct share_alone *)k->members[m].alone;
			to[p] =
			    (struct share_alone){a->price, a->bought, a->kept};
		}
	/* who has sheets of a paper and no plan alone has no ceiling */
	for (size_t i = 0; i < k->out->n_rows; i++)
		for (size_t p = 0; p < k->n && k->members[i].alone; p++)
			if (k->members[i].used[p] > 0 &&
			    k->members[i].alone[p].bought == 0)
				k->members[i].alone = NULL;
}

static void fill_order(struct reckoner *k)
{
	k->lines = arena_array(k->arena, k->n + 1, sizeof(*k->lines));
	k->papers = arena_array(k->arena, k->n + 1, sizeof(*k->papers));
	find_members(k);
	for (size_t p = 0; p < k->n; p++) {
		const struct layout *l = &k->layouts[p];

		k->papers[p].paper_id = k->lines[p].paper_id = l->job->paper_id;
		k->papers[p].planned = k->lines[p].amount =
		    l->plan->totals.price;
		k->lines[p].kind = COST_ROLLS;
		plan_areas(l->problem, l->plan, &k->papers[p].bought,
		    &k->papers[p].kept);
		for (size_t i = 0; i < l->problem->n_pieces; i++) {
			const struct piece *piece = &l->problem->pieces[i];
			area *used =
			    (area *)k->members[index_of(k, l->members[i])].used;

			used[p] += piece->across * piece->along * piece->count;
		}
		k->out->cost += l->plan->totals.price;
		k->out->fresh_rolls += l->plan->totals.fresh_rolls;
	}
	add_alone(k);
	k->order.lines = k->lines;
	k->order.n_lines = k->order.n_papers = k->n;
	k->order.papers = k->papers;
	k->order.members = k->members;
	k->order.n_members = k->out->n_rows;
}

static bool fill_shares(struct reckoner *k, struct err *err)
{
	struct share_order filled = k->order;
	struct share_result *now = NULL, *then = NULL;

	filled.rules.policy = SHARE_TORN;
	filled.rules.ceiling = false;
	if (!share_derive(&k->order, k->arena, &now, err) ||
	    !share_derive(&filled, k->arena, &then, err))
		return false;
	k->out->ceiling = now->ceiling;
	for (size_t i = 0; i < k->out->n_rows; i++) {
		struct reckon_row *row = &k->out->rows[i];

		row->share = now->members[i].share;
		row->filled = then->members[i].share;
		row->has_alone = now->members[i].has_alone;
		row->alone = now->members[i].alone;
	}
	return true;
}

/* ---- what a request adds ---- */

static void fill_adds(struct reckoner *k)
{
	for (size_t i = 0; i < k->out->n_rows; i++) {
		size_t room = 0;

		for (size_t p = 0; p < k->n; p++)
			for (size_t w = 0; w < k->layouts[p].plan->n_without;
			     w++)
				room +=
				    k->layouts[p].members[k->layouts[p]
							      .plan->without[w]
							      .piece] ==
				    k->out->rows[i].member_id;
		k->out->rows[i].adds =
		    arena_array(k->arena, room + 1, sizeof(struct reckon_add));
	}
	for (size_t p = 0; p < k->n; p++) {
		const struct layout *l = &k->layouts[p];

		for (size_t w = 0; w < l->plan->n_without; w++) {
			const struct without *without = &l->plan->without[w];
			struct reckon_row *row = &k->out->rows[index_of(
			    k, l->members[without->piece])];

			row->adds[row->n_adds++] = (struct reckon_add){
			    .request_id = l->requests[without->piece],
			    .adds = l->plan->totals.price - without->price,
			    .rolls = l->plan->totals.fresh_rolls -
				     without->fresh_rolls,
			    .proven = without->proven,
			};
		}
	}
}

/* ---- hints ---- */

/* The share of one member with the hint's size, planned and shared again. */
static bool share_again(
    struct reckoner *k, size_t p, const struct hint *h, size_t m, money *share)
{
	const struct piece *was = &k->layouts[p].problem->pieces[h->piece];
	struct share_result *result = NULL;
	struct share_line line = k->lines[p];
	struct share_of_paper paper = k->papers[p];
	struct share_alone alone = {0};
	area *used = (area *)k->members[m].used, before = used[p];
	struct share_alone *own = (struct share_alone *)k->members[m].alone;
	struct err err;
	bool ok = false;

	used[p] +=
	    (h->across * h->along - was->across * was->along) * was->count;
	k->lines[p].amount = k->papers[p].planned = h->totals.price;
	k->papers[p].bought = h->bought;
	k->papers[p].kept = h->kept;
	if (own != NULL) {
		alone = own[p];
		own[p] = (struct share_alone){
		    h->alone.price, h->alone.bought, h->alone.kept};
	}
	ok = share_derive(&k->order, k->arena, &result, &err);
	if (ok)
		*share = result->members[m].share;
	used[p] = before;
	k->lines[p] = line;
	k->papers[p] = paper;
	if (own != NULL)
		own[p] = alone;
	return ok;
}

static int by_saving(const void *left, const void *right)
{
	const struct reckon_hint *a = left, *b = right;

	if (a->each != b->each)
		return a->each > b->each ? -1 : 1;
	return (a->request_id > b->request_id) -
	       (a->request_id < b->request_id);
}

static void add_hint(struct reckoner *k, size_t p, const struct hint *h)
{
	const struct layout *l = &k->layouts[p];
	const struct piece *was = &l->problem->pieces[h->piece];
	size_t m = index_of(k, l->members[h->piece]);
	struct reckon_row *row = &k->out->rows[m];
	money share = 0;

	if (row->hints == NULL)
		row->hints = arena_array(k->arena,
		    l->plan->n_hints * (k->n + 1) + 64 * k->n,
		    sizeof(*row->hints));
	if (row->n_hints == 16 || !share_again(k, p, h, m, &share))
		return;
	if (row->share - share < was->count)
		return; /* less than a unit for each sheet */
	row->hints[row->n_hints++] = (struct reckon_hint){
	    .request_id = l->requests[h->piece],
	    .across = h->across,
	    .along = h->along,
	    .fits = h->fits + 1,
	    .each = (row->share - share) / was->count,
	    .share = share,
	};
	qsort(row->hints, row->n_hints, sizeof(*row->hints), by_saving);
}

bool reckon(int64_t workshop_id, struct share_rules rules,
    const struct layout *layouts, size_t n, struct arena *arena,
    struct reckoning **out, struct err *err)
{
	struct reckoner k = {
	    .layouts = layouts,
	    .n = n,
	    .arena = arena,
	    .order = {.workshop_id = workshop_id, .rules = rules},
	    .out = arena_alloc(arena, sizeof(*k.out)),
	};

	*out = k.out;
	fill_order(&k);
	if (!fill_shares(&k, err))
		return false;
	fill_adds(&k);
	for (size_t p = 0; p < n; p++)
		for (size_t i = 0; i < layouts[p].plan->n_hints; i++)
			add_hint(&k, p, &layouts[p].plan->hints[i]);
	return true;
}

/* ---- pads and single sheets ---- */

static int64_t in_grid(length width, length height, length across, length along)
{
	return (width / across) * (height / along);
}

bool reckon_compare(json_t *entry, const struct request_row *requests, size_t n,
    int64_t member_id, int64_t paper_id, struct compared *out)
{
	length width = json_integer_value(json_object_get(entry, "width_u"));
	length height = json_integer_value(json_object_get(entry, "length_u"));
	int64_t pack = json_integer_value(json_object_get(entry, "sheets"));
	money price = json_integer_value(json_object_get(entry, "price_minor"));
	int64_t sheets = 0;

	for (size_t i = 0; i < n; i++) {
		const struct request_row *r = &requests[i];
		int64_t fit = 0, turned = 0;

		if (r->member_id != member_id || r->paper_id != paper_id)
			continue;
		fit = in_grid(width, height, r->torn_across_u, r->torn_along_u);
		if (r->turn)
			turned = in_grid(
			    width, height, r->torn_along_u, r->torn_across_u);
		fit = turned > fit ? turned : fit;
		if (fit == 0)
			return false;
		sheets += ceil_div(r->count, fit);
	}
	if (sheets == 0 || pack < 1)
		return false;
	*out = (struct compared){
	    .name = json_string_value(json_object_get(entry, "name")),
	    .packs = ceil_div(sheets, pack),
	};
	out->cost = out->packs * price;
	return true;
}
