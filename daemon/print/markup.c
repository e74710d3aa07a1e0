/* SPDX-License-Identifier: MIT */
/* markup.c - text into SVG. */
#include "markup.h"

size_t markup_noncharacter(const char *s)
{
	const unsigned char *p = (const unsigned char *)s;

	/* EF B7 90 to AF, and EF BF BE or BF */
	if (p[0] == 0xef)
		return (p[1] == 0xb7 && p[2] >= 0x90 && p[2] <= 0xaf) ||
			       (p[1] == 0xbf && p[2] >= 0xbe)
			   ? 3
			   : 0;
	/* xxFFFE and xxFFFF beyond the first plane: F? ?F BF BE or BF */
	if (p[0] >= 0xf0 && (p[1] & 0x0f) == 0x0f && p[2] == 0xbf &&
	    p[3] >= 0xbe)
		return 4;
	return 0;
}

void markup_text(struct text *out, const char *s)
{
	for (; *s; s++) {
		size_t n = markup_noncharacter(s);
		if (n > 0) {
			text_add(out, "\xef\xbf\xbd");
			s += n - 1;
			continue;
		}
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
