/* SPDX-License-Identifier: MIT */
/*
 * plan_case - read a problem from standard input and write its plan: for making a new case
 * of tests/golden.  The plans there are kept, so that a better planner does not change what
 * the drawings are compared with.
 */
#include <stdio.h>
#include <stdlib.h>

#include "alloc.h"
#include "plan.h"

int main(void)
{
	char *json = xmalloc(PROBLEM_TEXT_MAX);
	size_t len = fread(json, 1, PROBLEM_TEXT_MAX, stdin);
	struct problem *problem = NULL;
	struct plan *plan = NULL;
	struct err err = {0};
	struct plan_job job = {.steps = 3000000};
	struct text out;
	bool ok = problem_read(json, len, &problem, NULL, &err) &&
		  plan_make(problem, &job, &plan, &err);

	text_init(&out, 64 << 20);
	if (ok) {
		plan_write(plan, -1, &out);
		fwrite(out.data, 1, out.len, stdout);
	} else {
		fprintf(stderr, "plan_case: %s\n", err.text);
	}
	text_free(&out);
	plan_delete(plan);
	problem_delete(problem);
	free(json);
	return ok ? 0 : 1;
}
