/* SPDX-License-Identifier: MIT */
/*
 * web.c - one web a loop: made, asked, deleted.
 */
#include "web.h"

#include <jansson.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "answer.h"
#include "call.h"
#include "drawer.h"
#include "failures.h"
#include "web_inner.h"

/* What an address may do wrong it may once in a process, whichever loop hears it. */
static struct {
	pthread_mutex_t lock;
	struct failures *failures;
	int users;
} shared = {.lock = PTHREAD_MUTEX_INITIALIZER};

static struct failures *failures_borrow(int max_a_minute)
{
	pthread_mutex_lock(&shared.lock);
	if (shared.users++ == 0)
		shared.failures = failures_new(max_a_minute);
	pthread_mutex_unlock(&shared.lock);
	return shared.failures;
}

static void failures_return(void)
{
	pthread_mutex_lock(&shared.lock);
	if (--shared.users == 0)
		failures_delete(shared.failures);
	pthread_mutex_unlock(&shared.lock);
}

bool web_new(struct event_base *base, struct store *store,
    const struct web_config *config, struct web **out, struct err *err)
{
	struct web *web = xcalloc(1, sizeof(*web));

	(void)err;
	json_object_seed(0);
	web->base = base;
	web->store = store;
	web->config = *config;
	if (config->origin != NULL)
		web->config.origin = xstrdup(config->origin);
	if (web->config.plans_running <= 0) { /* not said */
		web->config.plans_running = 1;
		web->config.plans_waiting = 3;
	}
	if (web->config.failures_a_minute <= 0)
		web->config.failures_a_minute = 60;
	web->failures = failures_borrow(web->config.failures_a_minute);
	web->drawer = drawer_new(
	    base, web->config.plans_running + web->config.plans_waiting);
	*out = web;
	return true;
}

void web_delete(struct web *web)
{
	if (web == NULL)
		return;
	drawer_delete(web->drawer);
	failures_return();
	free((char *)(uintptr_t)web->config.origin);
	free(web->refusal);
	free(web);
}

void web_handle(struct http_request *req, void *ctx)
{
	call_start(ctx, req);
}

void web_refusal(void *ctx, int status, const char *detail, const char *hint,
    const char *id, const char **type, const char **body, size_t *len)
{
	struct web *web = ctx;
	struct err err = {0};

	err_set(&err, ERR_INPUT, "%s", detail == NULL ? "" : detail);
	if (hint != NULL)
		err_hint(&err, "%s", hint);
	free(web->refusal);
	web->refusal =
	    trouble_body(trouble_of_status(status), status, &err, NULL, 0, id);
	*type = "application/problem+json; charset=utf-8";
	*body = web->refusal;
	*len = strlen(web->refusal);
}
