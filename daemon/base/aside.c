/* SPDX-License-Identifier: MIT */
/*
 * aside.c - a log that has grown old.
 *
 * Two files and a rename hold the promise: were old lines cut out of the one file, whoever
 * writes to it at that moment would lose some.  What is emptied in place may lose the lines
 * written between its copy and its end; nothing but PostgreSQL's own log is.
 */
#include "aside.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "alloc.h"

#define DAY_LENGTH 10 /* "2026-11-21" */

static bool is_day(const char *s)
{
	for (int i = 0; i < DAY_LENGTH; i++)
		if (i == 4 || i == 7 ? s[i] != '-' : s[i] < '0' || s[i] > '9')
			return false;
	return true;
}

static bool begins_before(int fd, const char *day)
{
	char first[DAY_LENGTH];

	return pread(fd, first, sizeof(first), 0) == DAY_LENGTH &&
	       is_day(first) && memcmp(first, day, DAY_LENGTH) < 0;
}

static bool copy(int from, const char *to)
{
	char block[65536];
	int out = open(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
	ssize_t n = out < 0 ? -1 : 0;
	off_t at = 0;

	while (out >= 0 && (n = pread(from, block, sizeof(block), at)) > 0) {
		if (write(out, block, (size_t)n) != n) {
			n = -1;
			break;
		}
		at += n;
	}
	if (out >= 0)
		close(out);
	return n == 0;
}

bool aside_put(const char *path, const char *day, enum aside_way way)
{
	size_t size = strlen(path) + sizeof(".old");
	char *old = xmalloc(size);
	int fd = open(path, O_RDWR | O_CLOEXEC);
	bool ok = fd >= 0 && begins_before(fd, day);

	snprintf(old, size, "%s.old", path);
	if (ok && way == ASIDE_RENAME)
		ok = rename(path, old) == 0;
	else if (ok)
		ok = copy(fd, old) && ftruncate(fd, 0) == 0;
	if (fd >= 0)
		close(fd);
	free(old);
	return ok;
}
