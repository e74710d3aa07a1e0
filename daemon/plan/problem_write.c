/* SPDX-License-Identifier: MIT */
/*
 * problem_write.c - a problem as JSON, lengths as integers.
 *
 * What problem_json.c reads it writes again, byte for byte the same the second time.
 */
#include "problem.h"
#include "problem_rules.h"

#include <inttypes.h>

void problem_add_string(struct text *out, const char *s)
{
	text_add_char(out, '"');
	for (; *s != '\0'; s++) {
		if (*s == '"' || *s == '\\')
			text_add_char(out, '\\');
		if ((unsigned char)*s < 0x20)
			text_addf(out, "\\u%04x", (unsigned)*s);
		else
			text_add_char(out, *s);
	}
	text_add_char(out, '"');
}

static void write_stock(const struct stock *s, struct text *out)
{
	text_add(out, "{\"name\": ");
	problem_add_string(out, s->name != NULL ? s->name : "");
	text_addf(out,
	    ", \"width\": %" PRId64 ", \"length\": %" PRId64
	    ", \"price\": %" PRId64,
	    s->width, s->length, s->price);
	if (s->available == UNLIMITED)
		text_add(out, ", \"available\": null");
	else
		text_addf(out, ", \"available\": %" PRId64, s->available);
	if (s->flat)
		text_add(out, ", \"flat\": true");
	if (s->fresh)
		text_add(out, ", \"fresh\": true");
	if (s->n_spoiled > 0) {
		text_add(out, ", \"spoiled\": [");
		for (size_t k = 0; k < s->n_spoiled; k++)
			text_addf(out, "%s[%" PRId64 ", %" PRId64 "]",
			    k > 0 ? ", " : "", s->spoiled[k].from,
			    s->spoiled[k].to);
		text_add_char(out, ']');
	}
	text_add_char(out, '}');
}

static void write_piece(const struct piece *p, struct text *out)
{
	text_add(out, "{\"name\": ");
	problem_add_string(out, p->name != NULL ? p->name : "");
	text_addf(out,
	    ", \"across\": %" PRId64 ", \"along\": %" PRId64
	    ", \"count\": %" PRId64 ", \"turn\": %s",
	    p->across, p->along, p->count, p->turn ? "true" : "false");
	if (p->owner != NULL) {
		text_add(out, ", \"owner\": ");
		problem_add_string(out, p->owner);
	}
	text_add_char(out, '}');
}

void problem_write(const struct problem *problem, struct text *out)
{
	text_addf(out,
	    "{\n  \"stages\": %d,\n  \"prefer\": \"%s\",\n  \"stock\": [",
	    problem->stages, problem->prefer_price ? "price" : "rolls");
	for (size_t i = 0; i < problem->n_stock; i++) {
		text_add(out, i > 0 ? ",\n    " : "\n    ");
		write_stock(&problem->stock[i], out);
	}
	text_add(out, "\n  ],\n  \"pieces\": [");
	for (size_t i = 0; i < problem->n_pieces; i++) {
		text_add(out, i > 0 ? ",\n    " : "\n    ");
		write_piece(&problem->pieces[i], out);
	}
	text_addf(out,
	    "\n  ],\n  \"sliver\": %" PRId64 ",\n  \"oversize\": %" PRId64
	    ",\n  \"keep\": %" PRId64 ",\n  \"ruler\": %" PRId64
	    ",\n  \"estimate\": %s,\n  \"seconds\": %" PRId64 ".%03" PRId64
	    "\n}\n",
	    problem->sliver, problem->oversize, problem->keep, problem->ruler,
	    problem->estimate ? "true" : "false", problem->milliseconds / 1000,
	    problem->milliseconds % 1000);
}
