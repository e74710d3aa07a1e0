/* SPDX-License-Identifier: MIT */
/*
 * What one loop's web keeps: for the files of this folder.
 */
#ifndef WEB_WEB_INNER_H
#define WEB_WEB_INNER_H

#include "web.h"

struct failures;
struct drawer;

struct web {
	struct event_base *base;
	struct store *store;
	struct web_config config; /* strings are ours */
	struct failures *failures;
	struct drawer *drawer;
	char *refusal; /* the body last given to http */
};

#endif
