/* SPDX-License-Identifier: MIT */
/*
 * The roles that must be there before the first migration.
 */
#ifndef STORE_BOOTSTRAP_H
#define STORE_BOOTSTRAP_H

#include <stdbool.h>

#include <libpq-fe.h>

#include "err.h"

#define ROLE_NAME_OWNER "tearshare_owner"
#define ROLE_NAME_DAEMON "tearshare_daemon"

/* Makes those that are missing, when the connected role may; otherwise says what to run.  A
 * superuser also sets the rights on the database: nothing for PUBLIC. */
bool bootstrap_roles(PGconn *conn, struct err *err) MUST_USE;

#endif
