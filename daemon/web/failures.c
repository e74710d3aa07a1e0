/* SPDX-License-Identifier: MIT */
/*
 * failures.c - a small table of addresses with a counter each.
 *
 * Fixed size, so that an attacker with many addresses costs no memory: an address falls on
 * one of four neighbouring places; when all are taken the one whose minute began first
 * gives way.  The hash is keyed with a random number, so nobody can choose to share a place
 * with somebody else.
 */
#include "failures.h"

#include <arpa/inet.h>
#include <openssl/rand.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"

#define PLACES 4096 /* a power of two */
#define NEIGHBOURS 4
#define MINUTE 60

struct place {
	unsigned char address[16];
	int64_t since;
	int count; /* 0: free */
};

struct failures {
	pthread_mutex_t lock;
	int max;
	uint64_t salt;
	struct place places[PLACES];
};

struct failures *failures_new(int max_a_minute)
{
	struct failures *f = xcalloc(1, sizeof(*f));

	pthread_mutex_init(&f->lock, NULL);
	f->max = max_a_minute;
	if (RAND_bytes((unsigned char *)&f->salt, sizeof(f->salt)) != 1)
		abort();
	return f;
}

void failures_delete(struct failures *f)
{
	if (f != NULL)
		pthread_mutex_destroy(&f->lock);
	free(f);
}

/* IPv4 as IPv4-mapped, IPv6 cut to its /64, anything else (a unix socket) as one address. */
static void address_read(const char *text, unsigned char out[static 16])
{
	struct in_addr four;
	struct in6_addr six;

	memset(out, 0, 16);
	if (inet_pton(AF_INET, text, &four) == 1) {
		memset(out + 10, 0xff, 2);
		memcpy(out + 12, &four, 4);
	} else if (inet_pton(AF_INET6, text, &six) == 1) {
		memcpy(out, &six, IN6_IS_ADDR_V4MAPPED(&six) ? 16 : 8);
	}
}

static size_t place_of(
    const struct failures *f, const unsigned char address[static 16])
{
	uint64_t h = f->salt ^ UINT64_C(0xcbf29ce484222325);

	for (int i = 0; i < 16; i++)
		h = (h ^ address[i]) * UINT64_C(0x100000001b3);
	h ^= h >> 32;
	h *= f->salt | 1;
	return (size_t)(h >> 40) & (PLACES - 1);
}

static bool count(
    struct failures *f, const unsigned char key[static 16], int64_t now)
{
	size_t first = place_of(f, key);
	struct place *mine = NULL;

	for (size_t i = 0; i < NEIGHBOURS; i++) {
		struct place *p = &f->places[(first + i) & (PLACES - 1)];

		if (p->count > 0 && memcmp(p->address, key, 16) == 0) {
			mine = p;
			break;
		}
		if (mine == NULL || p->count == 0 ||
		    (mine->count > 0 && p->since < mine->since))
			mine = p;
	}
	if (mine->count == 0 || memcmp(mine->address, key, 16) != 0 ||
	    now - mine->since >= MINUTE) {
		memcpy(mine->address, key, 16);
		mine->since = now;
		mine->count = 0;
	}
	if (mine->count >= f->max)
		return true;
	mine->count++;
	return false;
}

bool failures_count(struct failures *f, const char *address, int64_t now)
{
	unsigned char key[16];
	bool too_many = false;

	address_read(address, key);
	pthread_mutex_lock(&f->lock);
	too_many = count(f, key, now);
	pthread_mutex_unlock(&f->lock);
	return too_many;
}
