/* SPDX-License-Identifier: MIT */
/*
 * The schema: numbered files of sql/, compiled into the program, applied at start.
 *
 * Blocking; called once before the event loop.  One daemon migrates at a time (advisory
 * lock), each file in one transaction with its hash kept beside its number.
 */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

#include <stdbool.h>
#include <stdint.h>

#include "err.h"

/* Refuses (ERR_CONFLICT) a schema that is newer than this program or whose files differ. */
bool schema_migrate(const char *owner_conninfo, struct err *err) MUST_USE;
/* Is the schema the one this program knows?  For daemons without the owner's conninfo. */
bool schema_check(const char *conninfo, struct err *err) MUST_USE;
/* Make a studio with an owner and the hash of the owner's first key.  Blocking. */
bool schema_add_studio(const char *conninfo, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err) MUST_USE;
/* The same, but only when there is no studio yet: *studio_id is 0 when there is one.  Of several
 * daemons that start at once one makes it. */
bool schema_add_first_studio(const char *conninfo, const char *name,
    const unsigned char hash[32], int64_t *studio_id, struct err *err) MUST_USE;
/* Is there any studio yet? */
bool schema_has_studio(
    const char *conninfo, bool *has, struct err *err) MUST_USE;

#endif
