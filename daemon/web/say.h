/* SPDX-License-Identifier: MIT */
/*
 * How the pages say sizes, money, days and numbers of things.  All results live as long as the
 * call.
 */
#ifndef WEB_SAY_H
#define WEB_SAY_H

#include "call.h"
#include "measure.h"

/* In the studio's way of writing lengths: "12 1/2 in". */
const char *say_length(struct call *call, length l);
/* "9 1/2 × 12 1/2 in": the unit once when both have the same. */
const char *say_size(struct call *call, length across, length along);
/* "1187.50 sq in", "76.61 dm2": two decimals, for showing. */
const char *say_area(struct call *call, area a);
/* In the studio's currency and its way of writing: "1,162.00 USD", "1.162,00 EUR". */
const char *say_money(struct call *call, money m);
/* "1 sheet", "10 sheets": one and many are whole words. */
const char *say_count(
    struct call *call, int64_t n, const char *one, const char *many);
/* A message of an error as a sentence: capital letter, full stop. */
const char *say_sentence(struct call *call, const char *text);
/* "2026-11-28" as "Sat 28 November 2026"; what is no day comes back as it is. */
const char *say_day(struct call *call, const char *day);
/* The closing time in the studio's time zone: "Fri 27 November 2026, 17:00". */
const char *say_closing(struct call *call, const struct workshop_row *workshop);
/* Any instant in the studio's time zone, the same way. */
const char *say_instant(struct call *call, const char *instant);
/* "student, treasurer" */
const char *say_roles(struct call *call, int64_t roles);
/* "open", "closed", ... with what it means for the reader */
const char *say_state(const struct workshop_row *workshop);

#endif
