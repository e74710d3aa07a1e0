/* SPDX-License-Identifier: MIT */
/*
 * A link as a QR code (ISO/IEC 18004), drawn as SVG: to be held up before a class.
 */
#ifndef WEB_QR_H
#define WEB_QR_H

#include <stdbool.h>

#include "text.h"

/* title: what a screen reader says.  False when the text is too long for a code. */
bool qr_svg(const char *text, const char *title, struct text *out);

#endif
