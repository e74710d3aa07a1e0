/* SPDX-License-Identifier: MIT */
/*
 * feed.c - octets in, heads and bodies out.
 *
 * What arrives is taken out of the library's input before the library looks at it, and
 * held.  When a head is complete and has passed both checks, the library is given a head
 * of our own writing with nothing of the client's in it but the length of the body:
 *
 *     POST /17 HTTP/1.1          17: the connection's place in our table
 *     Content-Length: 42
 *
 * followed by the body as it comes.  So there is one reader of heads, ours, and whatever
 * the library forgives never reaches it.  A refused head is replaced by `GET /17`: the
 * request callback finds the refusal waiting and answers with it, in our words.
 *
 * Octets after the body belong to the next request and stay with us until this one is
 * answered (RFC 9112, 9.3.2).
 */
#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/event.h>
#include <string.h>

#include "log.h"
#include "server.h"

/* Move octets to the library's input without seeing them as news from the client.  A
 * socket's input is frozen but while it reads. */
static void give(struct conn *c, struct evbuffer *from, size_t len)
{
	struct evbuffer *input = bufferevent_get_input(c->bev);

	c->feeding = true;
	evbuffer_unfreeze(input, 0);
	evbuffer_remove_buffer(from, input, len);
	c->feeding = false;
}

static void give_head(struct conn *c)
{
	struct evbuffer *head = evbuffer_new();

	evbuffer_add_printf(head, "%s /%zu HTTP/1.1\r\n",
	    c->head.length ? "POST" : "GET", c->slot);
	if (c->head.length)
		evbuffer_add_printf(
		    head, "Content-Length: %zu\r\n", c->head.length);
	if (c->head.length && c->head.expects_continue)
		evbuffer_add(head, "Expect: 100-continue\r\n", 22);
	evbuffer_add(head, "\r\n", 2);
	give(c, head, evbuffer_get_length(head));
	evbuffer_free(head);
}

static void drop(struct evbuffer *buffer)
{
	evbuffer_drain(buffer, evbuffer_get_length(buffer));
}

/* The rest of a body that will not come: the library waits for so many octets. */
static void fill_body(struct conn *c)
{
	static const char zeros[4096];
	struct evbuffer *fill = evbuffer_new();

	for (size_t n = c->head.length; n > 0;
	     n -= n < sizeof(zeros) ? n : sizeof(zeros))
		evbuffer_add_reference(fill, zeros,
		    n < sizeof(zeros) ? n : sizeof(zeros), NULL, NULL);
	give(c, fill, evbuffer_get_length(fill));
	evbuffer_free(fill);
}

void feed_refuse(struct conn *c)
{
	bool in_body = c->state == CONN_BODY;

	conn_enter(c, CONN_REFUSED);
	c->close = true;
	drop(c->held);
	if (in_body) {
		fill_body(c);
	} else {
		head_free(&c->head);
		give_head(c);
	}
	bufferevent_trigger(c->bev, EV_READ, BEV_TRIG_IGNORE_WATERMARKS);
}

static void begin(struct conn *c)
{
	size_t here = evbuffer_get_length(c->held);

	c->close = c->head.close;
	c->fresh = false;
	conn_enter(c, CONN_BODY);
	give_head(c);
	give(c, c->held, here < c->head.length ? here : c->head.length);
}

static void refuse_arriving(struct conn *c)
{
	conn_enter(c, CONN_REFUSED);
	c->close = true;
	drop(c->held);
	give_head(c);
}

static void read_head(struct conn *c)
{
	const struct strict_rules rules = {
	    .body_max = c->server->config.body_max,
	    .names = c->server->config.names};
	const struct text *octets = &c->guard.head;

	head_free(&c->head);
	if (strict_read_head(
		octets->data, octets->len, &rules, &c->head, &c->refusal))
		begin(c);
	else
		refuse_arriving(c);
	guard_reset(&c->guard);
}

/* The time for the first head runs from the connection on, the handshake included. */
static void begin_head(struct conn *c)
{
	int64_t deadline = c->deadline;

	conn_enter(c, CONN_HEAD);
	if (c->fresh && !c->server->draining)
		c->deadline = deadline;
}

/* Feed what is held to the guard, one piece of the buffer after the other. */
void feed_next(struct conn *c)
{
	enum guard_verdict verdict = GUARD_MORE;

	while (verdict == GUARD_MORE && evbuffer_get_length(c->held) > 0) {
		size_t len = evbuffer_get_contiguous_space(c->held), used;
		const char *octets =
		    (const char *)evbuffer_pullup(c->held, (ev_ssize_t)len);

		verdict = guard_feed(&c->guard, octets, len, &used);
		evbuffer_drain(c->held, used);
	}
	if (verdict == GUARD_DONE) {
		read_head(c);
	} else if (verdict == GUARD_REFUSED) {
		c->refusal = c->guard.refusal;
		head_free(&c->head);
		refuse_arriving(c);
	} else if (c->state == CONN_IDLE && guard_has_begun(&c->guard)) {
		begin_head(c);
	}
}

void feed_on_input(
    struct evbuffer *input, const struct evbuffer_cb_info *info, void *ctx)
{
	struct conn *c = ctx;

	if (c->feeding || !info->n_added)
		return;
	switch (c->state) {
	case CONN_IDLE:
	case CONN_HEAD:
		evbuffer_add_buffer(c->held, input);
		feed_next(c);
		break;
	case CONN_DYING:
	case CONN_LINGER:
		drop(input);
		break;
	case CONN_REFUSED: /* behind our head; dropped when the answer has left */
	case CONN_BODY:
	case CONN_ANSWER:
	case CONN_WRITE:
		break;
	}
}
