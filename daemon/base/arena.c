/* SPDX-License-Identifier: MIT */
/*
 * arena.c - blocks that grow by doubling, freed together.
 *
 * A plan or an answer is thousands of small things with one owner; freeing them one
 * by one is where double frees come from.  Large things get a block of their own, so
 * that the block in use is not thrown away half empty.
 */
#include "arena.h"

#include <assert.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stdbool.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define FIRST_BLOCK 4096
#define LARGEST_BLOCK (1 << 20)
#define ALIGNMENT alignof(max_align_t)

struct block {
	struct block *next;
	size_t used, size;
	alignas(max_align_t) unsigned char bytes[];
};

struct arena {
	struct block *blocks; /* the first is the one in use */
	size_t limit, total, next_size;
	size_t taken; /* by the blocks */
	size_t *held; /* NULL: nobody counts */
};

struct arena *arena_new(size_t limit)
{
	struct arena *a = xcalloc(1, sizeof(*a));
	a->limit = limit;
	a->next_size = FIRST_BLOCK;
	return a;
}

void arena_meter(struct arena *a, size_t *held)
{
	a->held = held;
	*held += a->taken;
}

void arena_delete(struct arena *a)
{
	if (!a)
		return;
	if (a->held)
		*a->held -= a->taken;
	for (struct block *b = a->blocks, *next; b; b = next) {
		next = b->next;
		free(b);
	}
	free(a);
}

static struct block *block_add(struct arena *a, size_t size, bool in_use)
{
	struct block *b = xcalloc(1, sizeof(*b) + size);
	b->size = size;
	a->taken += sizeof(*b) + size;
	if (a->held)
		*a->held += sizeof(*b) + size;
	if (in_use || !a->blocks) {
		b->next = a->blocks;
		a->blocks = b;
	} else {
		b->next = a->blocks->next;
		a->blocks->next = b;
	}
	return b;
}

void *arena_alloc(struct arena *a, size_t size)
{
	assert(size <= a->limit - a->total && "an arena grew beyond its limit");
	size_t need = (size + ALIGNMENT - 1) & ~(ALIGNMENT - 1);
	if (need == 0)
		need = ALIGNMENT;
	a->total += size;
	struct block *b = a->blocks;
	if (!b || b->size - b->used < need) {
		if (need > a->next_size / 2) {
			b = block_add(a, need, false);
		} else {
			b = block_add(a, a->next_size, true);
			if (a->next_size < LARGEST_BLOCK)
				a->next_size *= 2;
		}
	}
	void *p = b->bytes + b->used;
	b->used += need;
	return p;
}

void *arena_array(struct arena *a, size_t n, size_t size)
{
	size_t bytes = 0;
	bool over = __builtin_mul_overflow(n, size, &bytes);
	assert(!over && "an array larger than memory");
	(void)over;
	return arena_alloc(a, bytes);
}

char *arena_strndup(struct arena *a, const char *s, size_t len)
{
	char *p = arena_alloc(a, len + 1);
	memcpy(p, s, len);
	p[len] = '\0';
	return p;
}

char *arena_strdup(struct arena *a, const char *s)
{
	return arena_strndup(a, s, strlen(s));
}

char *arena_printf(struct arena *a, const char *fmt, ...)
{
	va_list ap, again;
	va_start(ap, fmt);
	va_copy(again, ap);
	int len = vsnprintf(NULL, 0, fmt, ap);
	va_end(ap);
	assert(len >= 0);
	char *p = arena_alloc(a, (size_t)len + 1);
	vsnprintf(p, (size_t)len + 1, fmt, again);
	va_end(again);
	return p;
}
