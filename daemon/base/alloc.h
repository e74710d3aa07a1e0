/* SPDX-License-Identifier: MIT */
/*
 * Memory that is there or ends the process: input is bounded before anything is
 * allocated for it, the database holds the truth, and the service manager starts
 * us again.  Everything returned is the caller's to free().
 */
#ifndef BASE_ALLOC_H
#define BASE_ALLOC_H

#include <stddef.h>

void *xmalloc(size_t size) __attribute__((malloc, returns_nonnull));
void *xcalloc(size_t n, size_t size) __attribute__((malloc, returns_nonnull));
/* n * size is checked for overflow. */
void *xrealloc(void *old, size_t n, size_t size)
    __attribute__((returns_nonnull));
char *xstrdup(const char *s) __attribute__((malloc, returns_nonnull));
char *xstrndup(const char *s, size_t len)
    __attribute__((malloc, returns_nonnull));

#endif
