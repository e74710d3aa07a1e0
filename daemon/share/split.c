/* SPDX-License-Identifier: MIT */
/*
 * split.c - who pays what.
 *
 * Cost follows area, but cents do not divide.  Everybody first pays the whole cents of
 * the exact proportion; the cents left over (fewer than members) go one each to the
 * largest remainders: Hamilton's method, see Balinski and Young, "Fair Representation"
 * (1982).  Rounding each share alone was dropped: three equal members would pay 99 of
 * 100 cents.
 *
 * All remainders have the same divisor (the total area), so they are compared as whole
 * numbers.  Cost times area needs 128 bits.
 */
#include "split.h"

#include <assert.h>
#include <stdlib.h>

#include "alloc.h"

struct claim {          /* on a cent that is left over */
	area remainder; /* below the total */
	uint64_t tie;
	size_t member;
};

static int by_claim(const void *left, const void *right)
{
	const struct claim *a = left, *b = right;
	if (a->remainder != b->remainder)
		return a->remainder > b->remainder ? -1 : 1;
	if (a->tie != b->tie)
		return a->tie < b->tie ? -1 : 1;
	return a->member < b->member ? -1 : a->member > b->member;
}

static wide total_area(const area used[], size_t n)
{
	wide total = 0;
	for (size_t i = 0; i < n; i++) {
		assert(used[i] >= 0);
		total += used[i];
	}
	assert(total > 0 && total <= INT64_MAX);
	return total;
}

void share_split(
    money cost, const area used[], const uint64_t tie[], size_t n, money due[])
{
	assert(n > 0 && cost >= -SHARE_COST_MAX && cost <= SHARE_COST_MAX);
	wide total = total_area(used, n);
	money amount = cost < 0 ? -cost : cost;
	money left = amount;
	struct claim *claims = xcalloc(n, sizeof(*claims));

	for (size_t i = 0; i < n; i++) {
		wide exact = (wide)amount * used[i];
		due[i] = (money)(exact / total);
		left -= due[i];
		claims[i] = (struct claim){(area)(exact % total), tie[i], i};
	}
	qsort(claims, n, sizeof(*claims), by_claim);
	assert(left >= 0 && (size_t)left < n);
	for (size_t i = 0; i < (size_t)left; i++)
		due[claims[i].member]++;
	if (cost < 0)
		for (size_t i = 0; i < n; i++)
			due[i] = -due[i];
	free(claims);
}

/* The finishing function of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014; constants from memory). */
static uint64_t mix(uint64_t z)
{
	z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
	z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
	return z ^ (z >> 31);
}

uint64_t share_tie(int64_t workshop_id, int64_t member_id)
{
	return mix(mix((uint64_t)workshop_id + UINT64_C(0x9E3779B97F4A7C15)) ^
		   (uint64_t)member_id);
}
