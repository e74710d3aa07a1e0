/* SPDX-License-Identifier: MIT */
/*
 * The least cost at which rolls worth `need` can be had: a small knapsack over the kinds
 * of stock.  Internal to plan/.
 */
#ifndef PLAN_COVER_H
#define PLAN_COVER_H

#include "measure.h"

struct cover_stock {
	int64_t worth;
	int64_t available; /* or UNLIMITED (-1) */
	int64_t cost;      /* what is minimised */
	int64_t other;     /* what is limited */
};

struct cover {
	const struct cover_stock *stock;
	size_t n;
	wide need;
	int64_t other_most; /* sum of `other` may not exceed this */
};

/* Never above the true least cost; equal to it unless the search had to be cut. */
int64_t cover_least(const struct cover *c);

#endif
