/* SPDX-License-Identifier: MIT */
/*
 * A server for tests: the web on a private PostgreSQL in a folder of its own, with two studios.
 *
 *     web_server routes             the table of routes, one a line, tab-separated
 *     web_server FOLDER [OPTION=N]  serves until SIGTERM; writes FOLDER/ready when it does:
 *                                   address, the owners' keys, conninfos, one NAME=VALUE a line
 *     web_server plan -             the planner, for its own worker
 *
 * Options: failures=60 workers=1 connections=8 log=0
 *
 * The real daemon has one studio at first and reads a configuration; this one is small enough
 * to be started by every test.
 */
#include <event2/event.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "cluster.h"
#include "http.h"
#include "log.h"
#include "alone.h"
#include "estimate.h"
#include "plan.h"
#include "problem.h"
#include "route.h"
#include "schema.h"
#include "sheet.h"
#include "store.h"
#include "text.h"
#include "web.h"
#include "work.h"

struct server {
	struct event_base *base;
	struct cluster *cluster;
	struct store *store;
	struct web *web;
	struct http_server *http;
	struct work *work;
	struct event *on_term, *on_child;
};

static void die(const struct err *err)
{
	fprintf(stderr, "web_server: %s %s\n", err->text, err->hint);
	exit(1);
}

/* ---- routes ---- */

static const char *const objects[] = {"none", "studio", "member", "key",
    "paper", "stock", "workshop", "invitation", "request", "plan", "entry",
    "session"};

static void print_roles(unsigned roles)
{
	printf("\t");
	for (int i = 0; i < 4; i++)
		if ((roles >> i & 1) != 0)
			printf("%c", "SITO"[i]);
	if (roles == 0)
		printf("-");
}

static int print_routes(void)
{
	const struct route *route = NULL;

	for (size_t i = 0; (route = web_routes(i)) != NULL; i++) {
		printf("%s\t%s", http_method_name(route->method), route->path);
		print_roles(route->all);
		print_roles(route->own);
		printf("\t%s\t%u\n", objects[route->object], route->flags);
	}
	return 0;
}

/* ---- the planner ---- */

static int plan_stdin(void)
{
	struct text in, out;
	struct problem *problem = NULL;
	struct plan *plan = NULL;
	struct plan_job job = {.steps = 20000}, beside = {.steps = 200000};
	struct err err = {0};
	char buf[65536];
	size_t n = 0;
	int status = 1;

	text_init(&in, PROBLEM_TEXT_MAX);
	text_init(&out, PROBLEM_TEXT_MAX);
	while ((n = fread(buf, 1, sizeof(buf), stdin)) > 0)
		text_add_bytes(&in, buf, n);
	if (!problem_read(in.data, in.len, &problem, NULL, &err) ||
	    !plan_make(problem, &job, &plan, &err)) {
		fprintf(stderr, "%s\n", err.text);
		goto out;
	}
	plan_add_alone(problem, &beside, &plan);
	if (problem->estimate)
		plan_add_estimate(problem, &beside, plan);
	plan_write(plan, -1, &out);
	fputs(out.data, stdout);
	status = fflush(stdout) == 0 ? 0 : 1;
out:
	plan_delete(plan);
	problem_delete(problem);
	text_free(&in);
	text_free(&out);
	return status;
}

/* ---- serving ---- */

static long option(int argc, char **argv, const char *name, long otherwise)
{
	size_t len = strlen(name);

	for (int i = 2; i < argc; i++)
		if (strncmp(argv[i], name, len) == 0 && argv[i][len] == '=')
			return strtol(argv[i] + len + 1, NULL, 10);
	return otherwise;
}

static void on_drained(void *ctx)
{
	struct server *s = ctx;

	event_base_loopbreak(s->base);
}

static void on_term(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;

	(void)fd;
	(void)what;
	http_server_drain(s->http, on_drained, s);
}

static void on_child(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;
	pid_t pid = cluster_pid(s->cluster);

	(void)fd;
	(void)what;
	if (waitpid(pid, NULL, WNOHANG) == pid)
		cluster_reap(s->cluster, pid);
}

static void add_studio(struct server *s, FILE *ready, int number)
{
	char key[WEB_KEY_TEXT], name[32];
	unsigned char hash[32];
	int64_t id = 0;
	struct err err = {0};

	snprintf(name, sizeof(name), "Studio %d", number);
	web_key_make(key, hash);
	if (!schema_add_studio(
		cluster_owner_conninfo(s->cluster), name, hash, &id, &err))
		die(&err);
	fprintf(ready, "owner%d=%s\nstudio%d=%lld\n", number, key, number,
	    (long long)id);
}

static void start_store(struct server *s, int argc, char **argv)
{
	struct store_config config = {
	    .conninfo = cluster_daemon_conninfo(s->cluster),
	    .connections = (int)option(argc, argv, "connections", 8),
	    .queue_max = 1000,
	    .statement_ms = 10000,
	    .wait_ms = 10000,
	};
	struct err err = {0};

	if (!store_new(s->base, &config, &s->store, &err))
		die(&err);
}

static void start_web(struct server *s, int argc, char **argv)
{
	struct web_config config = {
	    .failures_a_minute = (int)option(argc, argv, "failures", 100000),
	};
	struct http_config http = {
	    .listen = "127.0.0.1:0",
	    .body_max = 65536,
	    .head_seconds = 10,
	    .body_seconds = 20,
	    .idle_seconds = 60,
	    .listen_fd = -1,
	};
	struct err err = {0};

	if (!web_new(s->base, s->store, &config, &s->web, &err) ||
	    !http_server_new(s->base, &http, web_handle, web_refusal, s->web,
		&s->http, &err))
		die(&err);
}

static void start_work(struct server *s, int argc, char **argv)
{
	static char self[4096];
	ssize_t n = readlink("/proc/self/exe", self, sizeof(self) - 1);
	struct work_config config = {
	    .program = self,
	    .name = "test",
	    .workers = (int)option(argc, argv, "workers", 1),
	    .seconds = 30,
	    .lease_seconds = 30,
	    .poll_ms = 200,
	};
	struct err err = {0};

	if (n < 0 || config.workers == 0)
		return;
	if (!work_new(s->base, s->store, &config, &s->work, &err))
		die(&err);
}

/* A restart in the same folder finds its studios and keeps the keys it wrote. */
static void write_ready(struct server *s, const char *folder)
{
	char path[4096], kept[4096];
	bool has = false;
	struct err err = {0};
	FILE *ready = NULL;

	snprintf(path, sizeof(path), "%s/ready.tmp", folder);
	snprintf(kept, sizeof(kept), "%s/ready", folder);
	ready = fopen(path, "w");
	if (ready == NULL ||
	    !schema_has_studio(cluster_owner_conninfo(s->cluster), &has, &err))
		die(&err);
	fchmod(fileno(ready), 0600);
	if (!has) {
		add_studio(s, ready, 1);
		add_studio(s, ready, 2);
	}
	fprintf(ready, "address=%s\ndatabase=%s\nowner_database=%s\n",
	    http_server_address(s->http), cluster_daemon_conninfo(s->cluster),
	    cluster_owner_conninfo(s->cluster));
	fclose(ready);
	if (rename(path, kept) != 0)
		exit(1);
}

static int serve(const char *folder, int argc, char **argv)
{
	struct server s = {0};
	struct err err = {0};
	char data[4096];

	signal(SIGPIPE, SIG_IGN);
	snprintf(data, sizeof(data), "%s/log", folder);
	if (!log_open(data, LOG_INFO, &err))
		die(&err);
	snprintf(data, sizeof(data), "%s/data", folder);
	if (!cluster_start(data, &s.cluster, &err) ||
	    !schema_migrate(cluster_owner_conninfo(s.cluster), &err))
		die(&err);
	s.base = event_base_new();
	s.on_term = evsignal_new(s.base, SIGTERM, on_term, &s);
	s.on_child = evsignal_new(s.base, SIGCHLD, on_child, &s);
	event_add(s.on_term, NULL);
	event_add(s.on_child, NULL);
	start_store(&s, argc, argv);
	start_web(&s, argc, argv);
	start_work(&s, argc, argv);
	write_ready(&s, folder);
	event_base_dispatch(s.base);
	store_delete(s.store);
	work_delete(s.work);
	web_delete(s.web);
	http_server_delete(s.http);
	event_free(s.on_term);
	event_free(s.on_child);
	event_base_free(s.base);
	cluster_stop(s.cluster);
	print_shutdown();
	log_close();
	return 0;
}

int main(int argc, char **argv)
{
	if (argc == 2 && strcmp(argv[1], "routes") == 0)
		return print_routes();
	if (argc >= 2 && strcmp(argv[1], "plan") == 0)
		return plan_stdin();
	if (argc < 2) {
		fprintf(stderr, "usage: web_server FOLDER [OPTION=N]\n");
		return 2;
	}
	return serve(argv[1], argc, argv);
}
