/* SPDX-License-Identifier: MIT */
/*
 * Instants (RFC 3339) and days (ISO 8601), read strictly: the database never sees a date that
 * does not exist.
 */
#ifndef WEB_WHEN_H
#define WEB_WHEN_H

#include <stdbool.h>

#include "err.h"

#define INSTANT_TEXT 24

/* "2026-11-27T17:00:00Z", "...-05:00": to UTC, whole seconds, years 2000 to 2199. */
bool instant_read(
    const char *text, char utc[static INSTANT_TEXT], struct err *err) MUST_USE;
/* "2026-11-28", years 2000 to 2199. */
bool day_read(const char *text, struct err *err) MUST_USE;

#define DAY_TEXT 20
/* "Sat 2026-11-28": a day that day_read() took, shifted by so many days (up to 400 either way). */
const char *day_print(const char *day, int shift, char out[static DAY_TEXT]);

#endif
