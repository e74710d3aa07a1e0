/* SPDX-License-Identifier: MIT */
/*
 * Rows of comma-separated values (RFC 4180, UTF-8, CR LF), safe to be opened in a table
 * program: such a program takes a cell that begins with = + - @ (also their full-width
 * forms), a tab or a line end for a formula and runs it.  A *text* that begins so gets an
 * apostrophe before it; numbers, which may well begin with a minus, are written as they are.
 *
 *     csv_text(out, name); csv_number(out, -120); csv_end(out);
 */
#ifndef BASE_CSV_OUT_H
#define BASE_CSV_OUT_H

#include <stdint.h>

#include "text.h"

/* NULL is an empty cell. */
void csv_text(struct text *out, const char *s);
void csv_number(struct text *out, int64_t value);
/* An empty cell for 0: an id that is not there. */
void csv_id(struct text *out, int64_t id);
/* A figure that somebody has written: digits, point, minus. */
void csv_figure(struct text *out, const char *figure);
void csv_end(struct text *out);

/* True when a text that begins like s gets an apostrophe. */
bool csv_is_dangerous(const char *s);

#endif
