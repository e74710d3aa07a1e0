/* SPDX-License-Identifier: MIT */
/*
 * echo_server.c - the HTTP part alone, behind it a handler that knows no paper.
 *
 *     /echo     answers with method, path, query, peer and the body
 *     /hold     is answered when somebody asks /release
 *     /held     answers with how many are held
 *     /large    answers with a megabyte
 *     /none     204
 *
 * Prints the address it listens on, then "ready".  SIGTERM drains, SIGHUP reads the
 * certificate again.  Options are those of struct http_config, as NAME=VALUE.
 */
#include <event2/event.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "http.h"
#include "log.h"
#include "text.h"

#define HELD_MAX 1000
#define LARGE (1 << 20)

struct echo {
	struct event_base *base;
	struct http_server *server;
	struct http_request *held[HELD_MAX];
	size_t n_held;
};

static const struct http_field plain[] = {
    {"Content-Type", "text/plain; charset=utf-8"}};

static void answer_echo(struct http_request *req)
{
	const char *agent = http_header(req, "User-Agent");
	struct text t;
	size_t len;
	const char *body = http_body(req, &len);

	text_init(&t, 1 << 20);
	text_addf(&t, "method=%s path=%s query=%s peer=%s agent=%s body=",
	    http_method_name(http_method(req)), http_path(req), http_query(req),
	    http_peer(req), agent ? agent : "none");
	text_add_bytes(&t, body, len);
	http_reply(req, 200, plain, 1, t.data, t.len);
	text_free(&t);
}

static void answer_large(struct http_request *req)
{
	char *body = malloc(LARGE);

	memset(body, 'x', LARGE);
	http_reply(req, 200, plain, 1, body, LARGE);
	free(body);
}

static void answer_held(const struct echo *e, struct http_request *req)
{
	char body[32];
	int len = snprintf(body, sizeof(body), "held=%zu", e->n_held);

	http_reply(req, 200, plain, 1, body, (size_t)len);
}

static void on_request(struct http_request *req, void *ctx)
{
	struct echo *e = ctx;
	const char *path = http_path(req);

	if (!strcmp(path, "/hold") && e->n_held < HELD_MAX) {
		e->held[e->n_held++] = req;
	} else if (!strcmp(path, "/held")) {
		answer_held(e, req);
	} else if (!strcmp(path, "/large")) {
		answer_large(req);
	} else if (!strcmp(path, "/none")) {
		http_reply(req, 204, NULL, 0, NULL, 0);
	} else if (!strcmp(path, "/release")) {
		while (e->n_held > 0)
			answer_echo(e->held[--e->n_held]);
		answer_echo(req);
	} else if (!strcmp(path, "/echo")) {
		answer_echo(req);
	} else {
		http_reply(req, 404, plain, 1, "no such page", 12);
	}
}

static void on_refusal(void *ctx, int status, const char *detail,
    const char *hint, const char *id, const char **type, const char **body,
    size_t *len)
{
	static char text[1024];

	(void)ctx;
	*len = (size_t)snprintf(text, sizeof(text),
	    "{\"status\":%d,\"detail\":\"%s\",\"hint\":\"%s\",\"id\":\"%s\"}",
	    status, detail, hint, id);
	*type = "application/problem+json";
	*body = text;
}

static void on_done(void *ctx)
{
	struct echo *e = ctx;

	event_base_loopbreak(e->base);
}

static void on_term(evutil_socket_t fd, short what, void *ctx)
{
	struct echo *e = ctx;

	(void)fd, (void)what;
	http_server_drain(e->server, on_done, e);
	puts("draining");
	fflush(stdout);
}

static void on_hup(evutil_socket_t fd, short what, void *ctx)
{
	struct echo *e = ctx;
	struct err err;

	(void)fd, (void)what;
	puts(http_server_reload(e->server, &err) ? "reloaded" : err.text);
	fflush(stdout);
}

static bool set_option(struct http_config *config, const char *arg)
{
	static const char *names[2], *proxies[2];
	size_t len = strcspn(arg, "=");
	const char *value = arg[len] ? arg + len + 1 : "";
	const struct {
		const char *name;
		const char **text;
		int *number;
	} options[] = {
	    {"listen", &config->listen, NULL},
	    {"certificate", &config->certificate, NULL},
	    {"private-key", &config->private_key, NULL},
	    {"name", &names[0], NULL},
	    {"proxy", &proxies[0], NULL},
	    {"connections", NULL, &config->connections_max},
	    {"per-address", NULL, &config->per_address_max},
	    {"head", NULL, &config->head_seconds},
	    {"body", NULL, &config->body_seconds},
	    {"idle", NULL, &config->idle_seconds},
	};

	for (size_t i = 0; i < sizeof(options) / sizeof(*options); i++) {
		if (strlen(options[i].name) != len ||
		    memcmp(options[i].name, arg, len))
			continue;
		if (options[i].text)
			*options[i].text = value;
		else
			*options[i].number = atoi(value);
		config->names = names[0] ? names : NULL;
		config->trusted_proxies = proxies[0] ? proxies : NULL;
		return true;
	}
	return false;
}

int main(int argc, char **argv)
{
	struct http_config config = {.listen = "127.0.0.1:0", .listen_fd = -1};
	struct echo e = {.base = event_base_new()};
	struct event *term, *hup;
	struct err err;

	for (int i = 1; i < argc; i++) {
		if (!set_option(&config, argv[i])) {
			fprintf(stderr, "unknown option %s\n", argv[i]);
			return 64;
		}
	}
	if (!log_open(NULL, LOG_INFO, &err))
		return 1;
	if (!http_server_new(
		e.base, &config, on_request, on_refusal, &e, &e.server, &err)) {
		fprintf(stderr, "%s\n%s\n", err.text, err.hint);
		return 1;
	}
	term = evsignal_new(e.base, SIGTERM, on_term, &e);
	hup = evsignal_new(e.base, SIGHUP, on_hup, &e);
	event_add(term, NULL);
	event_add(hup, NULL);
	printf("%s\nready\n", http_server_address(e.server));
	fflush(stdout);
	event_base_dispatch(e.base);
	http_server_delete(e.server);
	event_free(term);
	event_free(hup);
	event_base_free(e.base);
	log_close();
	return 0;
}
