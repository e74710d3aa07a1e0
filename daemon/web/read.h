/* SPDX-License-Identifier: MIT */
/*
 * Values out of a posted form.  What is wrong becomes a fault at the field, and reading goes
 * on, so that one answer names all that is wrong; call_is_faulty() ends the call.
 *
 * Pages say "the name is missing": label is the word for it, small, with its article.
 */
#ifndef WEB_READ_H
#define WEB_READ_H

#include "call.h"
#include "measure.h"

/* One line of text without the spaces around it, at most max signs; "" when it may lack. */
const char *read_line(struct call *call, const char *name, const char *label,
    bool needed, size_t max);
/* A whole number; -1 with a fault when it is none of min..max. */
int64_t read_number(struct call *call, const char *name, const char *label,
    int64_t min, int64_t max);
/* "2026-11-28"; NULL when it may lack. */
const char *read_day(
    struct call *call, const char *name, const char *label, bool needed);
/* "12 1/2 in"; empty: 0 when zero is a size too. */
length read_length(
    struct call *call, const char *name, const char *label, bool zero);
/* "192.00" in the studio's currency. */
money read_money(struct call *call, const char *name, const char *label);

#endif
