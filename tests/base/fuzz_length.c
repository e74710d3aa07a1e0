/* SPDX-License-Identifier: MIT */
/*
 * Whatever the parser takes, printing and parsing give it back in every system; whatever
 * it refuses, it says why.  The same bytes go through the log's escapes, which must leave
 * one line without control characters.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "log.h"
#include "measure.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(bool promise)
{
	if (!promise)
		abort();
}

static void check_length(const char *text, size_t len)
{
	struct err err = {0};
	length l = -1, back = -1;
	if (!length_parse(text, len, &l, &err)) {
		check(err.kind == ERR_INPUT && err.text[0] && l == -1);
		return;
	}
	check(l > 0 && l <= LENGTH_MAX);
	for (int sys = MEASURE_INCH; sys <= MEASURE_CM; sys++) {
		char buf[LENGTH_TEXT_MAX];
		length_print(buf, l, (enum measure_system)sys);
		check(length_parse(buf, strlen(buf), &back, &err) && back == l);
	}
}

static void check_money(const char *text, size_t len)
{
	struct err err = {0};
	money m, back;
	char buf[MONEY_TEXT_MAX];
	if (!money_parse(text, len, "KWD", &m, &err))
		return;
	money_print(buf, m, "KWD");
	check(money_parse(buf, strlen(buf), "KWD", &back, &err) && back == m);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	char buf[LOG_VALUE_MAX];
	char *text = malloc(size + 1);
	memcpy(text, data, size);
	text[size] = '\0';

	check_length(text, size);
	check_money(text, size);
	log_value(buf, text);
	for (const char *p = buf; *p; p++)
		check((unsigned char)*p >= 0x20 && *p != 0x7F);
	free(text);
	return 0;
}
