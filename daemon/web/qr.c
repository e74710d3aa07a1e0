/* SPDX-License-Identifier: MIT */
/*
 * qr.c - the modules of a code as one path, black on white, with the quiet zone of four
 * modules that the standard asks for.
 */
#include "qr.h"

#include <qrencode.h>

#define QUIET 4

static void add_title(struct text *out, const char *title)
{
	for (; *title; title++)
		if ((*title >= 'a' && *title <= 'z') ||
		    (*title >= 'A' && *title <= 'Z') || *title == ' ')
			text_add_char(out, *title);
}

/* One run of dark modules in a row: "M3 4h5v1h-5z". */
static void add_runs(struct text *out, const QRcode *code, int y)
{
	for (int x = 0; x < code->width; x++) {
		int from = x;

		while (x < code->width && (code->data[y * code->width + x] & 1))
			x++;
		if (x > from)
			text_addf(out, "M%d %dh%dv1h-%dz", from + QUIET,
			    y + QUIET, x - from, x - from);
	}
}

bool qr_svg(const char *text, const char *title, struct text *out)
{
	QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);

	if (!code)
		return false;
	int side = code->width + 2 * QUIET;
	text_addf(out,
	    "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" "
	    "width=\"%d\" height=\"%d\" role=\"img\" aria-label=\"",
	    side, side, side * 6, side * 6);
	add_title(out, title);
	text_addf(out,
	    "\"><rect width=\"%d\" height=\"%d\" fill=\"#fff\"/><path "
	    "fill=\"#000\" shape-rendering=\"crispEdges\" d=\"",
	    side, side);
	for (int y = 0; y < code->width; y++)
		add_runs(out, code, y);
	text_add(out, "\"/></svg>");
	QRcode_free(code);
	return text_fits(out);
}
