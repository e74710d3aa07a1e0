/* SPDX-License-Identifier: MIT */
/*
 * The derivation of one member's share, a line a paper.
 */
#ifndef WEB_SHARE_LINES_H
#define WEB_SHARE_LINES_H

#include "act_money.h"
#include "call.h"
#include "html.h"

void share_lines(struct call *call, struct html *h, const struct shares *shares,
    const struct share_row *row);

#endif
