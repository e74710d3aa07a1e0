/* SPDX-License-Identifier: MIT */
/*
 * The fields that say how a cost is shared, on the pages of the studio and of a workshop.
 */
#ifndef WEB_SHARE_FORM_H
#define WEB_SHARE_FORM_H

#include "call.h"
#include "html.h"

/* policy is an enum share_policy. */
void share_write_rules(struct call *call, struct html *h, int64_t policy,
    bool ceiling, bool shipping_each);
/* A form without these fields leaves all three as they are. */
void share_read_rules(
    struct call *call, int64_t *policy, bool *ceiling, bool *shipping_each);

#endif
