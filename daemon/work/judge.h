/* SPDX-License-Identifier: MIT */
/*
 * What a planner wrote, judged before it is believed; and the lines it writes on its way.
 */
#ifndef WORK_JUDGE_H
#define WORK_JUDGE_H

#include <stdbool.h>
#include <stddef.h>

#include "err.h"
#include "plan.h"
#include "planning.h"

#define CHECK_CODE_SIZE 7

/* result is read and walked by the inspector against the problem; code is its check code. */
bool judge_result(const char *problem, const char *result, size_t len,
    char code[CHECK_CODE_SIZE], struct err *err) MUST_USE;

/* The check code of a layout: six letters that are told apart in any hand, from the SHA-256 of
 * what lies where.  Two prints of one layout show the same, whatever else they say. */
void plan_check_code(const struct plan *plan, char code[CHECK_CODE_SIZE]);

/* "progress fresh_rolls=2 ..." into the job's progress; false when it is another kind of line. */
bool progress_read(const char *line, struct job_row *job);

#endif
