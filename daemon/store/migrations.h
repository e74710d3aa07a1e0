/* SPDX-License-Identifier: MIT */
/*
 * The numbered files of sql/, as they were when the program was built (embed.cmake).
 */
#ifndef STORE_MIGRATIONS_H
#define STORE_MIGRATIONS_H

#include <stddef.h>

struct migration {
	int number; /* 1, 2, ... without gaps */
	const char *name;
	const char *sql; /* terminated */
	size_t len;
};

extern const struct migration migrations[];
extern const size_t n_migrations;

#endif
