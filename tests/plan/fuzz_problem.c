/* SPDX-License-Identifier: MIT */
/*
 * The JSON door, and behind it a small budget of planning: whatever is let in gets a
 * plan that passes the inspector, or is refused with a reason; plans read back as written.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "inspect.h"
#include "plan.h"

#define STEPS 100000
#define PIECES_MOST 300

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool ok)
{
	if (!ok)
		abort();
}

static void check_plan(const struct problem *p, const struct plan *plan)
{
	struct plan *again = NULL;
	struct text first, second;
	struct err err;

	must(plan_inspect(p, plan, &err));
	text_init(&first, 1 << 24);
	text_init(&second, 1 << 24);
	plan_write(plan, -1, &first);
	must(plan_read(first.data, first.len, &again, &err));
	plan_write(again, -1, &second);
	must(strcmp(first.data, second.data) == 0);
	plan_delete(again);
	text_free(&first);
	text_free(&second);
}

static bool is_small(const struct problem *p)
{
	int64_t pieces = 0;

	for (size_t i = 0; i < p->n_pieces; i++)
		pieces += p->pieces[i].count;
	return pieces <= PIECES_MOST && p->n_stock <= 8;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct plan_job job = {.steps = STEPS};
	struct problem *p = NULL;
	struct plan *plan = NULL;
	struct text more;
	struct err err;

	text_init(&more, 1 << 16);
	if (!problem_read((const char *)data, size, &p, &more, &err)) {
		must(err.kind == ERR_INPUT && err.text[0] != '\0');
		text_free(&more);
		return 0;
	}
	must(problem_check(p, &err));
	if (is_small(p)) {
		if (plan_make(p, &job, &plan, &err))
			check_plan(p, plan);
		else
			must(err.kind == ERR_MISSING);
	}
	plan_delete(plan);
	problem_delete(p);
	text_free(&more);
	return 0;
}
