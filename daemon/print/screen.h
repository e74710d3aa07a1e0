/* SPDX-License-Identifier: MIT */
/*
 * Text in columns of a terminal: widths after Unicode's East Asian Width, breaking and
 * shortening only where a character ends.
 */
#ifndef PRINT_SCREEN_H
#define PRINT_SCREEN_H

#include <stddef.h>

#include "text.h"

#define SCREEN_COLUMNS 80

/* Columns that valid UTF-8 takes. */
size_t screen_width(const char *s);

/* At most `columns` of s, with "..." in the place of what is left out. */
void screen_add(struct text *out, const char *s, size_t columns);

/* As screen_add, then blanks up to `columns`. */
void screen_pad(struct text *out, const char *s, size_t columns);

/*
 * s broken at blanks into lines of at most SCREEN_COLUMNS, the first after `lead` (already as wide
 * as its columns), the others indented by `indent`.  A word wider than a line is broken.
 */
void screen_wrap(
    struct text *out, const char *lead, size_t indent, const char *s);

#endif
