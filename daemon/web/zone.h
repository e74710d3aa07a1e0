/* SPDX-License-Identifier: MIT */
/*
 * Instants and the clock on the studio's wall: from UTC to the local time of a zone and back,
 * by the system's time zone files (TZif, RFC 8536).
 *
 * The C library can do this for one zone at a time and for the whole process at once; pages of
 * several studios are written by several threads, so the file is read here.
 */
#ifndef WEB_ZONE_H
#define WEB_ZONE_H

#include <stdbool.h>

#define ZONE_TEXT 24

/* "2026-11-27T22:00:00Z" in "America/New_York" is "2026-11-27T17:00".  False when the zone is
 * not known or the instant is none. */
bool zone_to_local(
    const char *zone, const char *instant, char local[static ZONE_TEXT]);
/*
 * "2026-11-27T17:00" back to "2026-11-27T22:00:00Z".  A time that the clock shows twice
 * is the first of the two; one that it leaps over is taken by the offset before the leap.
 */
bool zone_to_instant(
    const char *zone, const char *local, char instant[static ZONE_TEXT]);

#endif
