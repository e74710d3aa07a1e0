/* SPDX-License-Identifier: MIT */
/*
 * The open instances of tests/data/planner, and what is published about them.
 */
#ifndef TESTS_PUBLISHED_H
#define TESTS_PUBLISHED_H

#include "plan.h"

/* instances/SET/NAME.txt or instances-multi/SET/NAME.txt as a problem; NULL: no such file. */
struct problem *published_problem(
    const char *dir, const char *set, const char *name, int stages, bool turn);
/* The same pieces on one endless roll of the instance's width. */
struct problem *published_endless(
    const char *dir, const char *set, const char *name, bool turn);

enum published_kind { PUBLISHED_VALUE, PUBLISHED_PROVEN, PUBLISHED_LOWER };

struct published {
	char set[32], name[48], variant[48];
	int64_t value;
	enum published_kind kind;
	/* what the variant means here */
	bool is_ours;  /* a mode of this project (untrimmed forms are not) */
	bool is_upper; /* an untrimmed value: ours may only be lower */
	bool is_length, is_endless, turn;
	int stages;
};

/* Row after row of published.csv, those of one instance together. */
typedef void published_fn(void *ctx, const struct published *row);
void published_each(const char *dir, published_fn *fn, void *ctx);

/* How a plan stands to a row. */
enum verdict {
	VERDICT_PROVEN,  /* the published value, proven here too */
	VERDICT_MATCHED, /* the published value, not proven here */
	VERDICT_BEATEN,  /* better than a value that was not proven */
	VERDICT_MISSED,  /* worse, and the bound admits it */
	VERDICT_WRONG,   /* contradicts a proven value or a bound */
};
enum verdict published_judge(
    const struct published *row, const struct plan *plan);
extern const char *const verdict_names[5];

#endif
