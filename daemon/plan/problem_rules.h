/* SPDX-License-Identifier: MIT */
/*
 * The rules of a problem that single numbers can break, for problem.c and its JSON
 * reader only: callers use problem_check().
 */
#ifndef PLAN_PROBLEM_RULES_H
#define PLAN_PROBLEM_RULES_H

#include "problem.h"

#define PROBLEM_PRICE_MAX INT64_C(1000000000000) /* 10^12 minor units */
#define PROBLEM_SECONDS 5
#define PROBLEM_SECONDS_MAX 86400

/* Called for every broken rule with its JSON pointer; false: enough. */
typedef bool broken_rule_fn(
    void *ctx, const char *field, const char *text, const char *hint);

void problem_walk_rules(
    const struct problem *problem, broken_rule_fn *broken, void *ctx);

/* A JSON string: what problem_read() lets through needs few escapes. */
void problem_add_string(struct text *out, const char *s);

/* l as a person reads it: in inches when it lies on 1/64 in, else in mm. */
const char *rules_length(char buf[static LENGTH_TEXT_MAX], length l);

#endif
