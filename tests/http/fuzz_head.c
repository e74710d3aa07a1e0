/* SPDX-License-Identifier: MIT */
/*
 * Guard and strict check on any octets: split at a place the input chooses the verdict is
 * the same, and what passes holds what later parts rely on.
 */
#include <assert.h>
#include <stdint.h>
#include <string.h>

#include "strict.h"
#include "text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_head(const struct head *head)
{
	assert(head->path[0] == '/');
	assert(!strpbrk(head->path, " ?#\\\r\n"));
	assert(head->length <= 1000);
	assert(head->minor == 1 || head->close);
	for (size_t i = 0; i < head->n_fields; i++) {
		assert(head->fields[i].name[0]);
		assert(!strpbrk(head->fields[i].value, "\r\n"));
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	const struct strict_rules rules = {.body_max = 1000};
	const char *octets = (const char *)data + 1;
	struct guard whole, parts;
	struct refusal r = {.status = 0};
	struct head head;
	size_t used, more = 0, used_parts, split;

	if (size < 2)
		return 0;
	split = data[0] * (size - 1) / 256;
	guard_init(&whole);
	guard_init(&parts);
	guard_feed(&whole, octets, size - 1, &used);
	guard_feed(&parts, octets, split, &used_parts);
	guard_feed(&parts, octets + used_parts, size - 1 - used_parts, &more);
	assert(parts.verdict == whole.verdict && used_parts + more == used);
	assert(!strcmp(parts.head.data, whole.head.data));
	assert(parts.refusal.status == whole.refusal.status);
	if (whole.verdict == GUARD_DONE &&
	    strict_read_head(
		whole.head.data, whole.head.len, &rules, &head, &r)) {
		check_head(&head);
		head_free(&head);
	} else if (whole.verdict == GUARD_DONE) {
		assert(r.status >= 400 && r.detail[0]);
	}
	guard_free(&whole);
	guard_free(&parts);
	/* The check alone is given only what the guard passed, but must not fall over. */
	if (strict_read_head(octets, size - 1, &rules, &head, &r))
		head_free(&head);
	return 0;
}
