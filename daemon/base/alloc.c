/* SPDX-License-Identifier: MIT */
/*
 * alloc.c - memory or the end.
 *
 * Handling a failed malloc in every function would be code that never runs and is
 * never right.  We stop at once instead; nothing acknowledged is lost by that.
 */
#include "alloc.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void out_of_memory(void)
{
	static const char message[] = "out of memory\n";
	ssize_t n = write(STDERR_FILENO, message, sizeof(message) - 1);
	(void)n;
	abort();
}

void *xmalloc(size_t size)
{
	void *p = malloc(size ? size : 1);
	if (!p)
		out_of_memory();
	return p;
}

void *xcalloc(size_t n, size_t size)
{
	void *p = calloc(n ? n : 1, size ? size : 1);
	if (!p)
		out_of_memory();
	return p;
}

void *xrealloc(void *old, size_t n, size_t size)
{
	size_t bytes;
	if (__builtin_mul_overflow(n, size, &bytes))
		out_of_memory();
	void *p = realloc(old, bytes ? bytes : 1);
	if (!p)
		out_of_memory();
	return p;
}

char *xstrdup(const char *s)
{
	return xstrndup(s, strlen(s));
}

char *xstrndup(const char *s, size_t len)
{
	if (len == SIZE_MAX)
		out_of_memory();
	char *p = xmalloc(len + 1);
	memcpy(p, s, len);
	p[len] = '\0';
	return p;
}
