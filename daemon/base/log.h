/* SPDX-License-Identifier: MIT */
/*
 * The log: one event a line, key=value, UTC, ids always.
 *
 *     log_event(LOG_INFO, "request-done", "req=%s status=%d", id, status);
 *     2026-11-21T09:30:00.123Z level=info event=request-done req=7f3a status=201
 *
 * Values that come from outside are passed through log_value(), which quotes and
 * escapes them and cuts them at 200 bytes, so that no input can forge a line.
 * No secret is ever passed to the log.
 */
#ifndef BASE_LOG_H
#define BASE_LOG_H

#include <stdbool.h>
#include <stddef.h>

#include "err.h"

enum log_level { LOG_DEBUG, LOG_INFO, LOG_WARN, LOG_ERROR };

/* path NULL: standard error.  The file is made with mode 0640.  false leaves the log as it was. */
bool log_open(const char *path, enum log_level least, struct err *err) MUST_USE;
/* Open the same path again (after rotation); keeps the old file when that fails. */
void log_reopen(void);
/* A log that begins before the day ("2026-11-21") is put aside and begun anew: aside.h. */
void log_turn(const char *day);
void log_close(void);

void log_event(enum log_level level, const char *event, const char *fmt, ...)
    PRINTF_LIKE(3, 4);

#define LOG_VALUE_MAX 840 /* 200 bytes, each \xHH, quotes and a terminator */
/* Quoted and escaped copy of value in buf; returns buf. */
const char *log_value(char buf[static LOG_VALUE_MAX], const char *value);

#endif
