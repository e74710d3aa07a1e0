/* SPDX-License-Identifier: MIT */
/*
 * plan_json.c - a plan as JSON and back.
 *
 * Writing is by hand, one strip a line, so that two plans can be compared as text and
 * the same plan is the same bytes.  Reading trusts nothing about shape and size, but
 * leaves the meaning to the inspector.
 */
#include "plan.h"
#include "plan_new.h"
#include "problem_rules.h"

#include <inttypes.h>
#include <jansson.h>

static void write_placed(const struct placed *p, struct text *out)
{
	text_addf(out,
	    "{\"piece\": %zu, \"at\": %" PRId64 ", \"across\": %" PRId64
	    ", \"along\": %" PRId64 ", \"turned\": %s}",
	    p->piece, p->at, p->across, p->along, p->turned ? "true" : "false");
}

static void write_segment(const struct segment *s, struct text *out)
{
	text_addf(out,
	    "{\"at\": %" PRId64 ", \"width\": %" PRId64 ", \"pieces\": [",
	    s->at, s->width);
	for (size_t i = 0; i < s->n_pieces; i++) {
		text_add(out, i > 0 ? ", " : "");
		write_placed(&s->pieces[i], out);
	}
	text_add(out, "]}");
}

static void write_strip(const struct strip *s, struct text *out)
{
	text_addf(out,
	    "{\"at\": %" PRId64 ", \"height\": %" PRId64 ", \"segments\": [",
	    s->at, s->height);
	for (size_t i = 0; i < s->n_segments; i++) {
		text_add(out, i > 0 ? ", " : "");
		write_segment(&s->segments[i], out);
	}
	text_add(out, "]}");
}

static void write_roll(const struct roll *r, struct text *out)
{
	text_addf(out,
	    "{\"stock\": %zu, \"length\": %" PRId64 ", \"width\": %" PRId64,
	    r->stock, r->length, r->width);
	if (r->quarter)
		text_add(out, ", \"quarter\": true");
	text_add(out, ", \"strips\": [");
	for (size_t i = 0; i < r->n_strips; i++) {
		text_add(out, i > 0 ? ",\n      " : "\n      ");
		write_strip(&r->strips[i], out);
	}
	text_add(out, "]}");
}

static const char *yes(bool b)
{
	return b ? "true" : "false";
}

static void write_values(const struct plan *plan, struct text *out)
{
	const struct totals *t = &plan->totals;
	const struct bounds *b = &plan->bounds;
	const struct proven *p = &plan->proven;

	text_addf(out,
	    "  \"totals\": {\"unplaced\": %" PRId64
	    ", \"fresh_rolls\": %" PRId64 ", \"price\": %" PRId64
	    ", \"strip_length\": %" PRId64 ", \"tears\": %" PRId64
	    ", \"strip_kinds\": %" PRId64 "},\n",
	    t->unplaced, t->fresh_rolls, t->price, t->strip_length, t->tears,
	    t->strip_kinds);
	text_addf(out,
	    "  \"bounds\": {\"unplaced\": %" PRId64
	    ", \"fresh_rolls\": %" PRId64 ", \"price\": %" PRId64
	    ", \"strip_length\": %" PRId64 "},\n",
	    b->unplaced, b->fresh_rolls, b->price, b->strip_length);
	text_addf(out,
	    "  \"proven\": {\"unplaced\": %s, \"fresh_rolls\": %s, \"price\": "
	    "%s, \"strip_length\": %s},\n",
	    yes(p->unplaced), yes(p->fresh_rolls), yes(p->price),
	    yes(p->strip_length));
}

static void write_one_alone(const struct alone *a, struct text *out)
{
	text_add(out, "{\"owner\": ");
	problem_add_string(out, a->owner);
	text_addf(out,
	    ", \"price\": %" PRId64 ", \"fresh_rolls\": %" PRId64
	    ", \"bought\": %" PRId64 ", \"kept\": %" PRId64 "}",
	    a->price, a->fresh_rolls, a->bought, a->kept);
}

static void write_alone(const struct plan *plan, struct text *out)
{
	text_add(out, "  \"alone\": [");
	for (size_t i = 0; i < plan->n_alone; i++) {
		text_add(out, i > 0 ? ",\n    " : "\n    ");
		write_one_alone(&plan->alone[i], out);
	}
	text_add(out, "],\n");
}

static void write_hint(const struct hint *h, struct text *out)
{
	text_addf(out,
	    "{\"piece\": %zu, \"across\": %" PRId64 ", \"along\": %" PRId64
	    ", \"fits\": %" PRId64 ", \"fresh_rolls\": %" PRId64
	    ", \"price\": %" PRId64 ", \"strip_length\": %" PRId64
	    ", \"bought\": %" PRId64 ", \"kept\": %" PRId64,
	    h->piece, h->across, h->along, h->fits, h->totals.fresh_rolls,
	    h->totals.price, h->totals.strip_length, h->bought, h->kept);
	if (h->alone.owner != NULL) {
		text_add(out, ", \"alone\": ");
		write_one_alone(&h->alone, out);
	}
	text_add_char(out, '}');
}

static void write_estimate(const struct plan *plan, struct text *out)
{
	text_add(out, "  \"without\": [");
	for (size_t i = 0; i < plan->n_without; i++)
		text_addf(out,
		    "%s{\"piece\": %zu, \"price\": %" PRId64
		    ", \"fresh_rolls\": %" PRId64 ", \"proven\": %s}",
		    i > 0 ? ",\n    " : "\n    ", plan->without[i].piece,
		    plan->without[i].price, plan->without[i].fresh_rolls,
		    yes(plan->without[i].proven));
	text_add(out, "],\n  \"hints\": [");
	for (size_t i = 0; i < plan->n_hints; i++) {
		text_add(out, i > 0 ? ",\n    " : "\n    ");
		write_hint(&plan->hints[i], out);
	}
	text_add(out, "],\n");
}

void plan_write(const struct plan *plan, int64_t milliseconds, struct text *out)
{
	text_add(out, "{\n  \"rolls\": [");
	for (size_t i = 0; i < plan->n_rolls; i++) {
		text_add(out, i > 0 ? ",\n    " : "\n    ");
		write_roll(&plan->rolls[i], out);
	}
	text_add(out, plan->n_rolls > 0 ? "\n  ],\n" : "],\n");
	text_add(out, "  \"unplaced\": [");
	for (size_t i = 0; i < plan->n_unplaced; i++)
		text_addf(
		    out, "%s%" PRId64, i > 0 ? ", " : "", plan->unplaced[i]);
	text_add(out, "],\n");
	write_values(plan, out);
	if (plan->n_alone > 0)
		write_alone(plan, out);
	if (plan->n_without > 0)
		write_estimate(plan, out);
	text_addf(out, "  \"steps\": %" PRId64, plan->steps);
	if (milliseconds >= 0)
		text_addf(out, ",\n  \"seconds\": %" PRId64 ".%03" PRId64,
		    milliseconds / 1000, milliseconds % 1000);
	text_add(out, "\n}\n");
}

static void write_numbers(
    const char *key, const int64_t list[], size_t n, struct text *out)
{
	text_addf(out, "\"%s\": [", key);
	for (size_t i = 0; i < n; i++)
		text_addf(out, "%s%" PRId64, i > 0 ? ", " : "", list[i]);
	text_add(out, "]");
}

void plan_proof_write(const struct plan *plan, struct text *out)
{
	const struct proof *p = &plan->proof;

	text_addf(out,
	    "{\"fresh_rolls\": %" PRId64 ", \"unplaced\": %" PRId64
	    ", \"how\": \"%s\",\n  ",
	    p->fresh_rolls, plan->totals.unplaced,
	    p->n_prices > 0 ? "prices" : "search");
	write_numbers("prices", p->prices, p->n_prices, out);
	text_add(out, ",\n  ");
	write_numbers("stock_worth", p->worths, p->n_worths, out);
	text_add(out, "}\n");
}

/* Reading: `ok` falls once and stays; `err` keeps the first reason. */
struct reader {
	struct plan *plan;
	struct err *err;
	bool ok;
};

static void refuse(struct reader *r, const char *what)
{
	if (r->ok)
		err_set(r->err, ERR_INPUT, "not a plan: %s", what);
	r->ok = false;
}

static int64_t whole(struct reader *r, const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);

	if (!json_is_integer(value))
		refuse(r, key);
	return json_integer_value(value);
}

static int64_t whole_or(
    struct reader *r, const json_t *object, const char *key, int64_t otherwise)
{
	return json_object_get(object, key) == NULL ? otherwise
						    : whole(r, object, key);
}

static size_t index_of(struct reader *r, const json_t *object, const char *key)
{
	int64_t i = whole(r, object, key);

	if (i < 0 || i > PROBLEM_SIZES_MAX)
		refuse(r, key);
	return r->ok ? (size_t)i : 0;
}

static const json_t *list(
    struct reader *r, const json_t *object, const char *key, size_t *n)
{
	const json_t *value = json_object_get(object, key);

	if (!json_is_array(value))
		refuse(r, key);
	*n = r->ok ? json_array_size(value) : 0;
	return value;
}

static void read_segment(
    struct reader *r, const json_t *object, struct segment *s)
{
	const json_t *pieces = list(r, object, "pieces", &s->n_pieces);

	s->at = whole(r, object, "at");
	s->width = whole(r, object, "width");
	s->pieces =
	    arena_array(r->plan->arena, s->n_pieces, sizeof(*s->pieces));
	for (size_t i = 0; i < s->n_pieces && r->ok; i++) {
		const json_t *piece = json_array_get(pieces, i);

		s->pieces[i] = (struct placed){
		    .piece = index_of(r, piece, "piece"),
		    .at = whole(r, piece, "at"),
		    .across = whole(r, piece, "across"),
		    .along = whole(r, piece, "along"),
		    .turned = json_is_true(json_object_get(piece, "turned")),
		};
	}
}

static void read_strip(struct reader *r, const json_t *object, struct strip *s)
{
	const json_t *segments = list(r, object, "segments", &s->n_segments);

	s->at = whole(r, object, "at");
	s->height = whole(r, object, "height");
	s->segments =
	    arena_array(r->plan->arena, s->n_segments, sizeof(*s->segments));
	for (size_t i = 0; i < s->n_segments && r->ok; i++)
		read_segment(r, json_array_get(segments, i), &s->segments[i]);
}

static void read_roll(struct reader *r, const json_t *object, struct roll *roll)
{
	const json_t *strips = list(r, object, "strips", &roll->n_strips);

	roll->stock = index_of(r, object, "stock");
	roll->quarter = json_is_true(json_object_get(object, "quarter"));
	roll->width = whole(r, object, "width");
	roll->length = whole(r, object, "length");
	roll->strips =
	    arena_array(r->plan->arena, roll->n_strips, sizeof(*roll->strips));
	for (size_t i = 0; i < roll->n_strips && r->ok; i++)
		read_strip(r, json_array_get(strips, i), &roll->strips[i]);
}

static bool flag(const json_t *object, const char *key)
{
	return json_is_true(json_object_get(object, key));
}

static void read_values(struct reader *r, const json_t *root)
{
	const json_t *t = json_object_get(root, "totals");
	const json_t *b = json_object_get(root, "bounds");
	const json_t *p = json_object_get(root, "proven");

	r->plan->totals = (struct totals){
	    .unplaced = whole(r, t, "unplaced"),
	    .fresh_rolls = whole(r, t, "fresh_rolls"),
	    .price = whole(r, t, "price"),
	    .strip_length = whole(r, t, "strip_length"),
	    .tears = whole(r, t, "tears"),
	    .strip_kinds = whole_or(r, t, "strip_kinds", 0),
	};
	r->plan->bounds = (struct bounds){
	    .unplaced = whole_or(r, b, "unplaced", 0),
	    .fresh_rolls = whole(r, b, "fresh_rolls"),
	    .price = whole(r, b, "price"),
	    .strip_length = whole(r, b, "strip_length"),
	};
	r->plan->proven = (struct proven){
	    .unplaced = flag(p, "unplaced"),
	    .fresh_rolls = flag(p, "fresh_rolls"),
	    .price = flag(p, "price"),
	    .strip_length = flag(p, "strip_length"),
	};
	r->plan->steps = whole_or(r, root, "steps", 0);
}

static struct alone read_one_alone(struct reader *r, const json_t *entry)
{
	const char *owner = json_string_value(json_object_get(entry, "owner"));

	if (owner == NULL)
		refuse(r, "owner");
	return (struct alone){
	    .owner = arena_strdup(r->plan->arena, owner ? owner : ""),
	    .price = whole(r, entry, "price"),
	    .fresh_rolls = whole(r, entry, "fresh_rolls"),
	    .bought = whole(r, entry, "bought"),
	    .kept = whole(r, entry, "kept"),
	};
}

static void read_alone(struct reader *r, const json_t *root)
{
	struct plan *plan = r->plan;
	const json_t *entries = NULL;

	if (json_object_get(root, "alone") == NULL)
		return;
	entries = list(r, root, "alone", &plan->n_alone);
	plan->alone =
	    arena_array(plan->arena, plan->n_alone, sizeof(*plan->alone));
	for (size_t i = 0; i < plan->n_alone && r->ok; i++)
		plan->alone[i] = read_one_alone(r, json_array_get(entries, i));
}

static struct hint read_hint(struct reader *r, const json_t *entry)
{
	const json_t *alone = json_object_get(entry, "alone");
	struct hint h = {
	    .piece = index_of(r, entry, "piece"),
	    .across = whole(r, entry, "across"),
	    .along = whole(r, entry, "along"),
	    .fits = whole(r, entry, "fits"),
	    .totals = {.fresh_rolls = whole(r, entry, "fresh_rolls"),
		.price = whole(r, entry, "price"),
		.strip_length = whole(r, entry, "strip_length")},
	    .bought = whole(r, entry, "bought"),
	    .kept = whole(r, entry, "kept"),
	};

	if (alone != NULL)
		h.alone = read_one_alone(r, alone);
	return h;
}

static void read_estimate(struct reader *r, const json_t *root)
{
	struct plan *plan = r->plan;
	const json_t *without = NULL, *hints = NULL;

	if (json_object_get(root, "without") == NULL)
		return;
	without = list(r, root, "without", &plan->n_without);
	hints = list(r, root, "hints", &plan->n_hints);
	plan->without =
	    arena_array(plan->arena, plan->n_without, sizeof(*plan->without));
	plan->hints =
	    arena_array(plan->arena, plan->n_hints, sizeof(*plan->hints));
	for (size_t i = 0; i < plan->n_without && r->ok; i++) {
		const json_t *entry = json_array_get(without, i);

		plan->without[i] = (struct without){
		    .piece = index_of(r, entry, "piece"),
		    .price = whole(r, entry, "price"),
		    .fresh_rolls = whole(r, entry, "fresh_rolls"),
		    .proven = flag(entry, "proven"),
		};
	}
	for (size_t i = 0; i < plan->n_hints && r->ok; i++)
		plan->hints[i] = read_hint(r, json_array_get(hints, i));
}

static void read_root(struct reader *r, const json_t *root)
{
	size_t n_rolls, n_unplaced;
	const json_t *rolls = list(r, root, "rolls", &n_rolls);
	const json_t *unplaced = list(r, root, "unplaced", &n_unplaced);

	r->plan = plan_new(n_rolls, n_unplaced);
	for (size_t i = 0; i < n_rolls && r->ok; i++)
		read_roll(r, json_array_get(rolls, i), &r->plan->rolls[i]);
	for (size_t i = 0; i < n_unplaced && r->ok; i++) {
		if (!json_is_integer(json_array_get(unplaced, i)))
			refuse(r, "unplaced");
		r->plan->unplaced[i] =
		    json_integer_value(json_array_get(unplaced, i));
	}
	read_values(r, root);
	read_alone(r, root);
	read_estimate(r, root);
}

bool plan_read(const char *json, size_t len, struct plan **out, struct err *err)
{
	struct reader r = {.err = err, .ok = true};
	json_error_t bad;
	json_t *root = NULL;

	*out = NULL;
	if (len > PLAN_TEXT_MAX)
		return err_set(err, ERR_INPUT,
		    "the plan has %zu bytes, the most is %zu", len,
		    PLAN_TEXT_MAX);
	root = json_loadb(json, len, JSON_REJECT_DUPLICATES, &bad);
	if (root == NULL)
		return err_set(err, ERR_INPUT,
		    "not JSON, line %d column %d: %s", bad.line, bad.column,
		    bad.text);
	read_root(&r, root);
	json_decref(root);
	if (!r.ok) {
		plan_delete(r.plan);
		return false;
	}
	*out = r.plan;
	return true;
}
