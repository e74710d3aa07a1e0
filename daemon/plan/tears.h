/* SPDX-License-Identifier: MIT */
/*
 * How many tears a pattern and a draft take, and which patterns are torn by the same
 * marks, as inspect.c counts it in the finished plan.  Internal to plan/.
 */
#ifndef PLAN_TEARS_H
#define PLAN_TEARS_H

#include "draft.h"

/* Of one segment in a strip so high: its own end, the ends of its pieces, and beside
 * those that are narrower. */
int64_t part_tears(const struct model *m, length height,
    const struct pattern *p, const struct part *part);

/* Of one strip in this frame, without the tear at its own end. */
int64_t pattern_tears(
    const struct model *m, const struct pattern *p, const struct frame *frame);

/* 0: of one kind, the same marks tear both.  Both are in the order of pattern_sort(). */
int pattern_compare(
    const struct model *m, const struct pattern *a, const struct pattern *b);

/* Across one roll, once its runs are closed up (draft_tidy). */
int64_t used_tears(const struct model *m, const struct used *used);
/* What is left behind its last strip then. */
length used_end(const struct model *m, const struct used *used);

#endif
