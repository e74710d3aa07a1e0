/* SPDX-License-Identifier: MIT */
/*
 * How often an address has shown a bad key, code or sign-in within the last minute.
 *
 * Only failures are counted, by address (IPv6: by /64, since one host has as many as it
 * likes); a good key goes on from the same address.  A minute begins with the first failure.
 * May be called from several threads: the loops of one process count together.
 */
#ifndef WEB_FAILURES_H
#define WEB_FAILURES_H

#include <stdbool.h>
#include <stdint.h>

struct failures;

struct failures *failures_new(int max_a_minute);
void failures_delete(struct failures *f); /* NULL is fine */

/* Count one; true when the address had its number before.  now: seconds, monotonic. */
bool failures_count(struct failures *f, const char *address, int64_t now);

#endif
