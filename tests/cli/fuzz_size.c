/* SPDX-License-Identifier: MIT */
/*
 * Sizes: whatever is typed is read or refused with a reason; what was read and written again
 * reads back the same.
 */
#include <assert.h>
#include <stdint.h>
#include <string.h>

#include "sizes.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	char text[256], again[LENGTH_TEXT_MAX];
	struct size read, back;
	struct err err = {.kind = ERR_NONE};
	if (size < 1 || size > sizeof(text))
		return 0;
	memcpy(text, data + 1, size - 1);
	text[size - 1] = '\0';
	if (!size_parse(text, data[0] & 1 ? "in" : NULL, &read, &err)) {
		assert(err.text[0] && err.kind == ERR_INPUT);
		return 0;
	}
	for (int s = 0; s < read.sides; s++) {
		assert(read.side[s] > 0 && read.side[s] <= LENGTH_MAX);
		size_print_side(again, &read, s);
		assert(size_parse(again, NULL, &back, &err));
		assert(back.sides == 1 && back.side[0] == read.side[s]);
	}
	return 0;
}
