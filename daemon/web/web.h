/* SPDX-License-Identifier: MIT */
/*
 * The web: one handler a route, between http/, store/ and the cores.
 *
 * routes.c holds the one table of routes (method, path, who may, what it needs); rights
 * are decided from it and from the database before a handler runs.
 */
#ifndef WEB_WEB_H
#define WEB_WEB_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "err.h"

struct event_base;
struct http_request;
struct store;
struct web;

struct web_config {
	const char *
	    origin; /* "https://studio.example:8443": for links and the form check; NULL: from Host */
	bool secure;                      /* cookies are __Host- and Secure */
	int plans_running, plans_waiting; /* per studio: 1 and 3 */
	int failures_a_minute; /* bad keys and codes per address: 60 */
};

bool web_new(struct event_base *base, struct store *store,
    const struct web_config *config, struct web **out,
    struct err *err) MUST_USE;
void web_delete(struct web *web);

/* For http_server_new(): the handler and the writer of refusals; ctx is the struct web. */
void web_handle(struct http_request *req, void *ctx);
void web_refusal(void *ctx, int status, const char *detail, const char *hint,
    const char *id, const char **type, const char **body, size_t *len);

/* 32 random bytes as text with its prefix ("tsk_" + base64url), and the SHA-256 of the text. */
#define WEB_KEY_TEXT 48
void web_key_make(char key[static WEB_KEY_TEXT], unsigned char hash[static 32]);

#endif
