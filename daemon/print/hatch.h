/* SPDX-License-Identifier: MIT */
/*
 * The patterns that tell pieces, waste and kept paper apart without colour, as plain lines
 * cut to their box: they look the same on every printer and in every viewer.
 */
#ifndef PRINT_HATCH_H
#define PRINT_HATCH_H

#include "canvas.h"

struct hatch {
	double grey, line; /* how dark (0 is black), how thick */
};

struct hatch hatch_of(enum fill fill);

typedef void hatch_line_fn(
    void *ctx, double x1, double y1, double x2, double y2);
void hatch_lines(
    enum fill fill, const struct box *box, hatch_line_fn *line, void *ctx);

/* A torn edge along the top of the box, as a chain of lines. */
void torn_lines(const struct box *box, hatch_line_fn *line, void *ctx);

/* The pattern of a member's pieces: neighbours in the list differ. */
enum fill hatch_of_member(size_t member);

#endif
