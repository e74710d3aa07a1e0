/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as the names on a tear sheet: text, page, JSON, SVG, PDF and labels keep their
 * shape.  What is plain in a page is decided by the reader of daemon/web, which shares nothing
 * with the writer here.
 */
#include <jansson.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "html.h"
#include "made.h"
#include "screen.h"
#include "sheet.h"

#define MUST(what)                                                             \
	do {                                                                   \
		if (!(what)) {                                                 \
			fprintf(stderr, "not true: %s\n", #what);              \
			abort();                                               \
		}                                                              \
	} while (0)

static void check_text(const struct sheet *sheet)
{
	struct text out;

	text_init(&out, TEAR_SHEET_MAX);
	sheet_text(sheet, &out);
	MUST(text_fits(&out) && utf8_is_valid(out.data, out.len));
	for (char *line = out.data, *end; *line; line = end + 1) {
		end = strchr(line, '\n');
		MUST(end != NULL);
		*end = '\0';
		MUST(utf8_is_line(line, strlen(line)));
		MUST(screen_width(line) <= SCREEN_COLUMNS);
	}
	text_free(&out);
}

static void check_markup(const struct sheet *sheet)
{
	struct text out;
	struct err err;

	text_init(&out, TEAR_SHEET_MAX);
	sheet_html(sheet, "s", &out);
	MUST(sheet_is_plain(out.data, out.len));
	text_reset(&out);
	for (size_t page = 1; page <= sheet_pages(sheet); page++) {
		MUST(sheet_svg(sheet, page, &out, &err));
		MUST(svg_is_plain(out.data, out.len));
		text_reset(&out);
	}
	sheet_html_page(sheet, &out);
	MUST(utf8_is_valid(out.data, out.len));
	MUST(!strstr(out.data, "<script"));
	text_free(&out);
}

static void check_files(const struct sheet *sheet)
{
	struct label_grid grid = label_grid_default(SHEET_A4);
	struct text out;
	struct err err;
	json_error_t error;

	text_init(&out, TEAR_SHEET_MAX);
	sheet_json(sheet, &out);
	json_t *json =
	    json_loadb(out.data, out.len, JSON_REJECT_DUPLICATES, &error);
	MUST(json != NULL);
	json_decref(json);
	text_reset(&out);
	MUST(sheet_pdf(sheet, &out, &err));
	MUST(memcmp(out.data, "%PDF-", 5) == 0);
	MUST(memcmp(out.data + out.len - 6, "%%EOF\n", 6) == 0);
	text_reset(&out);
	MUST(sheet_labels_pdf(sheet, &grid, &out, &err));
	text_free(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct made m;
	struct label_grid grid;
	struct err err;
	/* names end at a NUL; each kind of name gets its turn at each of them */
	char *bytes = calloc(size + 1, 1);
	const char *name[3] = {"", "", ""};
	size_t n = 0;

	if (!bytes)
		return 0;
	memcpy(bytes, data, size);
	for (size_t at = 0; at < size && n < 3; at += strlen(bytes + at) + 1)
		name[n++] = bytes + at;
	made_new(&m, 11);
	m.members[0].name = name[0];
	m.members[1].name = name[1];
	m.members[1].code = size % 2 ? "A2" : NULL;
	m.input.workshop = name[1];
	m.input.studio = name[2];
	m.input.rules = name[0];
	m.input.side_up = name[2];
	m.input.shelf_url = "https://studio.example/shelf/";
	m.input.language = size % 3 ? "en" : "de";
	struct sheet *sheet = sheet_new(&m.input);
	check_text(sheet);
	check_markup(sheet);
	check_files(sheet);
	sheet_delete(sheet);
	made_delete(&m);
	if (label_grid_read(name[0], SHEET_A4, &grid, &err))
		MUST(grid.columns * grid.rows > grid.skip);
	free(bytes);
	return 0;
}
