/* SPDX-License-Identifier: MIT */
/*
 * Amounts and areas in the words of a studio: its locale, its system of measures.
 */
#ifndef PRINT_AMOUNT_H
#define PRINT_AMOUNT_H

#include "arena.h"
#include "measure.h"

struct manner { /* how a studio writes */
	const char *currency;
	const char *locale; /* figures.h; NULL: its default */
	enum measure_system system;
};

/* "1,234.50 USD" */
const char *amount_money(
    struct arena *arena, const struct manner *manner, money m);
/*
 * amount x own / total in major units: exact when that takes at most four decimals more than
 * the currency has, else that many, cut off, with "..." behind.  own, total >= 0, total > 0.
 */
const char *amount_exact(struct arena *arena, const struct manner *manner,
    money amount, area own, area total);
/* "118.75 sq in", "766.25 cm2": at most six decimals; "~" before one that is not exact. */
const char *amount_area(
    struct arena *arena, const struct manner *manner, area a);
/* "9 1/2 x 12 1/2 in" */
const char *amount_size(struct arena *arena, const struct manner *manner,
    length across, length along);

#endif
