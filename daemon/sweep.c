/* SPDX-License-Identifier: MIT */
/*
 * sweep.c - the daemon's regular cleaning.
 *
 * How long things are kept stands in one place, the view retention of sql/015_privacy.sql; the
 * database deletes by its own clock and tells from which day on logs are still young.  Any
 * daemon may do it, and several do it one at a time; one that cannot tries again later.
 */
#include "sweep.h"

#include <event2/event.h>
#include <stdlib.h>

#include "alloc.h"
#include "aside.h"
#include "log.h"
#include "privacy.h"

#define EVERY_SECONDS (6 * 3600)

struct sweep {
	struct store *store;
	struct store_tx *tx;
	struct event *timer;
	char *private_log;
	struct swept_row swept; /* its day is not kept */
};

static void on_committed(void *ctx, const struct err *err)
{
	const struct sweep *s = ctx;
	const struct swept_row *r = &s->swept;
	enum log_level level =
	    r->answers + r->sessions + r->invitations + r->members > 0
		? LOG_INFO
		: LOG_DEBUG;

	if (!err)
		log_event(level, "swept",
		    "answers=%lld sessions=%lld invitations=%lld members=%lld",
		    (long long)r->answers, (long long)r->sessions,
		    (long long)r->invitations, (long long)r->members);
}

static void put_logs_aside(const struct sweep *s, const char *day)
{
	log_turn(day);
	if (s->private_log)
		aside_put(s->private_log, day, ASIDE_COPY);
}

static void on_swept(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct sweep *s = ctx;
	char shown[LOG_VALUE_MAX];

	if (err || n == 0) {
		log_event(LOG_WARN, "not-swept", "reason=%s",
		    log_value(shown, err ? err->text : "no answer"));
		store_rollback(s->tx);
		return;
	}
	s->swept = *(const struct swept_row *)rows;
	put_logs_aside(s, s->swept.log_day);
	s->swept.log_day = NULL;
	store_commit(s->tx, on_committed, s);
}

static void on_begun(void *ctx, struct store_tx *tx, const struct err *err)
{
	struct sweep *s = ctx;

	s->tx = tx;
	if (!err)
		store_sweep(tx, on_swept, s);
}

static void on_time(evutil_socket_t fd, short what, void *ctx)
{
	struct sweep *s = ctx;
	struct timeval later = {EVERY_SECONDS, 0};

	(void)fd, (void)what;
	event_add(s->timer, &later);
	store_begin(s->store, on_begun, s);
}

struct sweep *sweep_new(
    struct event_base *base, struct store *store, const char *private_log)
{
	struct sweep *s = xcalloc(1, sizeof(*s));
	struct timeval now = {0, 0};

	s->store = store;
	s->private_log = private_log ? xstrdup(private_log) : NULL;
	s->timer = evtimer_new(base, on_time, s);
	event_add(s->timer, &now);
	return s;
}

void sweep_delete(struct sweep *sweep)
{
	if (!sweep)
		return;
	event_free(sweep->timer);
	free(sweep->private_log);
	free(sweep);
}
