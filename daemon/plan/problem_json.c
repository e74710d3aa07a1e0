/* SPDX-License-Identifier: MIT */
/*
 * problem_json.c - the JSON door of a problem.
 *
 * Whoever writes a file by hand wants to hear of all its mistakes at once, so reading
 * goes on after an error with a harmless value in place of the wrong one; the first ten
 * are kept.  A key we do not know is an error, since a misspelt "avaliable" would else
 * mean unlimited paper.  Numbers are whole: 12.5 is refused rather than cut to 12.
 *
 * The seed of jansson's tables is fixed, so that reading has no source of chance.
 */
#include "problem.h"
#include "problem_rules.h"

#include <inttypes.h>
#include <jansson.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define ERRORS_SHOWN 10
#define HASH_SEED 320

struct reader {
	struct problem *problem;
	struct text *more;
	struct err first;
	int n_errors;
};

static void complain(struct reader *r, const char *field, const char *hint,
    const char *fmt, ...) PRINTF_LIKE(4, 5);

static void complain(
    struct reader *r, const char *field, const char *hint, const char *fmt, ...)
{
	char text[512];
	va_list args;

	va_start(args, fmt);
	vsnprintf(text, sizeof(text), fmt, args);
	va_end(args);
	if (r->n_errors == 0) {
		err_set(&r->first, ERR_INPUT, "%s", text);
		err_hint(&r->first, "%s", hint);
		err_field(&r->first, "%s", field);
	}
	if (r->more != NULL && r->n_errors < ERRORS_SHOWN)
		text_addf(r->more, "%s: %s\n", field, text);
	r->n_errors++;
}

static bool on_broken_rule(
    void *ctx, const char *field, const char *text, const char *hint)
{
	struct reader *r = ctx;

	complain(r, field, hint, "%s", text);
	return r->n_errors < ERRORS_SHOWN;
}

/* A place in the document: "/stock/3" plus a key. */
struct place {
	const char *part; /* "stock", "pieces" or NULL at the top */
	size_t i;
};

#define FIELD_MAX 256

static const char *field_of(
    char buf[static FIELD_MAX], struct place at, const char *key)
{
	if (at.part == NULL)
		snprintf(buf, FIELD_MAX, "/%s", key);
	else
		snprintf(buf, FIELD_MAX, "/%s/%zu/%s", at.part, at.i, key);
	return buf;
}

static const char *kind_of(const json_t *value)
{
	switch (json_typeof(value)) {
	case JSON_OBJECT:
		return "an object";
	case JSON_ARRAY:
		return "an array";
	case JSON_STRING:
		return "a string";
	case JSON_INTEGER:
		return "a whole number";
	case JSON_REAL:
		return "a number with a fraction or exponent";
	case JSON_TRUE:
	case JSON_FALSE:
		return "true or false";
	default:
		return "null";
	}
}

static void wrong_kind(struct reader *r, struct place at, const char *key,
    const json_t *value, const char *wanted)
{
	char field[FIELD_MAX];

	if (value == NULL)
		complain(r, field_of(field, at, key), "Add it.",
		    "%s is missing", key);
	else
		complain(r, field_of(field, at, key),
		    "See the form of a problem in the manual.",
		    "%s is %s, it must be %s", key, kind_of(value), wanted);
}

#define KEY_SHOWN 60

/* A key as it may be shown: what is not printable is a question mark, and it is cut. */
static void show_key(char out[static KEY_SHOWN + 8], const char *key)
{
	size_t n = 0;

	for (const char *c = key; *c != '\0' && n < KEY_SHOWN;) {
		size_t len = 1;

		while (((unsigned char)c[len] & 0xc0) == 0x80)
			len++;
		if (utf8_is_line(c, len)) {
			memcpy(out + n, c, len);
			n += len;
		} else {
			out[n++] = '?';
		}
		c += len;
	}
	out[n] = '\0';
}

/* The same as a part of a JSON pointer (RFC 6901): ~ and / are written ~0 and ~1. */
static void point_at(char out[static 2 * KEY_SHOWN + 16], const char *shown)
{
	for (; *shown != '\0'; shown++) {
		if (*shown == '~' || *shown == '/') {
			*out++ = '~';
			*out++ = *shown == '~' ? '0' : '1';
		} else {
			*out++ = *shown;
		}
	}
	*out = '\0';
}

/* Keys that are not in the list are named; also when there are thousands of them. */
static void check_keys(struct reader *r, struct place at, const json_t *object,
    const char *const known[])
{
	char field[FIELD_MAX], shown[KEY_SHOWN + 8], part[2 * KEY_SHOWN + 16];
	const char *key;
	const json_t *value;

	json_object_foreach((json_t *)object, key, value)
	{
		size_t k = 0;

		while (known[k] != NULL && strcmp(known[k], key) != 0)
			k++;
		if (known[k] != NULL)
			continue;
		show_key(shown, key);
		point_at(part, shown);
		complain(r, field_of(field, at, part),
		    "Check its spelling, or leave it out.",
		    "unknown key \"%s\"", shown);
		if (r->n_errors >= ERRORS_SHOWN)
			return;
	}
}

static length length_from(struct reader *r, const char *field, const char *key,
    const json_t *value, bool zero, length harmless)
{
	struct err err;
	length out = harmless;
	const char *s = json_string_value(value);
	size_t len = json_string_length(value);

	if (json_is_integer(value))
		return json_integer_value(value);
	if (json_is_string(value)) {
		bool ok = zero ? length_parse_or_zero(s, len, &out, &err)
			       : length_parse(s, len, &out, &err);

		if (ok)
			return out;
		complain(r, field, err.hint, "%s: %s", key, err.text);
		return harmless;
	}
	complain(r, field,
	    "Write \"12 1/2 in\", \"31.7 cm\", or whole units of 1/320 mm.",
	    "%s is %s, it must be a whole number or a string with a unit", key,
	    kind_of(value));
	return harmless;
}

static length read_length(
    struct reader *r, struct place at, const json_t *object, const char *key)
{
	char field[FIELD_MAX];
	const json_t *value = json_object_get(object, key);

	if (value == NULL) {
		wrong_kind(r, at, key, value, "a length");
		return 1;
	}
	return length_from(r, field_of(field, at, key), key, value, false, 1);
}

/* At the top, where a rule may be left out or be zero. */
static length read_rule(struct reader *r, const json_t *object, const char *key)
{
	char field[FIELD_MAX];
	const json_t *value = json_object_get(object, key);

	if (value == NULL)
		return 0;
	return length_from(
	    r, field_of(field, (struct place){0}, key), key, value, true, 0);
}

static int64_t read_whole(struct reader *r, struct place at,
    const json_t *object, const char *key, int64_t harmless)
{
	const json_t *value = json_object_get(object, key);

	if (json_is_integer(value))
		return json_integer_value(value);
	wrong_kind(r, at, key, value, "a whole number");
	return harmless;
}

static bool read_flag(
    struct reader *r, struct place at, const json_t *object, const char *key)
{
	const json_t *value = json_object_get(object, key);

	if (value != NULL && !json_is_boolean(value))
		wrong_kind(r, at, key, value, "true or false");
	return json_is_true(value);
}

static const char *read_name(
    struct reader *r, struct place at, const json_t *object)
{
	const json_t *value = json_object_get(object, "name");

	if (json_is_string(value))
		return arena_strndup(r->problem->arena,
		    json_string_value(value), json_string_length(value));
	if (value != NULL)
		wrong_kind(r, at, "name", value, "a string");
	return arena_printf(r->problem->arena, "%s %zu",
	    strcmp(at.part, "stock") == 0 ? "stock" : "piece", at.i + 1);
}

static const char *read_owner(
    struct reader *r, struct place at, const json_t *object)
{
	const json_t *value = json_object_get(object, "owner");

	if (json_is_string(value))
		return arena_strndup(r->problem->arena,
		    json_string_value(value), json_string_length(value));
	if (value != NULL)
		wrong_kind(r, at, "owner", value, "a string");
	return NULL;
}

static void read_spoiled(
    struct reader *r, struct place at, const json_t *object, struct stock *s)
{
	const json_t *list = json_object_get(object, "spoiled");
	size_t n = json_array_size(list);
	int before = r->n_errors;
	struct run *runs = arena_array(r->problem->arena, n, sizeof(*runs));

	if (list != NULL && !json_is_array(list))
		wrong_kind(r, at, "spoiled", list, "an array of [from, to]");
	for (size_t k = 0; k < n; k++) {
		const json_t *pair = json_array_get(list, k);
		char field[FIELD_MAX];

		snprintf(
		    field, sizeof(field), "/stock/%zu/spoiled/%zu", at.i, k);
		if (!json_is_array(pair) || json_array_size(pair) != 2) {
			complain(r, field, "Write [\"10 in\", \"12 in\"].",
			    "a spoiled run must be [from, to]");
			if (r->n_errors >= ERRORS_SHOWN)
				return;
			continue;
		}
		runs[k].from = length_from(
		    r, field, "from", json_array_get(pair, 0), true, 0);
		runs[k].to = length_from(
		    r, field, "to", json_array_get(pair, 1), false, 1);
	}
	s->spoiled = runs;
	s->n_spoiled = r->n_errors == before ? n : 0;
}

static void read_stock(struct reader *r, size_t i, const json_t *object)
{
	static const char *const known[] = {"name", "width", "length", "price",
	    "available", "flat", "fresh", "spoiled", NULL};
	struct place at = {"stock", i};
	struct stock *s = &r->problem->stock[i];
	char field[FIELD_MAX];
	const json_t *available = json_object_get(object, "available");

	check_keys(r, at, object, known);
	s->name = read_name(r, at, object);
	s->width = read_length(r, at, object, "width");
	s->length = read_length(r, at, object, "length");
	s->price = json_object_get(object, "price")
		       ? read_whole(r, at, object, "price", 0)
		       : 0;
	s->available = UNLIMITED;
	if (available != NULL && !json_is_null(available)) {
		s->available = read_whole(r, at, object, "available", 0);
		if (s->available == UNLIMITED) { /* ours, not the format's */
			complain(r, field_of(field, at, "available"),
			    "Write null for as many as needed.",
			    "available is -1, it must lie between 0 and %d",
			    PROBLEM_PIECES_MAX);
			s->available = 0;
		}
	}
	s->flat = read_flag(r, at, object, "flat");
	s->fresh = read_flag(r, at, object, "fresh") ||
		   (s->available == UNLIMITED && !s->flat);
	read_spoiled(r, at, object, s);
}

static void read_piece(struct reader *r, size_t i, const json_t *object)
{
	static const char *const known[] = {
	    "name", "across", "along", "count", "turn", "owner", NULL};
	struct place at = {"pieces", i};
	struct piece *p = &r->problem->pieces[i];

	check_keys(r, at, object, known);
	p->name = read_name(r, at, object);
	p->across = read_length(r, at, object, "across");
	p->along = read_length(r, at, object, "along");
	p->count = read_whole(r, at, object, "count", 1);
	p->turn = read_flag(r, at, object, "turn");
	p->owner = read_owner(r, at, object);
}

typedef void read_entry_fn(struct reader *r, size_t i, const json_t *object);

static void read_list(struct reader *r, const char *part, const json_t *list,
    size_t n, read_entry_fn *read_entry)
{
	for (size_t i = 0; i < n && r->n_errors < ERRORS_SHOWN; i++) {
		const json_t *object = json_array_get(list, i);
		char field[FIELD_MAX];

		if (json_is_object(object)) {
			read_entry(r, i, object);
			continue;
		}
		snprintf(field, sizeof(field), "/%s/%zu", part, i);
		complain(r, field, "See the form of a problem in the manual.",
		    "an entry of %s is %s, it must be an object", part,
		    kind_of(object));
	}
}

static void read_prefer(struct reader *r, const json_t *prefer)
{
	const char *s = json_string_value(prefer);
	char shown[KEY_SHOWN + 8];

	if (s != NULL && strcmp(s, "price") == 0) {
		r->problem->prefer_price = true;
	} else if (s == NULL) {
		wrong_kind(r, (struct place){0}, "prefer", prefer,
		    "\"rolls\" or \"price\"");
	} else if (strcmp(s, "rolls") != 0) {
		show_key(shown, s);
		complain(r, "/prefer", "Leave it out for the fewest rolls.",
		    "prefer is \"%s\", it must be \"rolls\" or \"price\"",
		    shown);
	}
}

/* A wait, not a measure: the one place for a fraction. */
static void read_seconds(struct reader *r, double wait)
{
	if (wait >= 0.001 && wait <= PROBLEM_SECONDS_MAX)
		r->problem->milliseconds = (int64_t)(wait * 1000 + 0.5);
	else
		complain(r, "/seconds", "Five seconds is plenty for a class.",
		    "seconds is %.6g, it must lie between 0.001 and %d", wait,
		    PROBLEM_SECONDS_MAX);
}

static void read_top(struct reader *r, const json_t *root)
{
	static const char *const known[] = {"stages", "prefer", "stock",
	    "pieces", "sliver", "oversize", "keep", "ruler", "estimate",
	    "seconds", NULL};
	struct place top = {0};
	struct problem *problem = r->problem;
	const json_t *prefer = json_object_get(root, "prefer");
	const json_t *seconds = json_object_get(root, "seconds");
	int64_t stages = json_object_get(root, "stages")
			     ? read_whole(r, top, root, "stages", 3)
			     : 3;

	check_keys(r, top, root, known);
	problem->stages = stages < 0 || stages > 9 ? 0 : (int)stages;
	problem->sliver = read_rule(r, root, "sliver");
	problem->oversize = read_rule(r, root, "oversize");
	problem->keep = read_rule(r, root, "keep");
	problem->ruler = read_rule(r, root, "ruler");
	problem->estimate = read_flag(r, top, root, "estimate");
	if (prefer != NULL)
		read_prefer(r, prefer);
	if (json_is_number(seconds))
		read_seconds(r, json_number_value(seconds));
	else if (seconds != NULL)
		wrong_kind(r, top, "seconds", seconds, "a number");
}

/* The size of a list, within the limits; 0 and an error when it is not one. */
static size_t list_size(
    struct reader *r, const json_t *root, const char *key, size_t max)
{
	struct place top = {0};
	char field[FIELD_MAX];
	const json_t *list = json_object_get(root, key);

	if (!json_is_array(list)) {
		wrong_kind(r, top, key, list, "an array");
		return 0;
	}
	if (json_array_size(list) >= 1 && json_array_size(list) <= max)
		return json_array_size(list);
	complain(r, field_of(field, top, key),
	    json_array_size(list) == 0 ? "Add at least one entry."
				       : "Plan it in parts.",
	    "%s has %zu entries, it must have 1 to %zu", key,
	    json_array_size(list), max);
	return 0;
}

static void read_root(struct reader *r, const json_t *root)
{
	size_t n_stock = list_size(r, root, "stock", PROBLEM_STOCK_MAX);
	size_t n_pieces = list_size(r, root, "pieces", PROBLEM_SIZES_MAX);

	r->problem = problem_new(n_stock, n_pieces);
	read_top(r, root);
	read_list(
	    r, "stock", json_object_get(root, "stock"), n_stock, read_stock);
	read_list(
	    r, "pieces", json_object_get(root, "pieces"), n_pieces, read_piece);
	if (n_stock > 0 && n_pieces > 0 && r->n_errors < ERRORS_SHOWN)
		problem_walk_rules(r->problem, on_broken_rule, r);
}

/* Not JSON at all; what editors on some systems write first is known by its bytes. */
static void refuse_text(
    struct reader *r, const char *json, size_t len, const json_error_t *bad)
{
	static const char *const marks[] = {
	    "\xef\xbb\xbf", "\xff\xfe", "\xfe\xff"};
	const char *hint = "Check the JSON there.";
	const char *library = strstr(bad->text, " without JSON_ALLOW_NUL");
	size_t said =
	    library != NULL ? (size_t)(library - bad->text) : strlen(bad->text);

	for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); i++)
		if (len >= strlen(marks[i]) &&
		    memcmp(json, marks[i], strlen(marks[i])) == 0)
			hint = "Save it as UTF-8 without a byte order mark.";
	complain(r, "", hint, "not JSON, line %d column %d: %.*s", bad->line,
	    bad->column, (int)said, bad->text);
}

bool problem_read(const char *json, size_t len, struct problem **out,
    struct text *more, struct err *err)
{
	struct reader r = {.more = more};
	json_error_t bad;
	json_t *root = NULL;

	*out = NULL;
	if (len > PROBLEM_TEXT_MAX)
		return err_set(err, ERR_INPUT,
		    "the problem has %zu bytes, the most is %d", len,
		    PROBLEM_TEXT_MAX);
	json_object_seed(HASH_SEED);
	root = json_loadb(json, len, JSON_REJECT_DUPLICATES, &bad);
	if (root == NULL)
		refuse_text(&r, json, len, &bad);
	else if (!json_is_object(root))
		complain(&r, "", "See the form of a problem in the manual.",
		    "a problem is an object, not %s", kind_of(root));
	else
		read_root(&r, root);
	json_decref(root);
	if (r.n_errors > 0) {
		problem_delete(r.problem);
		if (err != NULL)
			*err = r.first;
		return false;
	}
	*out = r.problem;
	return true;
}
