/* SPDX-License-Identifier: MIT */
/*
 * oracle.c - everything there is, tried.
 *
 * Bottom up: which widths a segment with exactly these pieces may have (a bit mask of
 * widths), which subsets fill a strip that begins at y and is h high, which subsets go
 * on one roll and with how little strip length, and from that the best use of all stock.
 */
#include "oracle.h"

#include <stdlib.h>
#include <string.h>

#define SETS (1 << ORACLE_PIECES)

typedef uint64_t widths; /* bit v: width v is possible */

struct one { /* a single piece */
	length across, along;
	bool turn;
};

struct oracle {
	const struct problem *problem;
	struct one ones[ORACLE_PIECES];
	int n;
	/* of the roll in hand */
	const struct stock *stock;
	bool quarter;
	length width, length_;
	int strip_min[ORACLE_LENGTH + 1]
		     [SETS]; /* [y][set]: least strip length from y on */
};

struct cost {
	int64_t first, second; /* rolls and price, in the order preferred */
	int64_t strip;
};

#define NEVER 1000000

static bool trim_fine(const struct problem *p, length rest)
{
	return rest == 0 || (rest > 0 && rest >= p->sliver);
}

static bool clean(const struct stock *s, length from, length to)
{
	for (size_t i = 0; i < s->n_spoiled; i++)
		for (length x = from; x < to; x++)
			if (x >= s->spoiled[i].from && x < s->spoiled[i].to)
				return false;
	return true;
}

/* Widths at which this way of a piece may stand in a segment (trimmed beside or not). */
static widths widths_beside(const struct oracle *o, length w)
{
	widths may = 0;

	for (length v = w; v <= o->width; v++)
		for (length more = 0; more <= o->problem->oversize; more++)
			if (o->problem->stages == 2
				? v == w + more
				: trim_fine(o->problem, v - w - more))
				may |= (widths)1 << v;
	return may;
}

static bool stack_fine(
    const struct oracle *o, length y, length h, length sum, int k)
{
	for (length more = 0; more <= k * o->problem->oversize; more++)
		if (trim_fine(o->problem, h - sum - more) &&
		    (o->quarter || clean(o->stock, y, y + sum + more)))
			return true;
	return false;
}

/* Widths of a segment that stacks exactly the pieces of `set`. */
static widths segment_widths(const struct oracle *o, int set, int i, length y,
    length h, length sum, int k, widths may)
{
	const struct one *one = &o->ones[i];
	widths all = 0;

	if (may == 0 || sum > h)
		return 0;
	if (i == o->n)
		return stack_fine(o, y, h, sum, k) ? may : 0;
	if (!(set >> i & 1))
		return segment_widths(o, set, i + 1, y, h, sum, k, may);
	for (int turned = 0; turned <= (one->turn ? 1 : 0); turned++) {
		bool swap = (turned == 1) != o->quarter;
		length w = swap ? one->along : one->across;
		length l = swap ? one->across : one->along;

		if (w <= o->width)
			all |= segment_widths(o, set, i + 1, y, h, sum + l,
			    k + 1, may & widths_beside(o, w));
	}
	return all;
}

static widths add_widths(widths a, widths b, length most)
{
	widths sum = 0;

	for (length v = 0; v <= most; v++)
		if (a >> v & 1)
			sum |= b << v;
	return sum & (((widths)1 << (most + 1)) - 1);
}

static int lowest_bit(int set)
{
	return set & -set;
}

/* strip[set]: may exactly these pieces fill one strip at y, h high? */
static void find_strips(
    const struct oracle *o, length y, length h, bool strip[SETS])
{
	static widths segment[SETS], row[SETS];

	row[0] = 1;
	for (int set = 1; set < 1 << o->n; set++) {
		bool single = (set & (set - 1)) == 0;

		segment[set] =
		    single || o->problem->stages == 3
			? segment_widths(o, set, 0, y, h, 0, 0, ~(widths)0)
			: 0;
		row[set] = 0;
		for (int part = set; part > 0; part = (part - 1) & set)
			if (part & lowest_bit(set) && segment[part] != 0)
				row[set] |= add_widths(
				    segment[part], row[set ^ part], o->width);
		strip[set] = false;
		for (length v = 1; v <= o->width; v++)
			if (row[set] >> v & 1 &&
			    trim_fine(o->problem, o->width - v))
				strip[set] = true;
	}
}

/* strip_min[0][set]: least total height of strips that hold exactly these on one roll. */
static void find_rolls(struct oracle *o)
{
	static bool strip[SETS];

	for (length y = 0; y <= o->length_; y++)
		for (int set = 0; set < 1 << o->n; set++)
			o->strip_min[y][set] = set == 0 ? 0 : NEVER;
	for (length y = o->length_ - 1; y >= 0; y--) {
		for (int set = 1; set < 1 << o->n;
		     set++) /* leave one unit blank */
			o->strip_min[y][set] = o->strip_min[y + 1][set];
		for (length h = 1; y + h <= o->length_; h++) {
			find_strips(o, y, h, strip);
			for (int set = 1; set < 1 << o->n; set++)
				for (int part = set; part > 0;
				     part = (part - 1) & set)
					if (strip[part] &&
					    h + o->strip_min[y + h]
							    [set ^ part] <
						o->strip_min[y][set])
						o->strip_min[y][set] =
						    (int)h +
						    o->strip_min[y + h]
								[set ^ part];
		}
	}
}

static bool cheaper(const struct cost *a, const struct cost *b)
{
	if (a->first != b->first)
		return a->first < b->first;
	if (a->second != b->second)
		return a->second < b->second;
	return a->strip < b->strip;
}

/* One more roll in hand, for every set that is already placed at some cost. */
static void use_roll(const struct oracle *o, struct cost placed[SETS])
{
	struct cost next[SETS];
	int64_t fresh = o->stock->fresh, price = o->stock->price;

	memcpy(next, placed, sizeof(next));
	for (int set = 0; set < 1 << o->n; set++)
		for (int part = set; part > 0; part = (part - 1) & set) {
			struct cost c = placed[set ^ part];

			if (o->strip_min[0][part] >= NEVER ||
			    c.first >= NEVER * (int64_t)NEVER)
				continue;
			c.first += o->problem->prefer_price ? price : fresh;
			c.second += o->problem->prefer_price ? fresh : price;
			c.strip += fresh ? o->strip_min[0][part] : 0;
			if (cheaper(&c, &next[set]))
				next[set] = c;
		}
	memcpy(placed, next, sizeof(next));
}

/* Both ways of beginning a flat sheet: the better one for each set. */
static void try_stock(
    struct oracle *o, const struct stock *s, struct cost placed[SETS])
{
	static int first_way[SETS];
	int64_t times = s->available == UNLIMITED || s->available > o->n
			    ? o->n
			    : s->available;

	o->stock = s;
	o->quarter = false;
	o->width = s->width;
	o->length_ = s->length;
	find_rolls(o);
	if (s->flat) {
		memcpy(first_way, o->strip_min[0], sizeof(first_way));
		o->quarter = true;
		o->width = s->length;
		o->length_ = s->width;
		find_rolls(o);
		for (int set = 0; set < 1 << o->n; set++)
			if (first_way[set] < o->strip_min[0][set])
				o->strip_min[0][set] = first_way[set];
	}
	for (int64_t i = 0; i < times; i++)
		use_roll(o, placed);
}

static bool load(struct oracle *o)
{
	for (size_t i = 0; i < o->problem->n_pieces; i++) {
		const struct piece *p = &o->problem->pieces[i];

		for (int64_t c = 0; c < p->count; c++) {
			if (o->n == ORACLE_PIECES)
				return false;
			o->ones[o->n++] =
			    (struct one){p->across, p->along, p->turn};
		}
	}
	for (size_t i = 0; i < o->problem->n_stock; i++) {
		const struct stock *s = &o->problem->stock[i];

		if (s->width > ORACLE_LENGTH || s->length > ORACLE_LENGTH ||
		    (s->flat && s->n_spoiled > 0))
			return false;
	}
	return true;
}

bool oracle_solve(const struct problem *problem, struct totals *best)
{
	struct oracle *o = calloc(1, sizeof(*o));
	struct cost placed[SETS];
	struct cost least = {0};
	int unplaced = ORACLE_PIECES + 1;
	bool ok;

	o->problem = problem;
	ok = load(o);
	for (int set = 1; set < SETS; set++)
		placed[set] = (struct cost){NEVER * (int64_t)NEVER, 0, 0};
	placed[0] = (struct cost){0};
	for (size_t i = 0; i < problem->n_stock && ok; i++)
		try_stock(o, &problem->stock[i], placed);
	for (int set = 0; set < 1 << o->n && ok; set++) {
		int left = o->n - __builtin_popcount((unsigned)set);

		if (placed[set].first >= NEVER * (int64_t)NEVER ||
		    left > unplaced ||
		    (left == unplaced && !cheaper(&placed[set], &least)))
			continue;
		unplaced = left;
		least = placed[set];
	}
	*best = (struct totals){
	    .unplaced = unplaced,
	    .fresh_rolls = problem->prefer_price ? least.second : least.first,
	    .price = problem->prefer_price ? least.first : least.second,
	    .strip_length = least.strip,
	};
	free(o);
	return ok;
}
