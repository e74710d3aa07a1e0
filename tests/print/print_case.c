/* SPDX-License-Identifier: MIT */
/*
 * print_case FOLDER FORM - print one case of tests/golden to standard output.
 *
 * FORM: text, pdf, svg (the first page), picture (the first roll, for a
 * web page), commands, json, html, page (html that stands alone), labels (as PDF).  "letter"
 * and "large" after it change the paper, "both" adds the other measure, "far" pulls what stays,
 * a number is the page of an SVG, "de" the language.  Used by tests/golden/renew, by the test that compares with
 * the files there, and by the checks of a PDF from outside.
 */
#include "case.h"
#include "picture.h"

static bool print_labels(struct sheet *sheet, struct print_case *c,
    struct text *out, struct err *err)
{
	struct label_grid grid = label_grid_default(c->input.page);
	return sheet_labels_pdf(sheet, &grid, out, err);
}

int main(int argc, char **argv)
{
	struct print_case c;
	struct text out;
	struct err err = {0};
	bool ok = true;
	size_t number = 1;

	if (argc < 3) {
		fprintf(stderr, "usage: print_case FOLDER FORM\n");
		return 2;
	}
	case_read(&c, argv[1]);
	for (int i = 3; i < argc; i++) {
		if (strcmp(argv[i], "letter") == 0)
			c.input.page = SHEET_LETTER;
		else if (strcmp(argv[i], "large") == 0)
			c.input.large = true;
		else if (strcmp(argv[i], "both") == 0)
			c.input.both = true;
		else if (strcmp(argv[i], "far") == 0)
			c.input.pull = PULL_FAR;
		else if (strcmp(argv[i], "de") == 0)
			c.input.language = "de";
		else
			number = strtoul(argv[i], NULL, 10);
	}
	struct sheet *sheet = sheet_new(&c.input);
	text_init(&out, TEAR_SHEET_MAX);
	if (strcmp(argv[2], "text") == 0)
		sheet_text(sheet, &out);
	else if (strcmp(argv[2], "pdf") == 0)
		ok = sheet_pdf(sheet, &out, &err);
	else if (strcmp(argv[2], "svg") == 0)
		ok = sheet_svg(sheet, number, &out, &err);
	else if (strcmp(argv[2], "picture") == 0)
		plan_picture_svg(sheet, 0, 0, SIZE_MAX, "p", &out);
	else if (strcmp(argv[2], "labels") == 0)
		ok = print_labels(sheet, &c, &out, &err);
	else if (strcmp(argv[2], "html") == 0)
		sheet_html(sheet, "s", &out);
	else if (strcmp(argv[2], "page") == 0)
		sheet_html_page(sheet, &out);
	else if (strcmp(argv[2], "json") == 0)
		sheet_json(sheet, &out);
	else if (strcmp(argv[2], "commands") == 0)
		sheet_commands(sheet, &out);
	else
		ok = err_set(&err, ERR_INPUT, "unknown form \"%s\"", argv[2]);
	if (ok)
		fwrite(out.data, 1, out.len, stdout);
	else
		fprintf(stderr, "print_case: %s\n", err.text);
	text_free(&out);
	sheet_delete(sheet);
	case_free(&c);
	print_shutdown();
	return ok ? 0 : 1;
}
