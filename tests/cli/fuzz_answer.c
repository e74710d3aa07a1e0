/* SPDX-License-Identifier: MIT */
/*
 * The command line on answers no server would send.
 *
 * Input: a byte that chooses status and way of showing, header lines up to an empty line,
 * then the body.  Whatever comes: no crash, every refusal has a text and an exit status of the
 * table, and nothing that is written can steer a terminal.
 */
#include <assert.h>
#include <locale.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli_answer.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "status.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const long answers[] = {
    200, 201, 204, 301, 401, 403, 404, 409, 412, 422, 429, 500, 503, 799};

static void check_text(const char *text, const char *allowed)
{
	size_t len = strlen(text);
	char *copy = malloc(len + 1);
	assert(copy && utf8_is_valid(text, len));
	for (size_t i = 0; i <= len; i++)
		copy[i] = text[i] && strchr(allowed, text[i]) ? ' ' : text[i];
	assert(utf8_is_line(copy, len));
	free(copy);
}

static void show(const json_t *value, enum style style)
{
	char *text = NULL;
	size_t len = 0;
	FILE *out = open_memstream(&text, &len);
	struct paper_and_pen pen = {
	    .out = out, .style = style, .width = 80, .zone = "UTC"};
	for (const struct command *c = commands; c->name; c++) {
		if (!c->columns)
			continue;
		table_write(&pen, c->columns, json_object_get(value, "items"));
		record_write(&pen, c->columns, value);
	}
	json_write(out, value);
	fclose(out);
	check_text(text, "\n\t");
	free(text);
}

static size_t feed_headers(struct answer *a, const char *at, size_t size)
{
	size_t used = 0;
	while (used < size) {
		const char *end = memchr(at + used, '\n', size - used);
		size_t len = end ? (size_t)(end - at) - used + 1 : size - used;
		answer_add_header(a, at + used, len);
		used += len;
		if (len <= 2)
			break;
	}
	return used;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct answer a = {.retry_after = -1};
	struct err err = {.kind = ERR_NONE}, other;
	static bool ready;
	if (!ready)
		ready = setlocale(LC_CTYPE, "C.UTF-8") != NULL;
	if (size < 1)
		return 0;
	a.status = answers[data[0] % (sizeof(answers) / sizeof(*answers))];
	size_t used = 1 + feed_headers(&a, (const char *)data + 1, size - 1);
	a.len = size - used;
	a.body = malloc(a.len + 1);
	assert(a.body);
	memcpy(a.body, data + used, a.len);
	a.body[a.len] = '\0';
	if (answer_judge(&a, &err)) {
		if (a.json)
			show(a.json, (enum style)(data[0] / 16 % 3));
		find_by_name(
		    json_object_get(a.json, "items"), "an", "member", &other);
	} else {
		assert(err.text[0] && status_exit(&err) >= 64);
		check_text(err.text, "\n");
		check_text(err.hint, "\n");
	}
	answer_free(&a);
	return 0;
}
