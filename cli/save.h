/* SPDX-License-Identifier: MIT */
/*
 * An answer of the server kept in a file, in the form that --pdf, --text or --csv names.
 */
#ifndef CLI_SAVE_H
#define CLI_SAVE_H

#include "cli_call.h"

/* True when one of the options was given: then save_form() is the answer. */
bool save_is_asked(const struct call *call);
/* path has its query or not; the file "-" is standard output. */
bool save_form(struct call *call, const char *path, struct err *err) MUST_USE;

#endif
