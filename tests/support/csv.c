/* SPDX-License-Identifier: MIT */
/*
 * csv.c - rows of quoted fields, read a character at a time.
 */
#include "csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define FIELDS_MAX 32
#define ROW_MAX 65536

struct csv {
	FILE *file;
	char row[ROW_MAX];
	size_t start[FIELDS_MAX];
	size_t n;
};

struct csv *csv_open(const char *path)
{
	struct csv *csv = xcalloc(1, sizeof(*csv));
	csv->file = fopen(path, "r");
	if (!csv->file) {
		perror(path);
		abort();
	}
	return csv;
}

/* One field into row at *len; returns what ended it: ',', '\n' or EOF. */
static int read_field(struct csv *csv, size_t *len)
{
	bool quoted = false;
	for (;;) {
		int c = getc(csv->file);
		if (c == '"') {
			int next = getc(csv->file);
			if (quoted && next == '"') {
				csv->row[(*len)++] = '"';
				continue;
			}
			ungetc(next, csv->file);
			quoted = !quoted;
		} else if (c == EOF || (!quoted && (c == ',' || c == '\n'))) {
			csv->row[(*len)++] = '\0';
			return c;
		} else if (quoted || c != '\r') {
			csv->row[(*len)++] = (char)c;
		}
		if (*len >= ROW_MAX - 1)
			abort();
	}
}

bool csv_next(struct csv *csv)
{
	size_t len = 0;
	csv->n = 0;
	int end;
	do {
		if (csv->n == FIELDS_MAX)
			abort();
		csv->start[csv->n++] = len;
		end = read_field(csv, &len);
	} while (end == ',');
	return !(end == EOF && csv->n == 1 && len == 1);
}

size_t csv_width(const struct csv *csv)
{
	return csv->n;
}

const char *csv_field(const struct csv *csv, size_t i)
{
	return i < csv->n ? csv->row + csv->start[i] : "";
}

void csv_close(struct csv *csv)
{
	fclose(csv->file);
	free(csv);
}
