/* SPDX-License-Identifier: MIT */
/*
 * Can a sheet of this torn size be had from a paper's stock at all?
 *
 * The question is asked when a member asks for sheets, long before anything is planned: one
 * piece alone must fit one roll, roll-end, offcut or flat sheet, in a clean run of it and
 * without leaving a sliver.  Pure.
 */
#ifndef WEB_FITS_H
#define WEB_FITS_H

#include <stdbool.h>
#include <stddef.h>

#include "measure.h"
#include "shelf.h"

struct fit_rules {
	length sliver, oversize;
};

bool fits_stock(const struct stock_row *stock, length across, length along,
    bool turn, const struct fit_rules *rules);
/* NULL when n is 0. */
const struct stock_row *fits_widest(const struct stock_row *stock, size_t n);

#endif
