/* SPDX-License-Identifier: MIT */
/*
 * proxy.c - a wire that can be cut (proxy.h).
 */
#include "proxy.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/queue.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/listener.h>

#include "alloc.h"

struct wire {
	LIST_ENTRY(wire) link;
	struct proxy *proxy;
	struct bufferevent *client, *server;
};

struct proxy {
	struct event_base *base;
	struct evconnlistener *listener;
	struct sockaddr_un to;
	char path[108];
	LIST_HEAD(wire_list, wire) wires;
	enum proxy_cut cut;
	int refuse, cuts;
};

static void wire_close(struct wire *wire)
{
	LIST_REMOVE(wire, link);
	bufferevent_free(wire->client);
	bufferevent_free(wire->server);
	free(wire);
}

static void cut_now(struct wire *wire)
{
	wire->proxy->cut = PROXY_WHOLE;
	wire->proxy->cuts++;
	wire_close(wire);
}

static void on_client(struct bufferevent *bev, void *ctx)
{
	struct wire *wire = ctx;
	if (wire->proxy->cut == PROXY_SWALLOW_QUESTION) {
		cut_now(wire);
		return;
	}
	evbuffer_add_buffer(
	    bufferevent_get_output(wire->server), bufferevent_get_input(bev));
}

static void on_server(struct bufferevent *bev, void *ctx)
{
	struct wire *wire = ctx;
	if (wire->proxy->cut == PROXY_SWALLOW_ANSWER) {
		cut_now(wire);
		return;
	}
	evbuffer_add_buffer(
	    bufferevent_get_output(wire->client), bufferevent_get_input(bev));
}

static void on_event(struct bufferevent *bev, short what, void *ctx)
{
	(void)bev;
	if (what & (BEV_EVENT_EOF | BEV_EVENT_ERROR))
		wire_close(ctx);
}

static void on_accept(struct evconnlistener *listener, evutil_socket_t fd,
    struct sockaddr *address, int len, void *ctx)
{
	struct proxy *proxy = ctx;
	(void)listener;
	(void)address;
	(void)len;
	if (proxy->refuse) {
		close(fd);
		return;
	}
	struct wire *wire = xcalloc(1, sizeof(*wire));
	wire->proxy = proxy;
	LIST_INSERT_HEAD(&proxy->wires, wire, link);
	wire->client =
	    bufferevent_socket_new(proxy->base, fd, BEV_OPT_CLOSE_ON_FREE);
	wire->server =
	    bufferevent_socket_new(proxy->base, -1, BEV_OPT_CLOSE_ON_FREE);
	bufferevent_setcb(wire->client, on_client, NULL, on_event, wire);
	bufferevent_setcb(wire->server, on_server, NULL, on_event, wire);
	bufferevent_enable(wire->client, EV_READ | EV_WRITE);
	bufferevent_enable(wire->server, EV_READ | EV_WRITE);
	bufferevent_socket_connect(
	    wire->server, (struct sockaddr *)&proxy->to, sizeof(proxy->to));
}

struct proxy *proxy_new(
    struct event_base *base, const char *folder, const char *to_folder)
{
	struct proxy *proxy = xcalloc(1, sizeof(*proxy));
	struct sockaddr_un at = {.sun_family = AF_UNIX};
	proxy->base = base;
	proxy->to.sun_family = AF_UNIX;
	snprintf(at.sun_path, sizeof(at.sun_path), "%s/.s.PGSQL.5433", folder);
	snprintf(proxy->to.sun_path, sizeof(proxy->to.sun_path),
	    "%s/.s.PGSQL.5432", to_folder);
	snprintf(proxy->path, sizeof(proxy->path), "%s", at.sun_path);
	proxy->listener = evconnlistener_new_bind(base, on_accept, proxy,
	    LEV_OPT_CLOSE_ON_FREE, 16, (struct sockaddr *)&at, sizeof(at));
	if (!proxy->listener)
		abort();
	return proxy;
}

void proxy_cut(struct proxy *proxy, enum proxy_cut cut)
{
	proxy->cut = cut;
}

void proxy_refuse(struct proxy *proxy, int refuse)
{
	proxy->refuse = refuse;
}

int proxy_cuts(const struct proxy *proxy)
{
	return proxy->cuts;
}

void proxy_delete(struct proxy *proxy)
{
	while (!LIST_EMPTY(&proxy->wires))
		wire_close(LIST_FIRST(&proxy->wires));
	evconnlistener_free(proxy->listener);
	unlink(proxy->path);
	free(proxy);
}
