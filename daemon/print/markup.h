/* SPDX-License-Identifier: MIT */
/* The one function that puts text into SVG: content and attribute values alike. */
#ifndef PRINT_MARKUP_H
#define PRINT_MARKUP_H

#include "text.h"

/* Escapes & < > " and ', and leaves out what XML 1.0 cannot hold. */
void markup_text(struct text *out, const char *s);

#endif
