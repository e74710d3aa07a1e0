/* SPDX-License-Identifier: MIT */
/* markup.c - text into SVG. */
#include "markup.h"

void markup_text(struct text *out, const char *s)
{
	for (; *s; s++) {
		switch (*s) {
		case '&':
			text_add(out, "&amp;");
			break;
		case '<':
			text_add(out, "&lt;");
			break;
		case '>':
			text_add(out, "&gt;");
			break;
		case '"':
			text_add(out, "&quot;");
			break;
		case '\'':
			text_add(out, "&#39;");
			break;
		default:
			if ((unsigned char)*s >= 0x20)
				text_add_char(out, *s);
		}
	}
}
