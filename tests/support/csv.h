/* SPDX-License-Identifier: MIT */
/*
 * Reads the small CSV files (RFC 4180) that tests compare with.
 *
 *     struct csv *csv = csv_open(DATA_DIR "/trade/checks.csv");
 *     while (csv_next(csv))
 *             ... csv_field(csv, 0) ...
 *     csv_close(csv);
 *
 * A file that cannot be opened ends the test program.  Fields are borrowed until the next row.
 */
#ifndef SUPPORT_CSV_H
#define SUPPORT_CSV_H

#include <stdbool.h>
#include <stddef.h>

struct csv;

struct csv *csv_open(const char *path);
bool csv_next(struct csv *csv);
size_t csv_width(const struct csv *csv);
/* "" beyond the last field. */
const char *csv_field(const struct csv *csv, size_t i);
void csv_close(struct csv *csv);

#endif
