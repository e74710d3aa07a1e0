/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as text, attribute, address and picture of a page: the page keeps its shape.
 */
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "html.h"

#define MUST(what)                                                             \
	do {                                                                   \
		if (!(what)) {                                                 \
			fprintf(stderr, "not true: %s\n", #what);              \
			abort();                                               \
		}                                                              \
	} while (0)

/* "<p title=...>...</p>\n" has its own two pairs of quotes and angle brackets, and no more. */
static void check_page(const char *s)
{
	struct html h;
	size_t angles = 0, quotes = 0;

	html_init(&h);
	html_open(&h, "a", "title", s, "href", s, NULL);
	html_text(&h, s);
	html_close(&h, "a");
	MUST(html_is_whole(&h));
	MUST(utf8_is_valid(h.out.data, h.out.len));
	for (const char *p = h.out.data; *p; p++) {
		angles += *p == '<' || *p == '>';
		quotes += *p == '"';
		MUST((unsigned char)*p >= ' ' || *p == '\n' || *p == '\t');
	}
	MUST(angles == 4 && quotes == 4);
	MUST(strstr(h.out.data, "href=\"/") || strstr(h.out.data, "href=\"#") ||
	     strstr(h.out.data, "href=\"?"));
	MUST(!strstr(h.out.data, "href=\"//"));
	html_free(&h);
}

static void check_picture(const char *s, size_t size)
{
	if (!svg_is_plain(s, size))
		return;
	MUST(utf8_is_valid(s, size));
	MUST(!memmem(s, size, "<script", 7) && !memmem(s, size, "<!", 2));
	MUST(!memmem(s, size, "<image", 6));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	char *s = malloc(size + 1);

	if (!s)
		return 0;
	memcpy(s, data, size);
	s[size] = '\0';
	check_page(s);
	check_picture(s, size);
	free(s);
	return 0;
}
