/* SPDX-License-Identifier: MIT */
/*
 * migrate.c - the program's own migrations, for scripts: migrate CONNINFO.
 */
#include <stdio.h>

#include "schema.h"

int main(int argc, char **argv)
{
	struct err err;
	if (argc != 2) {
		fprintf(stderr, "usage: migrate CONNINFO\n");
		return 2;
	}
	if (schema_migrate(argv[1], &err))
		return 0;
	fprintf(stderr, "%s %s\n", err.text, err.hint);
	return 1;
}
