/* SPDX-License-Identifier: MIT */
/*
 * size: arithmetic with sizes, without any server.
 *
 *     tearshare size 9 x 12 1/2 in --margin 1/2in
 *
 * The margin is added on both sides, as the studio does; --ruler takes the torn size up to
 * the next step of that ruler.  Every length is shown in the three ways it can be written;
 * what inches cannot hold exactly stands behind a "~".
 */
#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "cli_columns.h"
#include "command.h"
#include "measure.h"
#include "sizes.h"
#include "status.h"

static bool read_length_option(struct call *call, const char *option, bool zero,
    length *out, struct err *err)
{
	const char *text = call_option(call, option);
	if (!text)
		return true;
	if (zero && strcmp(text, "0") == 0) {
		*out = 0;
		return true;
	}
	return zero ? length_parse_or_zero(text, strlen(text), out, err)
		    : length_parse(text, strlen(text), out, err);
}

static void add_ways(json_t *row, length l)
{
	char text[LENGTH_TEXT_MAX];
	length_print_about(text, l, INCH / 64, MEASURE_INCH);
	json_object_set_new(row, "in", json_string(text));
	json_object_set_new(
	    row, "cm", json_string(length_print(text, l, MEASURE_CM)));
	json_object_set_new(
	    row, "mm", json_string(length_print(text, l, MEASURE_MM)));
}

static json_t *side_row(const char *name, length finished, length torn)
{
	json_t *row =
	    json_pack("{s:s, s:{s:I}, s:{s:I}}", "side", name, "finished", "u",
		(json_int_t)finished, "torn", "u", (json_int_t)torn);
	add_ways(row, torn);
	return row;
}

static void say_sizes(struct call *call, const struct size *finished,
    const struct size *torn, enum measure_system sys)
{
	char a[SIZE_TEXT_MAX], b[SIZE_TEXT_MAX];
	if (memcmp(finished->side, torn->side, sizeof(torn->side)) != 0)
		fprintf(call->pen.out, "finished %s, torn %s\n",
		    size_print(a, finished, sys), size_print(b, torn, sys));
}

/* In inches when inches hold it all, else in millimetres. */
static enum measure_system natural(const struct size *a, const struct size *b)
{
	bool inches = true;
	for (int s = 0; s < a->sides; s++)
		inches = inches && a->side[s] % (INCH / 64) == 0 &&
			 b->side[s] % (INCH / 64) == 0;
	return inches ? MEASURE_INCH : MEASURE_MM;
}

static void show_size(
    struct call *call, const struct size *finished, const struct size *torn)
{
	static const char *const names[2][2] = {
	    {"length", ""}, {"across", "along"}};
	json_t *items = json_array();
	assert(torn->sides == 1 || torn->sides == 2);
	for (int s = 0; s < torn->sides; s++)
		json_array_append_new(
		    items, side_row(names[torn->sides - 1][s],
			       finished->side[s], torn->side[s]));
	if (call->pen.style == STYLE_PEOPLE)
		say_sizes(call, finished, torn, natural(finished, torn));
	json_t *list = json_pack("{s:o}", "items", items);
	call_show_list(call, list, "");
	json_decref(list);
}

bool cmd_size(struct call *call, struct err *err)
{
	struct size finished = {.sides = 1}, torn;
	length margin = 0, ruler = 1;
	char *text = call_words_from(call, 0);
	bool ok = size_parse(text, NULL, &finished, err) &&
		  read_length_option(call, "margin", true, &margin, err) &&
		  read_length_option(call, "ruler", false, &ruler, err);
	torn = finished;
	ok = ok && size_add_margin(&torn, margin, err);
	if (ok) {
		for (int s = 0; s < torn.sides; s++)
			torn.side[s] = length_snap_up(torn.side[s], ruler);
		show_size(call, &finished, &torn);
	}
	free(text);
	return ok;
}
