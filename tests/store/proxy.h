/* SPDX-License-Identifier: MIT */
/*
 * A wire between the store and PostgreSQL that can be cut at a chosen moment.
 */
#ifndef TESTS_STORE_PROXY_H
#define TESTS_STORE_PROXY_H

#include <event2/event.h>

enum proxy_cut {
	PROXY_WHOLE,
	PROXY_SWALLOW_QUESTION, /* the next bytes to the server are lost, and the link */
	PROXY_SWALLOW_ANSWER, /* they arrive; the next bytes back are lost, and the link */
};

struct proxy;

/* Listens in folder (as port 5433) for a server in to_folder (port 5432). */
struct proxy *proxy_new(
    struct event_base *base, const char *folder, const char *to_folder);
/* What happens to the next bytes; afterwards it is whole again for new links ... */
void proxy_cut(struct proxy *proxy, enum proxy_cut cut);
/* ... unless it takes no new links. */
void proxy_refuse(struct proxy *proxy, int refuse);
int proxy_cuts(const struct proxy *proxy); /* how many were made */
void proxy_delete(struct proxy *proxy);

#endif
