/* SPDX-License-Identifier: MIT */
/*
 * proof.c - prices, tables, and one inequality.
 *
 * Two stages: best[c], the dearest row up to width c, height after height; then the
 * dearest strips up to each length.  Three stages: the dearest row of bars for a unit of
 * length, and where that does not show the worth claimed, the exact table of stacks,
 * rows and strips.  Lengths are divided by their greatest common divisor first.
 */
#include "proof.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#define CELLS_MOST 20000
#define TABLE_MOST 400000 /* cells of the exact table of three stages */

struct way {
	length w, h;
	int64_t price, most;
	size_t piece;
};

struct check {
	const struct problem *problem;
	struct way *ways; /* of the frame in hand */
	size_t n_ways;
	int64_t width, length_; /* in cells */
	length unit_w, unit_h;
	int64_t *prices, *worths;
	int64_t *demand; /* of the whole size, for each entry of pieces */
};

static int64_t gcd(int64_t a, int64_t b)
{
	return b == 0 ? a : gcd(b, a % b);
}

/* Equal sizes asked for apart are one size: pieces of one may stand in for the other. */
static bool same_size(const struct piece *a, const struct piece *b)
{
	if (a->turn != b->turn)
		return false;
	if (a->across == b->across && a->along == b->along)
		return true;
	return a->turn && a->across == b->along && a->along == b->across;
}

static void add_way(
    struct check *c, size_t i, length w, length h, length width, length longest)
{
	if (w <= width && h <= longest)
		c->ways[c->n_ways++] =
		    (struct way){w, h, c->prices[i], c->demand[i], i};
}

static void load_frame(struct check *c, const struct stock *s, bool quarter)
{
	length width = quarter ? s->length : s->width,
	       longest = quarter ? s->width : s->length;

	c->n_ways = 0;
	c->unit_w = c->unit_h = 0;
	for (size_t i = 0; i < c->problem->n_pieces; i++) {
		const struct piece *p = &c->problem->pieces[i];
		bool first = true;

		for (size_t k = 0; k < i && first; k++)
			first = !same_size(p, &c->problem->pieces[k]);
		if (!first)
			continue;
		add_way(c, i, quarter ? p->along : p->across,
		    quarter ? p->across : p->along, width, longest);
		if (p->turn && p->across != p->along)
			add_way(c, i, quarter ? p->across : p->along,
			    quarter ? p->along : p->across, width, longest);
	}
	for (size_t k = 0; k < c->n_ways; k++) {
		c->unit_w = gcd(c->unit_w, c->ways[k].w);
		c->unit_h = gcd(c->unit_h, c->ways[k].h);
	}
	c->unit_w = c->unit_w == 0 ? 1 : c->unit_w;
	c->unit_h = c->unit_h == 0 ? 1 : c->unit_h;
	c->width = width / c->unit_w;
	c->length_ = longest / c->unit_h;
}

/* best[x]: dearest choice of total size <= x, `most` of this item more. */
static void enter(
    int64_t *best, int64_t cells, int64_t size, int64_t value, int64_t most)
{
	for (int64_t chunk = 1; most > 0; chunk *= 2) {
		int64_t n = chunk < most ? chunk : most;

		most -= n;
		if (size > cells / n)
			continue;
		for (int64_t x = cells; x >= n * size; x--)
			if (best[x - n * size] + n * value > best[x])
				best[x] = best[x - n * size] + n * value;
	}
}

static bool wider_twin(const struct check *c, size_t k, length h)
{
	for (size_t j = 0; j < c->n_ways; j++)
		if (c->ways[j].piece == c->ways[k].piece &&
		    c->ways[j].w < c->ways[k].w && c->ways[j].h <= h)
			return true;
	return false;
}

/* Two stages: the dearest row in a strip of height h. */
static int64_t row_of_height(const struct check *c, length h)
{
	int64_t *best = calloc((size_t)c->width + 1, sizeof(*best));
	int64_t value;

	for (size_t k = 0; k < c->n_ways; k++)
		if (c->ways[k].h <= h && !wider_twin(c, k, h))
			enter(best, c->width, c->ways[k].w / c->unit_w,
			    c->ways[k].price, c->ways[k].most);
	value = best[c->width];
	free(best);
	return value;
}

static int64_t pieces_so_high(const struct check *c, length h)
{
	int64_t n = 0;

	for (size_t k = 0; k < c->n_ways; k++)
		n += c->ways[k].h == h ? c->ways[k].most : 0;
	return n;
}

static void two_stages(const struct check *c, int64_t *strips)
{
	for (size_t k = 0; k < c->n_ways; k++) {
		bool first = true;

		for (size_t j = 0; j < k && first; j++)
			first = c->ways[j].h != c->ways[k].h;
		if (first)
			enter(strips, c->length_, c->ways[k].h / c->unit_h,
			    row_of_height(c, c->ways[k].h),
			    pieces_so_high(c, c->ways[k].h));
	}
}

/* Any stages: every unit of length is worth no more than the dearest row of bars. */
static int64_t bars_row(const struct check *c)
{
	int64_t *best = calloc((size_t)c->width + 1, sizeof(*best));
	int64_t value;

	for (size_t k = 0; k < c->n_ways; k++)
		enter(best, c->width, c->ways[k].w / c->unit_w,
		    ceil_div(c->ways[k].price, c->ways[k].h / c->unit_h),
		    c->ways[k].most);
	value = best[c->width];
	free(best);
	return value;
}

/*
 * The same for a run of each length.  A strip may be lowered to its highest stack, so
 * strips fill no more of the run than heights of ways can add up to.
 */
static void bars(const struct check *c, int64_t *strips)
{
	int64_t row = bars_row(c);

	strips[0] = 0;
	for (int64_t l = 1; l <= c->length_; l++) {
		strips[l] = strips[l - 1];
		for (size_t k = 0; k < c->n_ways; k++) {
			int64_t h = c->ways[k].h / c->unit_h;

			if (h <= l && strips[l - h] == row * (l - h))
				strips[l] = row * l; /* l can be reached */
		}
	}
}

/* Three stages: stack[v][h] over widths, then rows, each without end. */
static void three_stages(const struct check *c, int64_t *strips)
{
	size_t row = (size_t)c->length_ + 1;
	int64_t *stack = calloc(((size_t)c->width + 1) * row, sizeof(*stack));
	int64_t *best = calloc((size_t)c->width + 1, sizeof(*best));

	for (int64_t v = 1; v <= c->width; v++) {
		bool is_width = false;

		for (size_t k = 0; k < c->n_ways; k++)
			is_width = is_width || c->ways[k].w == v * c->unit_w;
		for (size_t k = 0; k < c->n_ways && is_width; k++)
			if (c->ways[k].w <= v * c->unit_w)
				enter(&stack[(size_t)v * row], c->length_,
				    c->ways[k].h / c->unit_h, c->ways[k].price,
				    c->ways[k].most);
	}
	for (int64_t h = 1; h <= c->length_; h++) {
		memset(best, 0, ((size_t)c->width + 1) * sizeof(*best));
		for (int64_t x = 1; x <= c->width; x++) {
			best[x] = best[x - 1];
			for (int64_t v = 1; v <= x; v++)
				if (best[x - v] +
					stack[(size_t)v * row + (size_t)h] >
				    best[x])
					best[x] =
					    best[x - v] +
					    stack[(size_t)v * row + (size_t)h];
		}
		if (best[c->width] > strips[h])
			strips[h] = best
			    [c->width]; /* for the moment: one strip of this height */
	}
	for (int64_t l = 1; l <= c->length_; l++)
		for (int64_t h = 1; h < l; h++)
			if (strips[l - h] + strips[h] > strips[l])
				strips[l] = strips[l - h] + strips[h];
	free(best);
	free(stack);
}

/* The dearest content of the clean runs, given the dearest for every length. */
static int64_t over_runs(const struct check *c, const struct stock *s,
    bool quarter, const int64_t *strips)
{
	length at = 0;
	int64_t sum = 0;

	if (quarter)
		return strips[c->length_];
	for (size_t k = 0; k < s->n_spoiled; k++) {
		sum += strips[(s->spoiled[k].from - at) / c->unit_h];
		at = s->spoiled[k].to;
	}
	return sum + strips[(s->length - at) / c->unit_h];
}

/* May one roll of the stock, in this frame, hold more than its claimed worth? */
static enum proof_verdict check_frame(
    struct check *c, size_t stock, bool quarter)
{
	const struct stock *s = &c->problem->stock[stock];
	int64_t *strips;
	bool good;

	load_frame(c, s, quarter);
	if (c->width > CELLS_MOST || c->length_ > CELLS_MOST)
		return PROOF_TOO_LARGE;
	strips = calloc((size_t)c->length_ + 1, sizeof(*strips));
	if (c->problem->stages == 2)
		two_stages(c, strips);
	else
		bars(c, strips);
	good = over_runs(c, s, quarter, strips) <= c->worths[stock];
	if (!good && c->problem->stages == 3) {
		if (c->width * c->length_ > TABLE_MOST) {
			free(strips);
			return PROOF_TOO_LARGE;
		}
		memset(strips, 0, ((size_t)c->length_ + 1) * sizeof(*strips));
		three_stages(c, strips);
		good = over_runs(c, s, quarter, strips) <= c->worths[stock];
	}
	free(strips);
	return good ? PROOF_GOOD : PROOF_BAD;
}

/* The price of the n dearest pieces. */
static wide dearest_pieces(const struct check *c, int64_t n)
{
	wide sum = 0;
	bool *done = calloc(c->problem->n_pieces, sizeof(*done));

	while (n > 0) {
		size_t best = SIZE_MAX;

		for (size_t i = 0; i < c->problem->n_pieces; i++)
			if (!done[i] && (best == SIZE_MAX ||
					    c->prices[i] > c->prices[best]))
				best = i;
		if (best == SIZE_MAX)
			break;
		done[best] = true;
		sum += (wide)c->prices[best] *
		       (c->problem->pieces[best].count < n
			       ? c->problem->pieces[best].count
			       : n);
		n -= c->problem->pieces[best].count;
	}
	free(done);
	return sum;
}

/* Do rolls - 1 fresh rolls hold everything?  What is not fresh comes for nothing. */
static bool fewer_are_enough(
    const struct check *c, int64_t rolls, int64_t unplaced)
{
	const struct problem *p = c->problem;
	wide need = -dearest_pieces(c, unplaced);
	int64_t left = rolls - 1;

	for (size_t i = 0; i < p->n_pieces; i++)
		need += (wide)c->prices[i] * p->pieces[i].count;
	for (size_t i = 0; i < p->n_stock; i++) {
		if (p->stock[i].fresh || c->worths[i] == 0)
			continue;
		if (p->stock[i].available == UNLIMITED)
			return true;
		need -= (wide)p->stock[i].available * c->worths[i];
	}
	for (size_t k = 0; k < p->n_stock && left > 0;
	     k++) { /* the k-th dearest fresh stock */
		size_t best = SIZE_MAX;

		for (size_t i = 0; i < p->n_stock; i++)
			if (p->stock[i].fresh && c->worths[i] >= 0 &&
			    (best == SIZE_MAX ||
				c->worths[i] > c->worths[best]))
				best = i;
		if (best == SIZE_MAX)
			break;
		int64_t n = p->stock[best].available == UNLIMITED ||
				    p->stock[best].available > left
				? left
				: p->stock[best].available;

		need -= (wide)n * c->worths[best];
		left -= n;
		c->worths[best] = -1;
	}
	return need <= 0;
}

static bool read_list(
    const json_t *root, const char *key, size_t n, int64_t **out)
{
	const json_t *list = json_object_get(root, key);

	if (json_array_size(list) != n)
		return false;
	*out = calloc(n + 1, sizeof(**out));
	for (size_t i = 0; i < n; i++)
		if (((*out)[i] = json_integer_value(json_array_get(list, i))) <
		    0)
			return false;
	return true;
}

static enum proof_verdict check_all(
    struct check *c, const json_t *root, const char **why)
{
	const struct problem *p = c->problem;
	int64_t rolls =
	    json_integer_value(json_object_get(root, "fresh_rolls"));
	enum proof_verdict v = PROOF_GOOD;

	if (!read_list(root, "prices", p->n_pieces, &c->prices) ||
	    !read_list(root, "stock_worth", p->n_stock, &c->worths)) {
		*why =
		    "not a price for every piece and a worth for every stock";
		return PROOF_BAD;
	}
	for (size_t i = 0; i < p->n_pieces; i++)
		for (size_t k = 0; k < p->n_pieces; k++)
			if (same_size(&p->pieces[i], &p->pieces[k]))
				c->demand[i] += p->pieces[k].count;
	for (size_t i = 0; i < p->n_stock && v == PROOF_GOOD; i++) {
		v = check_frame(c, i, false);
		if (v == PROOF_GOOD && p->stock[i].flat)
			v = check_frame(c, i, true);
		*why = "a roll can hold more than its worth";
	}
	if (v == PROOF_GOOD && rolls > 0 &&
	    fewer_are_enough(c, rolls,
		json_integer_value(json_object_get(root, "unplaced")))) {
		*why = "fewer rolls are worth enough";
		v = PROOF_BAD;
	}
	return v;
}

enum proof_verdict proof_check(const struct problem *problem, const char *json,
    size_t len, const char **why)
{
	struct check c = {.problem = problem};
	json_t *root = json_loadb(json, len, 0, NULL);
	const char *how = json_string_value(json_object_get(root, "how"));
	enum proof_verdict v = PROOF_NONE;

	*why = "";
	c.ways = calloc(2 * problem->n_pieces + 1, sizeof(*c.ways));
	c.demand = calloc(problem->n_pieces + 1, sizeof(*c.demand));
	if (how != NULL && strcmp(how, "prices") == 0)
		v = check_all(&c, root, why);
	free(c.ways);
	free(c.demand);
	free(c.prices);
	free(c.worths);
	json_decref(root);
	return v;
}

enum proof_verdict proof_of_plan(
    const struct problem *problem, const struct plan *plan, const char **why)
{
	enum proof_verdict v;
	struct text t;

	text_init(&t, 1 << 26);
	plan_proof_write(plan, &t);
	v = proof_check(problem, t.data, t.len, why);
	text_free(&t);
	return v;
}
