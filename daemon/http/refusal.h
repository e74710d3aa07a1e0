/* SPDX-License-Identifier: MIT */
/*
 * A refusal by the strict check: which status, what was wrong, what to do.
 *
 * detail and hint are printable ASCII: what is quoted from the request is masked and cut.
 */
#ifndef HTTP_REFUSAL_H
#define HTTP_REFUSAL_H

#include <stdbool.h>

#include "err.h"

struct refusal {
	int status; /* 0: none */
	char detail[256];
	char hint[256];
};

/* Fill r; always returns false.  hint may be NULL. */
bool refuse(struct refusal *r, int status, const char *hint, const char *fmt,
    ...) PRINTF_LIKE(4, 5);

#endif
