/* SPDX-License-Identifier: MIT */
/*
 * The part of a page that says what one request may cost.
 */
#ifndef WEB_ESTIMATE_PART_H
#define WEB_ESTIMATE_PART_H

#include "act_estimate.h"
#include "call.h"
#include "html.h"

/* For the member of call->request; with a button that reckons anew when that is worth it. */
void estimate_write(
    struct call *call, struct html *h, const struct estimate_view *view);

#endif
