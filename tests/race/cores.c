/* SPDX-License-Identifier: MIT */
/*
 * cores.c - the pure parts keep no value between calls, so threads cannot meet in them.
 *
 * Four threads read the same problem, plan it, have the plan inspected, write it, parse
 * lengths and split a cost, all at once and into one log.  Under ThreadSanitizer a hidden
 * global shows itself; everywhere, each thread must come to the same bytes as one alone.
 */
#include <inttypes.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "inspect.h"
#include "log.h"
#include "measure.h"
#include "plan.h"
#include "problem.h"
#include "split.h"
#include "text.h"

enum { N_THREADS = 4, N_ROUNDS = 3, STEPS = 20000 };

static const char problem_text[] =
    "{\"stages\": 3, \"stock\": ["
    "{\"name\": \"roll\", \"width\": \"45 in\", \"length\": \"10 yd\", "
    "\"price\": 19200, \"available\": null},"
    "{\"name\": \"roll-end\", \"width\": \"45 in\", \"length\": \"2 yd\", "
    "\"price\": 0, \"available\": 1,"
    " \"spoiled\": [[\"10 in\", \"12 in\"]]}],"
    "\"pieces\": ["
    "{\"name\": \"A\", \"across\": \"9 in\", \"along\": \"12 1/2 in\", "
    "\"count\": 10, \"turn\": true},"
    "{\"name\": \"B\", \"across\": \"11 in\", \"along\": \"15 in\", \"count\": "
    "4, \"turn\": false},"
    "{\"name\": \"C\", \"across\": \"31.7 cm\", \"along\": \"210 mm\", "
    "\"count\": 7, \"turn\": true}]}";

struct result {
	char *plan;
	money due[5];
	length parsed;
	char why[600];
	bool ok;
};

static bool make_plan(struct result *r, struct err *err)
{
	const struct plan_job job = {.steps = STEPS};
	struct problem *problem = NULL;
	struct plan *plan = NULL;
	struct text json;
	bool ok = false;

	text_init(&json, 1 << 20);
	if (!problem_read(
		problem_text, strlen(problem_text), &problem, NULL, err))
		goto out;
	if (!plan_make(problem, &job, &plan, err) ||
	    !plan_inspect(problem, plan, err))
		goto out;
	plan_write(plan, -1, &json);
	r->plan = text_take(&json);
	ok = true;
out:
	text_free(&json);
	plan_delete(plan);
	problem_delete(problem);
	return ok;
}

static void *work(void *arg)
{
	static const area used[5] = {7, 11, 13, 17, 19};
	struct result *r = arg;
	uint64_t tie[5];
	struct err err = {0};

	for (int i = 0; i < 5; i++)
		tie[i] = share_tie(1, i);
	share_split(19201, used, tie, 5, r->due);
	r->ok = length_parse("12 1/2 in", 9, &r->parsed, &err) &&
		make_plan(r, &err);
	if (!r->ok)
		snprintf(r->why, sizeof(r->why), "%s", err.text);
	log_event(
	    LOG_INFO, "race-round", "ok=%d parsed=%" PRId64, r->ok, r->parsed);
	return NULL;
}

static bool same(const struct result *a, const struct result *b)
{
	return a->ok && b->ok && a->parsed == b->parsed &&
	       !memcmp(a->due, b->due, sizeof(a->due)) &&
	       !strcmp(a->plan, b->plan);
}

static bool one_round(const struct result *alone)
{
	struct result results[N_THREADS] = {0};
	pthread_t threads[N_THREADS];
	bool ok = true;

	for (int i = 0; i < N_THREADS; i++)
		if (pthread_create(&threads[i], NULL, work, &results[i]))
			abort();
	for (int i = 0; i < N_THREADS; i++) {
		pthread_join(threads[i], NULL);
		if (!same(alone, &results[i])) {
			fprintf(stderr,
			    "thread %d differs from one alone (%s)\n", i,
			    results[i].ok ? "another result" : results[i].why);
			ok = false;
		}
		free(results[i].plan);
	}
	return ok;
}

int main(void)
{
	struct result alone = {0};
	struct err err = {0};
	bool ok = log_open("/dev/null", LOG_INFO, &err);

	work(&alone);
	if (!alone.ok) {
		fprintf(stderr, "no plan: %s\n", alone.why);
		ok = false;
	}
	for (int i = 0; i < N_ROUNDS && ok; i++)
		ok = one_round(&alone);
	free(alone.plan);
	log_close();
	return ok ? 0 : 1;
}
