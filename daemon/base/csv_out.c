/* SPDX-License-Identifier: MIT */
/*
 * csv_out.c - cells and rows.
 *
 * Whether a cell is the first of its row is read off the text itself, so that there is
 * nothing to begin and nothing to forget.  An empty text is written as "" in quotes: a row of
 * one empty cell would otherwise be an empty line, which readers skip.
 */
#include "csv_out.h"

#include <string.h>

static void separate(struct text *out)
{
	if (out->len > 0 && out->data[out->len - 1] != '\n')
		text_add_char(out, ',');
}

bool csv_is_dangerous(const char *s)
{
	static const char *const starts[] = {"=", "+", "-", "@", "\t", "\r",
	    "\n", "\xEF\xBC\x9D", "\xEF\xBC\x8B", "\xEF\xBC\x8D",
	    "\xEF\xBC\xA0"};

	for (size_t i = 0; i < sizeof(starts) / sizeof(starts[0]); i++)
		if (strncmp(s, starts[i], strlen(starts[i])) == 0)
			return true;
	return false;
}

void csv_text(struct text *out, const char *s)
{
	separate(out);
	text_add_char(out, '"');
	if (s != NULL && csv_is_dangerous(s))
		text_add_char(out, '\'');
	for (; s != NULL && *s; s++) {
		if (*s == '"')
			text_add_char(out, '"');
		text_add_char(out, *s);
	}
	text_add_char(out, '"');
}

void csv_number(struct text *out, int64_t value)
{
	separate(out);
	text_addf(out, "%lld", (long long)value);
}

void csv_id(struct text *out, int64_t id)
{
	if (id == 0)
		csv_text(out, NULL);
	else
		csv_number(out, id);
}

void csv_figure(struct text *out, const char *figure)
{
	separate(out);
	text_add(out, figure);
}

void csv_end(struct text *out)
{
	text_add(out, "\r\n");
}
