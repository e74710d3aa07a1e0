/* SPDX-License-Identifier: MIT */
/*
 * Many small things with one end: allocated one by one, freed together.
 *
 *     struct arena *a = arena_new(limit);
 *     struct strip *s = arena_alloc(a, n * sizeof(*s));     zeroed, aligned for any type
 *     arena_delete(a);
 *
 * limit is the most bytes the arena may hold.  Going over it is a broken promise
 * of the caller, who bounds the input first, and ends the process.
 */
#ifndef BASE_ARENA_H
#define BASE_ARENA_H

#include <stddef.h>

struct arena;

struct arena *arena_new(size_t limit);
/*
 * From now on *held counts the bytes that this arena has taken, those so far included, and
 * is lowered again by arena_delete(): many arenas may share one count, so that their owner
 * can end his work in time.  held must outlive the arena.
 */
void arena_meter(struct arena *a, size_t *held);
void arena_delete(struct arena *a); /* NULL is fine */

void *arena_alloc(struct arena *a, size_t size)
    __attribute__((returns_nonnull));
/* n * size is checked for overflow. */
void *arena_array(struct arena *a, size_t n, size_t size)
    __attribute__((returns_nonnull));
char *arena_strdup(struct arena *a, const char *s)
    __attribute__((returns_nonnull));
char *arena_strndup(struct arena *a, const char *s, size_t len)
    __attribute__((returns_nonnull));
char *arena_printf(struct arena *a, const char *fmt, ...)
    __attribute__((format(printf, 2, 3), returns_nonnull));

#endif
