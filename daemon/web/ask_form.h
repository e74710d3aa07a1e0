/* SPDX-License-Identifier: MIT */
/*
 * The form that asks for sheets, and how a request is shown: shared by the pages of a workshop
 * and of a single request.
 */
#ifndef WEB_ASK_FORM_H
#define WEB_ASK_FORM_H

#include "act_request.h"
#include "call.h"
#include "html.h"

/* The fields, filled from `before` (may be NULL); whole: its count and note too, to change it.
 * Needs load_papers(). */
void ask_write_fields(struct call *call, struct html *h,
    const struct request_row *before, bool whole);
/* For whom, for instructors; needs load_enrolled(). */
void ask_write_member(struct call *call, struct html *h);

/* From the posted form; false with faults.  Texts live as long as the call. */
bool ask_read(struct call *call, struct ask *ask);
/* What the request would be; false with a fault when it would be too large to count. */
bool ask_preview(
    struct call *call, const struct ask *ask, struct request_row *row);

bool ask_is_snapped(const struct request_row *request);
void ask_write_facts(
    struct call *call, struct html *h, const struct request_row *request);
/* Drawn to scale with its margin; id: unique on the page. */
void ask_write_picture(struct call *call, struct html *h,
    const struct request_row *request, const char *id);

#endif
