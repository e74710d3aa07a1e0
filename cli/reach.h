/* SPDX-License-Identifier: MIT */
/*
 * Reach into a JSON value by a path of names: reach(o, "torn/across/u").
 *
 * What is not there, or of another type, reads as NULL, "", 0 or false: a server that is
 * newer or older than we are leaves gaps, never faults.  Everything is borrowed.
 */
#ifndef CLI_REACH_H
#define CLI_REACH_H

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

const json_t *reach(const json_t *o, const char *path);
const char *reach_text(const json_t *o, const char *path);
int64_t reach_int(const json_t *o, const char *path);
bool reach_true(const json_t *o, const char *path);

#endif
