/* SPDX-License-Identifier: MIT */
/*
 * Instants as people type and read them, in the studio's time zone.
 */
#ifndef CLI_WHEN_H
#define CLI_WHEN_H

#include "err.h"

#define WHEN_TEXT_MAX 64

/*
 * "2026-11-27 17:00" (in the zone), "2026-11-27" (its last minute) or RFC 3339 with an
 * offset, to RFC 3339 in UTC.  zone NULL or unknown to this machine: an offset is needed.
 */
bool when_parse(const char *text, const char *zone,
    char out[static WHEN_TEXT_MAX], struct err *err) MUST_USE;

/* "2026-11-27 12:00 EST"; text that is no instant comes back as it is.  Returns buf. */
const char *when_print(
    char buf[static WHEN_TEXT_MAX], const char *instant, const char *zone);

/* "2026-11-27" is a day of the calendar. */
bool day_check(const char *text, struct err *err) MUST_USE;

#endif
