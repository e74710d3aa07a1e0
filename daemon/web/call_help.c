/* SPDX-License-Identifier: MIT */
/*
 * call_help.c - small things that handlers need.
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "call_inner.h"
#include "journal.h"
#include "web_inner.h"

void *call_alloc(struct call *call, size_t size)
{
	return arena_alloc(call->arena, size);
}

char *call_printf(struct call *call, const char *fmt, ...)
{
	va_list ap, again;
	char *text = NULL;
	int len = 0;

	va_start(ap, fmt);
	va_copy(again, ap);
	len = vsnprintf(NULL, 0, fmt, ap);
	va_end(ap);
	text = arena_alloc(call->arena, (size_t)len + 1);
	vsnprintf(text, (size_t)len + 1, fmt, again);
	va_end(again);
	return text;
}

struct cleanup {
	struct cleanup *next;
	void (*fn)(void *what);
	void *what;
};

void call_on_free(struct call *call, void (*fn)(void *what), void *what)
{
	struct cleanup *c = call_alloc(call, sizeof(*c));

	*c = (struct cleanup){
	    .next = call->inner->cleanups, .fn = fn, .what = what};
	call->inner->cleanups = c;
}

void call_clean_up(struct call *call)
{
	for (struct cleanup *c = call->inner->cleanups; c != NULL; c = c->next)
		c->fn(c->what);
	call->inner->cleanups = NULL;
}

int64_t call_only_member(const struct call *call)
{
	return call->own_only ? call->caller.member_id : 0;
}

const char *call_origin(struct call *call)
{
	if (call->web->config.origin != NULL)
		return call->web->config.origin;
	return call_printf(call, "%s://%s",
	    http_is_tls(call->req) || call->web->config.secure ? "https"
							       : "http",
	    http_host(call->req));
}

/* ---- the query ---- */

static const char *pointer_of(struct call *call, const char *name)
{
	return call_printf(call, "?%s", name);
}

const char *call_query(struct call *call, const char *name)
{
	return form_get(&call->inner->query, name);
}

int64_t call_query_number(struct call *call, const char *name, int64_t min,
    int64_t max, int64_t fallback)
{
	const char *text = call_query(call, name);
	int64_t n = 0;

	if (text == NULL)
		return fallback;
	n = form_number(&call->inner->query, name, -1);
	if (n < min || n > max) {
		call_fault(call, pointer_of(call, name),
		    call_printf(call, "Give a whole number from %lld to %lld.",
			(long long)min, (long long)max),
		    "%s \"%.40s\" is out of range", name, text);
		return fallback;
	}
	return n;
}

struct page call_query_page(struct call *call)
{
	return (struct page){
	    .after = call_query_number(call, "after", 0, INT64_MAX / 16, 0),
	    .limit = (int)call_query_number(call, "limit", 1, 100, 50),
	};
}

static bool is_known(const char *name, const char *const *known)
{
	for (; *known != NULL; known++)
		if (strcmp(name, *known) == 0)
			return true;
	return false;
}

void call_query_only(struct call *call, const char *const *known)
{
	const struct form *query = &call->inner->query;

	for (size_t i = 0; i < query->n; i++)
		if (!is_known(query->pairs[i].name, known))
			call_fault(call, pointer_of(call, "query"),
			    "Leave it out.",
			    "the query has an unknown part \"%.40s\"",
			    query->pairs[i].name);
}

/* ---- events ---- */

static void on_event(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;

	(void)rows;
	(void)n;
	if (call_failed(call, err))
		return;
	call->inner->after_event(call);
}

static const char *details_text(struct call *call, json_t *details)
{
	char *text = details == NULL ? NULL : json_dumps(details, JSON_COMPACT);
	const char *copy =
	    text == NULL ? "{}" : arena_strdup(call->arena, text);

	free(text);
	json_decref(details);
	return copy;
}

/* It goes out with the commit, in one message; a second one sends the first ahead. */
void call_event(struct call *call, const char *kind, int64_t workshop_id,
    int64_t member_id, json_t *details, call_fn *next)
{
	struct call_inner *in = call->inner;
	struct event_row before = in->event;
	bool had_event = in->has_event;

	in->has_event = true;
	in->event = (struct event_row){
	    .studio_id = call->caller.studio_id,
	    .workshop_id = workshop_id,
	    .member_id = member_id,
	    .by_member = call->caller.member_id,
	    .kind = kind,
	    .details = details_text(call, details),
	};
	if (!had_event) {
		next(call);
		return;
	}
	in->after_event = next;
	store_event_add(call->tx, &before, on_event, call);
}
