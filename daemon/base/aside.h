/* SPDX-License-Identifier: MIT */
/*
 * A log that has grown old is put aside as PATH.old, and what was aside before goes.
 *
 * A line begins with its day: "2026-11-21...".  Turned whenever its first line is older than
 * some days, no line is kept longer than twice as many.
 */
#ifndef BASE_ASIDE_H
#define BASE_ASIDE_H

#include <stdbool.h>

enum aside_way {
	ASIDE_RENAME, /* who writes it opens it again */
	ASIDE_COPY    /* who writes it appends to it for ever: it is emptied */
};

/* True when the log began before the day and was put aside.  One that is not there, is empty or
 * does not begin with a day is left alone, and so is one that cannot be moved. */
bool aside_put(const char *path, const char *day, enum aside_way way);

#endif
