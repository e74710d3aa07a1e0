/* SPDX-License-Identifier: MIT */
/* published.c - instances and published values, as tests/data/planner/README.md has them. */
#include "published.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv.h"

const char *const verdict_names[5] = {
    "proven", "matched", "beaten", "missed", "WRONG"};

#define SIZES_MOST 1000

struct lines {
	long long stock[32][4];
	size_t n_stock;
	long long size[SIZES_MOST][3];
	size_t n_sizes;
};

static bool read_lines(FILE *f, struct lines *l)
{
	char line[256];

	*l = (struct lines){0};
	while (fgets(line, sizeof(line), f) != NULL) {
		long long a, b, c;
		char available[32];
		size_t n = l->n_stock;

		if (sscanf(line, "stock %lld %lld %31s %lld", &a, &b, available,
			&c) == 4 &&
		    n < 32) {
			long long there = strcmp(available, "-") == 0
					      ? UNLIMITED
					      : atoll(available);

			memcpy(l->stock[l->n_stock++],
			    (long long[]){a, b, there, c}, sizeof(l->stock[0]));
		} else if (l->n_stock == 0 &&
			   sscanf(line, "%lld %lld", &a, &b) == 2) {
			memcpy(l->stock[l->n_stock++],
			    (long long[]){a, b, UNLIMITED, 1},
			    sizeof(l->stock[0]));
		} else if (sscanf(line, "%lld %lld %lld", &a, &b, &c) == 3 &&
			   l->n_sizes < SIZES_MOST) {
			memcpy(l->size[l->n_sizes++], (long long[]){a, b, c},
			    sizeof(l->size[0]));
		}
	}
	return l->n_stock > 0 && l->n_sizes > 0;
}

static bool load(
    const char *dir, const char *set, const char *name, struct lines *l)
{
	static const char *const parts[] = {"instances", "instances-multi"};
	bool ok = false;

	for (size_t i = 0; i < 2 && !ok; i++) {
		char path[512];
		FILE *f;

		snprintf(path, sizeof(path), "%s/%s/%s/%s.txt", dir, parts[i],
		    set, name);
		f = fopen(path, "r");
		if (f == NULL)
			continue;
		ok = read_lines(f, l);
		fclose(f);
	}
	return ok;
}

static struct problem *make(const struct lines *l, int stages, bool turn)
{
	struct problem *p = problem_new(l->n_stock, l->n_sizes);

	p->stages = stages;
	for (size_t i = 0; i < l->n_stock; i++)
		p->stock[i] = (struct stock){.name = "stock",
		    .width = l->stock[i][0],
		    .length = l->stock[i][1],
		    .available = l->stock[i][2],
		    .price = l->stock[i][3],
		    .fresh = l->stock[i][2] == UNLIMITED};
	for (size_t i = 0; i < l->n_sizes; i++)
		p->pieces[i] =
		    (struct piece){.name = arena_printf(p->arena, "%zu", i + 1),
			.across = l->size[i][0],
			.along = l->size[i][1],
			.count = l->size[i][2],
			.turn = turn};
	return p;
}

struct problem *published_problem(
    const char *dir, const char *set, const char *name, int stages, bool turn)
{
	struct lines *l = malloc(sizeof(*l));
	struct problem *p =
	    load(dir, set, name, l) ? make(l, stages, turn) : NULL;

	free(l);
	return p;
}

struct problem *published_endless(
    const char *dir, const char *set, const char *name, bool turn)
{
	struct problem *p = published_problem(dir, set, name, 2, turn);
	length all = 0;

	for (size_t i = 0; p != NULL && i < p->n_pieces; i++) {
		const struct piece *q = &p->pieces[i];

		all += q->count * (q->along > q->across ? q->along : q->across);
	}
	if (p != NULL)
		p->stock[0].length = all < LENGTH_MAX ? all : LENGTH_MAX;
	return p;
}

static void understand(struct published *r)
{
	const char *v = r->variant;

	r->turn = strstr(v, "turn") != NULL;
	r->is_upper = strstr(v, "untrimmed") != NULL;
	r->is_endless = strncmp(v, "strip length", 12) == 0;
	r->is_length = strstr(v, "length") != NULL;
	r->stages = strstr(v, "3-stage") != NULL ? 3 : 2;
	r->is_ours = !r->is_upper;
}

void published_each(const char *dir, published_fn *fn, void *ctx)
{
	char path[512];
	struct csv *csv;

	snprintf(path, sizeof(path), "%s/published.csv", dir);
	csv = csv_open(path);
	csv_next(csv); /* the head */
	while (csv_next(csv)) {
		struct published r = {0};
		const char *optimal = csv_field(csv, 4);

		snprintf(r.set, sizeof(r.set), "%s", csv_field(csv, 0));
		snprintf(r.name, sizeof(r.name), "%s", csv_field(csv, 1));
		snprintf(r.variant, sizeof(r.variant), "%s", csv_field(csv, 2));
		r.value = atoll(csv_field(csv, 3));
		r.kind = strcmp(optimal, "y") == 0    ? PUBLISHED_PROVEN
			 : strcmp(optimal, "lb") == 0 ? PUBLISHED_LOWER
						      : PUBLISHED_VALUE;
		understand(&r);
		fn(ctx, &r);
	}
	csv_close(csv);
}

enum verdict published_judge(const struct published *r, const struct plan *plan)
{
	int64_t value =
	    r->is_length ? plan->totals.strip_length : plan->totals.fresh_rolls;
	int64_t bound =
	    r->is_length ? plan->bounds.strip_length : plan->bounds.fresh_rolls;
	bool rolls_proven =
	    plan->totals.fresh_rolls == plan->bounds.fresh_rolls;
	bool comparable =
	    !r->is_length ||
	    rolls_proven; /* a length on more rolls is another goal */

	if (r->is_upper) { /* an untrimmed plan is one of ours too */
		if (bound > r->value)
			return VERDICT_WRONG;
		return value > r->value   ? VERDICT_MISSED
		       : value < r->value ? VERDICT_BEATEN
					  : VERDICT_MATCHED;
	}
	if (r->kind == PUBLISHED_LOWER) {
		if (value < r->value)
			return VERDICT_WRONG;
		return value == bound      ? VERDICT_PROVEN
		       : value == r->value ? VERDICT_MATCHED
					   : VERDICT_MISSED;
	}
	if (comparable && bound > r->value)
		return VERDICT_WRONG;
	if (value < r->value)
		return r->kind == PUBLISHED_PROVEN && comparable
			   ? VERDICT_WRONG
			   : VERDICT_BEATEN;
	if (value > r->value)
		return VERDICT_MISSED;
	return value == bound ? VERDICT_PROVEN : VERDICT_MATCHED;
}
