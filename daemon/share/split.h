/* SPDX-License-Identifier: MIT */
/*
 * Who pays what.
 *
 * Split cost over n members in proportion to the area each one used.
 *
 * due[i] is what member i pays.  The shares add up to cost exactly, and each lies
 * within one minor unit of its exact proportion.  The minor units left over go one
 * each to the largest remainders; among equal remainders the smaller tie[i] comes
 * first, then the smaller i.  A negative cost (a refund) is split as its absolute
 * value and negated, so that a charge and its refund cancel for everybody.
 *
 * Needs n > 0, used[i] >= 0, at least one used[i] > 0, |cost| <= SHARE_COST_MAX and
 * the sum of used[] <= INT64_MAX.
 */
#ifndef SHARE_SPLIT_H
#define SHARE_SPLIT_H

#include <stddef.h>
#include <stdint.h>

#include "measure.h"

#define SHARE_COST_MAX INT64_C(1000000000000000)

void share_split(
    money cost, const area used[], const uint64_t tie[], size_t n, money due[]);

/*
 * The order in which equal remainders take the odd cent: a fixed hash over workshop and
 * member, so that it is not the same member in every workshop, and anybody can compute
 * it again.
 */
uint64_t share_tie(int64_t workshop_id, int64_t member_id);

#endif
