/* SPDX-License-Identifier: MIT */
/*
 * The one function that puts text into SVG, content and attribute values alike; and the
 * signs that are valid UTF-8 but no text.
 */
#ifndef PRINT_MARKUP_H
#define PRINT_MARKUP_H

#include <stddef.h>

#include "text.h"

/* The look of sheet_html(), made from sheet.css. */
extern const char sheet_css[];

/* Escapes & < > " and ', and leaves out what XML 1.0 cannot hold. */
void markup_text(struct text *out, const char *s);

/*
 * Bytes of the noncharacter at s (U+FDD0-FDEF, and the last two of each plane), or 0.
 * Unicode keeps them for a program's own use; cairo refuses a whole PDF for one, and XML
 * cannot hold some.
 */
size_t markup_noncharacter(const char *s);

#endif
