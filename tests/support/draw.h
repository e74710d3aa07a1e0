/* SPDX-License-Identifier: MIT */
/*
 * Problems drawn by a seed: the same seed, the same problem, on every machine.  For
 * tests and benches; the caller deletes what is drawn.
 */
#ifndef TESTS_DRAW_H
#define TESTS_DRAW_H

#include "problem.h"

struct dice {
	uint64_t state;
};

/* 64-bit steps of splitmix (Steele, Lea, Flood 2014, from memory). */
uint64_t dice_next(struct dice *d);
/* One of least..most, both included. */
int64_t dice_between(struct dice *d, int64_t least, int64_t most);

/* A problem the oracle can solve, with any rules of the format but spoiled flat stock. */
struct problem *draw_tiny(uint64_t seed);
/* A class: sizes of common papers with tape margins, inches and (mixed) millimetres. */
struct problem *draw_class(uint64_t seed, int stages, bool mixed);
/*
 * n sizes with sides of `least` to `most` and counts up to many, on one roll that is as
 * long as need be.
 */
struct endless {
	int stages;
	size_t n;
	length width, least, most;
	int64_t many;
};
struct problem *draw_endless(struct dice *d, const struct endless *e);
/* n_sizes sizes and about n_pieces pieces on rolls of 45 in x 10 yd. */
struct problem *draw_large(
    uint64_t seed, int stages, size_t n_sizes, int64_t n_pieces);

#endif
