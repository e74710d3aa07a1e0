/* SPDX-License-Identifier: MIT */
/*
 * What an instructor can do with call->workshop in the state it is in, as buttons.
 */
#ifndef WEB_WORKSHOP_BUTTONS_H
#define WEB_WORKSHOP_BUTTONS_H

#include "call.h"
#include "html.h"

void workshop_buttons(struct call *call, struct html *h);

#endif
