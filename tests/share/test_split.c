/* SPDX-License-Identifier: MIT */
/*
 * The split against published apportionment tables (tests/data/trade/apportionment:
 * seats are cents, weights are areas, sources in INDEX.md), and its promises over many
 * seeded cases.
 */
#include "split.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv.h"

#define TABLES DATA_DIR "/trade/apportionment"
#define MEMBERS_MAX 64

struct table {
	area weight[MEMBERS_MAX];
	money seats[MEMBERS_MAX];
	uint64_t tie[MEMBERS_MAX]; /* the order of the rows breaks ties */
	size_t n;
	money total;
	char method[40];
};

static void table_read(struct table *t, const char *path)
{
	memset(t, 0, sizeof(*t));
	struct csv *csv = csv_open(path);
	csv_next(csv); /* the head */
	while (csv_next(csv)) {
		t->weight[t->n] = atoll(csv_field(csv, 1));
		t->seats[t->n] = atoll(csv_field(csv, 2));
		t->tie[t->n] = t->n;
		t->total += t->seats[t->n];
		snprintf(t->method, sizeof(t->method), "%s", csv_field(csv, 3));
		t->n++;
	}
	csv_close(csv);
}

Test(split, adds_up_as_published)
{
	DIR *dir = opendir(TABLES);
	cr_assert(dir);
	size_t same = 0, other = 0;
	for (struct dirent *e; (e = readdir(dir));) {
		if (!strstr(e->d_name, ".csv"))
			continue;
		char path[1024];
		snprintf(path, sizeof(path), TABLES "/%s", e->d_name);
		struct table t;
		table_read(&t, path);
		money due[MEMBERS_MAX];
		share_split(t.total, t.weight, t.tie, t.n, due);
		bool equal = memcmp(due, t.seats, t.n * sizeof(*due)) == 0;
		if (strcmp(t.method, "Hamilton") == 0) {
			cr_expect(equal, "%s: not as published", e->d_name);
			same++;
		} else if (strcmp(t.method, "Hamilton, at least 1") != 0) {
			other +=
			    !equal; /* another rule; that it may differ shows the tables can tell */
		}
	}
	closedir(dir);
	cr_expect_geq(same, 30, "%zu tables of the rule", same);
	cr_expect_geq(
	    other, 4, "%zu tables of other rules tell them apart", other);
}

Test(split, is_as_the_table_of_checks)
{
	struct csv *csv = csv_open(DATA_DIR "/trade/checks.csv");
	size_t rows = 0;
	while (csv_next(csv)) {
		long long cost;
		char weights[200];
		if (sscanf(csv_field(csv, 2), "split %lld by %199s", &cost,
			weights) != 2)
			continue;
		struct table t = {0};
		for (char *save, *w = strtok_r(weights, ":", &save); w;
		     w = strtok_r(NULL, ":", &save)) {
			t.tie[t.n] = t.n;
			t.weight[t.n++] = atoll(w);
		}
		money due[MEMBERS_MAX];
		share_split(cost, t.weight, t.tie, t.n, due);
		char text[400] = "";
		for (size_t i = 0; i < t.n; i++)
			snprintf(text + strlen(text),
			    sizeof(text) - strlen(text), "%s%lld", i ? ":" : "",
			    (long long)due[i]);
		cr_expect_str_eq(
		    text, csv_field(csv, 3), "%s", csv_field(csv, 0));
		rows++;
	}
	csv_close(csv);
	cr_expect_gt(rows, 10, "%zu rows", rows);
}

static uint64_t step(uint64_t *seed)
{
	return *seed = *seed * 48271 % 2147483647;
}

static void make_case(uint64_t *seed, struct table *t)
{
	t->n = step(seed) % 40 + 1;
	t->total = (money)(step(seed) % 100000000);
	for (size_t i = 0; i < t->n; i++) {
		t->weight[i] = step(seed) % 5 == 0
				   ? 0
				   : (area)(step(seed) * 500 % 1070000000000);
		t->tie[i] = share_tie(17, (int64_t)i + 1);
	}
	t->weight[0] += 1;
}

Test(split, keeps_its_promises)
{
	uint64_t seed = 4711;
	for (int round = 0; round < 3000; round++) {
		struct table t = {0};
		uint64_t start = seed;
		make_case(&seed, &t);
		money due[MEMBERS_MAX], sum = 0, refund[MEMBERS_MAX];
		wide total = 0;
		for (size_t i = 0; i < t.n; i++)
			total += t.weight[i];
		share_split(t.total, t.weight, t.tie, t.n, due);
		share_split(-t.total, t.weight, t.tie, t.n, refund);
		for (size_t i = 0; i < t.n; i++) {
			wide off = due[i] * total - (wide)t.total * t.weight[i];
			cr_assert(off < total && off > -total,
			    "seed %llu: member %zu is a cent off",
			    (unsigned long long)start, i);
			cr_assert(t.weight[i] > 0 || due[i] == 0,
			    "seed %llu: no area, no share",
			    (unsigned long long)start);
			cr_assert_eq(due[i] + refund[i], 0,
			    "seed %llu: a refund cancels",
			    (unsigned long long)start);
			for (size_t j = 0; j < t.n; j++)
				cr_assert(t.weight[i] <= t.weight[j] ||
					      due[i] >= due[j],
				    "seed %llu: more area pays no less",
				    (unsigned long long)start);
			sum += due[i];
		}
		cr_assert_eq(
		    sum, t.total, "seed %llu", (unsigned long long)start);
	}
}

Test(split, does_not_ask_in_which_order_members_come)
{
	uint64_t seed = 99;
	for (int round = 0; round < 500; round++) {
		struct table t = {0}, back = {0};
		uint64_t start = seed;
		make_case(&seed, &t);
		for (size_t i = 0; i < t.n; i++) {
			back.weight[i] = t.weight[t.n - 1 - i];
			back.tie[i] = t.tie[t.n - 1 - i];
		}
		money due[MEMBERS_MAX], other[MEMBERS_MAX];
		share_split(t.total, t.weight, t.tie, t.n, due);
		share_split(t.total, back.weight, back.tie, t.n, other);
		for (size_t i = 0; i < t.n; i++)
			cr_assert_eq(due[i], other[t.n - 1 - i], "seed %llu",
			    (unsigned long long)start);
	}
}

Test(split, holds_at_its_limits)
{
	money due[2];
	share_split(SHARE_COST_MAX, (area[]){INT64_MAX - 1, 1},
	    (uint64_t[]){0, 1}, 2, due);
	cr_expect_eq(due[0] + due[1], SHARE_COST_MAX);
	cr_expect_eq(due[1], 0);
	share_split(0, (area[]){1, 2}, (uint64_t[]){0, 1}, 2, due);
	cr_expect(due[0] == 0 && due[1] == 0);
}

/* Over many workshops of three equal members each takes the odd cent about as often. */
Test(split, does_not_give_the_odd_cent_to_the_same_member)
{
	int odd[3] = {0};
	for (int64_t workshop = 1; workshop <= 3000; workshop++) {
		uint64_t tie[3];
		for (int i = 0; i < 3; i++)
			tie[i] = share_tie(workshop, i + 1);
		money due[3];
		share_split(100, (area[]){5, 5, 5}, tie, 3, due);
		for (int i = 0; i < 3; i++)
			odd[i] += due[i] == 34;
	}
	for (int i = 0; i < 3; i++)
		cr_expect(odd[i] > 850 && odd[i] < 1150,
		    "member %d took it %d times of 3000", i + 1, odd[i]);
}
