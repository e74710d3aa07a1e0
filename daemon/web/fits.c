/* SPDX-License-Identifier: MIT */
/*
 * fits.c - one piece against one stock.
 *
 * The planner would say the same, and later; here the member is still there to choose another
 * size.  Its rules are those of docs/plan.md: a gap beside a piece is nothing, no sliver, or
 * stays on within the oversize.
 */
#include "fits.h"

#include <jansson.h>

static bool gap_allowed(length gap, const struct fit_rules *rules)
{
	return gap >= 0 &&
	       (gap == 0 || gap <= rules->oversize || gap >= rules->sliver);
}

/* The longest run of the stock's length that no spoiled run touches; they are in rising order. */
static length longest_clean(const struct stock_row *stock)
{
	json_t *runs = json_loads(stock->spoiled, 0, NULL), *run = NULL;
	length at = 0, best = 0;
	size_t i = 0;

	json_array_foreach(runs, i, run)
	{
		length from = json_integer_value(json_array_get(run, 0));
		length to = json_integer_value(json_array_get(run, 1));

		if (from - at > best)
			best = from - at;
		if (to > at)
			at = to;
	}
	if (stock->length_u - at > best)
		best = stock->length_u - at;
	json_decref(runs);
	return best;
}

static bool lies(const struct stock_row *stock, length clean, length across,
    length along, const struct fit_rules *rules)
{
	if (across > stock->width_u || along > clean)
		return false;
	if (gap_allowed(stock->width_u - across, rules))
		return true;
	/* A flat sheet may be begun the other way: then its length is what lies across. */
	return (stock->kind == STOCK_FLAT || stock->kind == STOCK_OFFCUT) &&
	       clean == stock->length_u &&
	       gap_allowed(stock->length_u - along, rules);
}

bool fits_stock(const struct stock_row *stock, length across, length along,
    bool turn, const struct fit_rules *rules)
{
	length clean = longest_clean(stock);

	return lies(stock, clean, across, along, rules) ||
	       (turn && lies(stock, clean, along, across, rules));
}

const struct stock_row *fits_widest(const struct stock_row *stock, size_t n)
{
	const struct stock_row *widest = NULL;

	for (size_t i = 0; i < n; i++)
		if (widest == NULL || stock[i].width_u > widest->width_u ||
		    (stock[i].width_u == widest->width_u &&
			stock[i].length_u > widest->length_u))
			widest = &stock[i];
	return widest;
}
