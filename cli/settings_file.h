/* SPDX-License-Identifier: MIT */
/*
 * The small files of the settings folder: read whole, written whole or not at all.
 */
#ifndef CLI_SETTINGS_FILE_H
#define CLI_SETTINGS_FILE_H

#include <stddef.h>

#include "err.h"

#define SMALL_FILE_MAX 16384

/* folder/name; yours to free. */
char *file_path(const char *folder, const char *name);
/* Makes the folder and those above it, ours with mode 0700. */
bool file_make_folder(const char *folder, struct err *err) MUST_USE;
/* *out is NULL when there is no such file, otherwise yours. */
bool file_read_all(const char *path, char **out, struct err *err) MUST_USE;
/* Mode 0600, written beside its place and renamed. */
bool file_write_all(
    const char *path, const char *text, struct err *err) MUST_USE;
/* Any bytes to a path a person named ("-": standard output). */
bool file_write_answer(
    const char *path, const void *bytes, size_t len, struct err *err) MUST_USE;

#endif
