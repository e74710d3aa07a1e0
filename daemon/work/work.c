/* SPDX-License-Identifier: MIT */
/*
 * work.c - looks for jobs whenever one may be there: announced, freed, or after a while.
 *
 * One slot asks at a time; when it got a job the next one asks, until nothing is left.
 * The look after a while is what takes up jobs whose worker died, which nobody announces.
 */
#include "work.h"

#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include "alloc.h"
#include "log.h"
#include "slot.h"
#include "store.h"

#define POLL_MS 5000
#define RETRY_MS 2000

static void poll_later(struct work *work)
{
	struct timeval t = {
	    work->config.poll_ms / 1000, work->config.poll_ms % 1000 * 1000};
	event_add(work->poll, &t);
}

void work_look_after(struct work *work, int64_t ms)
{
	struct timeval t = {ms / 1000, ms % 1000 * 1000 + 999};
	if (ms < work->config.poll_ms)
		event_add(work->poll, &t);
}

static void on_poll(evutil_socket_t fd, short what, void *ctx)
{
	struct work *work = ctx;
	(void)fd;
	(void)what;
	poll_later(work);
	work_look(work);
}

static void on_announced(void *ctx, const char *payload)
{
	(void)payload;
	work_look(ctx);
}

void work_look(struct work *work)
{
	if (work->draining)
		return;
	if (work->looking) {
		work->look_again = true;
		return;
	}
	for (int i = 0; i < work->config.workers; i++)
		if (work->slots[i].state == SLOT_FREE) {
			work->looking = true;
			work->look_again = false;
			slot_take(&work->slots[i]);
			return;
		}
}

static bool is_idle(const struct work *work)
{
	for (int i = 0; i < work->config.workers; i++)
		if (work->slots[i].state != SLOT_FREE)
			return false;
	return true;
}

/* A slot became free: after a job there may be another, after a fruitless look only when
 * something was announced meanwhile. */
void work_slot_changed(struct work *work)
{
	if (work->draining && is_idle(work) && work->drained) {
		work_done_fn *fn = work->drained;
		work->drained = NULL;
		fn(work->drained_ctx);
	} else if (work->look_again) {
		work_look(work);
	}
}

bool work_new(struct event_base *base, struct store *store,
    const struct work_config *config, struct work **out, struct err *err)
{
	if (config->workers < 1 || config->seconds < 1 ||
	    config->lease_seconds < 3) {
		err_set(err, ERR_INPUT,
		    "a worker needs at least 1 child, 1 second and a lease of "
		    "3");
		return false;
	}
	if (access(config->program, X_OK) < 0)
		return err_set(
		    err, ERR_INPUT, "cannot start \"%s\"", config->program);
	struct work *work = xcalloc(1, sizeof(*work));
	work->base = base;
	work->store = store;
	work->config = *config;
	work->program = xstrdup(config->program);
	work->name = xstrdup(config->name);
	if (work->config.poll_ms <= 0)
		work->config.poll_ms = POLL_MS;
	if (work->config.retry_ms <= 0)
		work->config.retry_ms = RETRY_MS;
	signal(SIGPIPE, SIG_IGN);
	work->slots = xcalloc((size_t)config->workers, sizeof(struct slot));
	for (int i = 0; i < config->workers; i++)
		slot_init(&work->slots[i], work, i);
	work->poll = evtimer_new(base, on_poll, work);
	poll_later(work);
	store_listen(store, JOB_CHANNEL, on_announced, work);
	work_look(work);
	*out = work;
	return true;
}

void work_drain(struct work *work, work_done_fn *fn, void *ctx)
{
	work->draining = true;
	work->drained = fn;
	work->drained_ctx = ctx;
	for (int i = 0; i < work->config.workers; i++)
		slot_drain(&work->slots[i]);
	work_slot_changed(work);
}

void work_delete(struct work *work)
{
	if (!work)
		return;
	for (int i = 0; i < work->config.workers; i++)
		slot_free(&work->slots[i]);
	event_free(work->poll);
	free(work->slots);
	free(work->program);
	free(work->name);
	free(work);
}
