/* SPDX-License-Identifier: MIT */
/*
 * Lengths as they are set on a ruler and written on paper.
 *
 * A mark the ruler has is printed in the studio's system.  One it does not have is still
 * printed exactly, in whichever system says it shortest, and the kind tells how it differs:
 * the other side of the ruler has it, or it lies between two lines.
 */
#ifndef PRINT_MARK_H
#define PRINT_MARK_H

#include <stdbool.h>
#include <stddef.h>

#include "measure.h"

#define MARK_TEXT_MAX (2 * LENGTH_TEXT_MAX + 16)

struct ruler {
	enum measure_system system;
	length step;
};

enum mark_kind { MARK_ON_RULER, MARK_OTHER_SIDE, MARK_BETWEEN };

enum mark_kind mark_print(
    char buf[static LENGTH_TEXT_MAX], length l, const struct ruler *ruler);

/* "between 12 5/16 in and 12 3/8 in": the lines on either side of l. */
const char *mark_between(
    char buf[static MARK_TEXT_MAX], length l, const struct ruler *ruler);

/* "9 1/2 x 12 1/2 in": across by along, the unit once when it is the same; times is "x" or "×". */
const char *mark_print_size(char buf[static MARK_TEXT_MAX], length across,
    length along, const struct ruler *ruler, const char *times);

/* Bytes of the mark or weight that s begins with ("12 1/2 in", "3.1 kg"), or 0: no line
 * may end within it. */
size_t mark_span(const char *s);

/*
 * How often the straightedge is laid down for a tear this long, and how far apart the
 * aiming marks are (a whole half inch or centimetre; about three quarters of the
 * straightedge at most, so that each placement covers two marks and overlaps the last).
 * straightedge 0: not known, one placement is assumed.
 */
struct aim {
	int64_t placements;
	length spacing; /* 0: the two edges are enough */
};
struct aim aim_for(
    length tear, length straightedge, enum measure_system system);

/* Grams, rounded to the nearest 10, of a sheet this large: for lifting it, not for selling it. */
int64_t weight_grams(length across, length along, int64_t grams_per_m2);

#endif
