/* SPDX-License-Identifier: MIT */
/*
 * Sizes as people type them: one or two sides, each a sum.
 *
 *     size  = side [("x" | "×" | "by") side]
 *     side  = term {("+" | " - ") term}
 *     term  = [N "*"] length
 *
 * A term without a unit takes the unit of the next term that has one, so "9 x 12 1/2 in"
 * is 9 in across.  When nothing has a unit, `unit` is taken for all ("in"), and with
 * unit NULL the text is refused.
 */
#ifndef CLI_SIZES_H
#define CLI_SIZES_H

#include "measure.h"

struct size {
	int sides; /* 1 or 2 */
	length side[2];
	enum measure_system written[2]; /* how each side was written */
	bool assumed; /* no unit stood anywhere: `unit` was taken */
};

bool size_parse(const char *text, const char *unit, struct size *out,
    struct err *err) MUST_USE;
/* As size_parse, but both sides must stand there. */
bool size_parse_both(const char *text, const char *unit, struct size *out,
    struct err *err) MUST_USE;

/* True when some unit stands in the text. */
bool size_has_unit(const char *text);

/* finished + 2 * margin; refused above LENGTH_MAX. */
bool size_add_margin(
    struct size *size, length margin, struct err *err) MUST_USE;

/* One side as it was written, exactly: "12 1/2 in", "31.7 cm"; returns buf. */
const char *size_print_side(
    char buf[static LENGTH_TEXT_MAX], const struct size *size, int side);

#define SIZE_TEXT_MAX (2 * LENGTH_TEXT_MAX + 4)
/* "9 in x 12 1/2 in"; returns buf. */
const char *size_print(char buf[static SIZE_TEXT_MAX], const struct size *size,
    enum measure_system sys);

#endif
