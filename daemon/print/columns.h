/* SPDX-License-Identifier: MIT */
/*
 * Text in columns of a terminal: widths after Unicode's East Asian Width, breaking and
 * shortening only where a character ends.
 */
#ifndef PRINT_COLUMNS_H
#define PRINT_COLUMNS_H

#include <stddef.h>

#include "text.h"

#define COLUMNS 80

/* Columns that valid UTF-8 takes. */
size_t columns_of(const char *s);

/* At most `columns` of s, with "..." in the place of what is left out. */
void columns_add(struct text *out, const char *s, size_t columns);

/* As columns_add, then blanks up to `columns`. */
void columns_pad(struct text *out, const char *s, size_t columns);

/*
 * s broken at blanks into lines of at most COLUMNS, the first after `lead` (already as wide
 * as its columns), the others indented by `indent`.  A word wider than a line is broken.
 */
void columns_wrap(
    struct text *out, const char *lead, size_t indent, const char *s);

#endif
