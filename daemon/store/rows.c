/* SPDX-License-Identifier: MIT */
/*
 * rows.c - parameters out, rows in, driven by tables.
 *
 * Everything travels as text but bytes, which go out as they are: text is what the server's
 * own input functions check, and a row is read once.  Connections run in UTC with ISO
 * dates, so an instant is cut from "2026-11-21 09:30:00.5+00" to "2026-11-21T09:30:00Z".
 */
#include "question.h"

#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "text.h"

#define INSTANT_DIGITS 19 /* "2026-11-21 09:30:00" */

static const struct column int_columns[] = {{"n", COLUMN_INT, 0, NULL, 0}};
const struct shape int_shape = {sizeof(int64_t), int_columns, 1};
static const struct column bool_columns[] = {{"yes", COLUMN_BOOL, 0, NULL, 0}};
const struct shape bool_shape = {sizeof(int64_t), bool_columns, 1};

static const char *instant(struct arena *arena, const char *text)
{
	if (strlen(text) < INSTANT_DIGITS)
		return text;
	char *out = arena_alloc(arena, INSTANT_DIGITS + 2);
	memcpy(out, text, INSTANT_DIGITS);
	out[10] = 'T';
	out[INSTANT_DIGITS] = 'Z';
	return out;
}

static int64_t place_of(const char *const words[], const char *word)
{
	for (int64_t i = 0; words[i]; i++)
		if (strcmp(words[i], word) == 0)
			return i;
	return -1;
}

const char *word_of(const char *const words[], int64_t place)
{
	for (int64_t i = 0; words[i]; i++)
		if (i == place)
			return words[i];
	assert(!"no such word");
	return NULL;
}

/* "\x0a1b" */
static size_t unhex(struct arena *arena, const char *text, unsigned char **out)
{
	size_t len = strlen(text) < 2 ? 0 : (strlen(text) - 2) / 2;
	*out = arena_alloc(arena, len + 1);
	for (size_t i = 0; i < len; i++)
		(*out)[i] = (unsigned char)(hex_value(text[2 + 2 * i]) * 16 +
					    hex_value(text[3 + 2 * i]));
	return len;
}

/* Writing through memcpy: the row is a struct that only its table knows. */
static bool decode_one(const struct column *column, const char *text,
    struct arena *arena, char *row)
{
	int64_t number = 0;
	bool yes = false;
	const char *string = NULL;
	switch (column->type) {
	case COLUMN_INT:
		number = text ? strtoll(text, NULL, 10) : 0;
		memcpy(row + column->offset, &number, sizeof(number));
		return true;
	case COLUMN_BOOL:
		yes = text && *text == 't';
		memcpy(row + column->offset, &yes, sizeof(yes));
		return true;
	case COLUMN_TEXT:
		memcpy(row + column->offset, &text, sizeof(text));
		return true;
	case COLUMN_INSTANT:
		string = text ? instant(arena, text) : NULL;
		memcpy(row + column->offset, &string, sizeof(string));
		return true;
	case COLUMN_WORD:
		number = text ? place_of(column->words, text) : 0;
		memcpy(row + column->offset, &number, sizeof(number));
		return number >= 0;
	case COLUMN_BYTES: {
		unsigned char *bytes = NULL;
		size_t len = text ? unhex(arena, text, &bytes) : 0;
		memcpy(row + column->offset, &bytes, sizeof(bytes));
		memcpy(row + column->length_offset, &len, sizeof(len));
		return true;
	}
	}
	return false;
}

bool rows_decode(const PGresult *res, const struct shape *shape,
    struct arena *arena, const void **rows, struct err *err)
{
	int n = PQntuples(res);
	*rows = NULL;
	if (!shape || n == 0)
		return true;
	char *all = arena_array(arena, (size_t)n, shape->size);
	for (size_t c = 0; c < shape->n_columns; c++) {
		const struct column *column = &shape->columns[c];
		int at = PQfnumber(res, column->name);
		if (at < 0)
			return err_set(err, ERR_INTERNAL,
			    "answer has no column \"%s\"", column->name);
		for (int r = 0; r < n; r++) {
			const char *text = PQgetisnull(res, r, at)
					       ? NULL
					       : PQgetvalue(res, r, at);
			if (!decode_one(column, text, arena,
				all + (size_t)r * shape->size))
				return err_set(err, ERR_INTERNAL,
				    "column \"%s\" holds \"%.40s\"",
				    column->name, text);
		}
	}
	*rows = all;
	return true;
}

static int next(struct given *given)
{
	assert(given->n < GIVEN_MAX);
	return given->n++;
}

void give_int(struct given *given, int64_t value)
{
	int i = next(given);
	snprintf(
	    given->numbers[i], sizeof(given->numbers[i]), "%" PRId64, value);
	given->values[i] = given->numbers[i];
	given->formats[i] = 0;
}

void give_int_or_null(struct given *given, int64_t value)
{
	if (value != 0)
		give_int(given, value);
	else
		give_text(given, NULL);
}

void give_bool(struct given *given, bool value)
{
	give_text(given, value ? "t" : "f");
}

void give_text(struct given *given, const char *value)
{
	int i = next(given);
	given->values[i] = value;
	given->formats[i] = 0;
}

void give_text_or_empty(struct given *given, const char *value)
{
	give_text(given, value ? value : "");
}

void give_bytes(struct given *given, const void *value, size_t len)
{
	assert(len <= INT32_MAX);
	int i = next(given);
	given->values[i] = len > 0 ? value : "";
	given->lengths[i] = (int)len;
	given->formats[i] = 1;
}

void give_page(struct given *given, struct page page)
{
	give_int(given, page.after);
	give_int(given, page.limit);
}
