/* SPDX-License-Identifier: MIT */
/*
 * serve.c - the order in which things begin and end.
 *
 * Begin: log, background, database, listeners, loops, worker, "ready".  End (SIGTERM):
 * every request that was received gets its answer and the worker gives its jobs back;
 * whatever is not done after eight seconds is left, and a second SIGTERM makes that one.
 * What is left is in the database, or was never acknowledged.
 *
 * Signals and the worker live on the main thread's loop; other loops are threads.
 */
#include "serve.h"

#include <errno.h>
#include <event2/event.h>
#include <event2/thread.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "alloc.h"
#include "database.h"
#include "launch.h"
#include "log.h"
#include "loop.h"
#include "sheet.h"
#include "sweep.h"
#include "work.h"

#define DRAIN_SECONDS 8
#define HURRY_SECONDS 1
#define LEASE_SECONDS 30
#define RESTART_SECONDS 1
#define PATH_SIZE 4096

struct server {
	const struct options *options;
	struct database db;
	struct loop *loops;
	int n_loops, n_listening; /* made; with a listener */
	struct work *work;
	struct sweep *sweep;
	struct event *signals[5];
	struct event *limit, *restart, *news;
	int n_terms;
	bool has_pidfile;
	pthread_mutex_t lock;
	int n_up; /* loops with a database; under the lock */
	bool announced;
	int n_busy; /* loops and worker that are not drained yet; under the lock */
	enum exit_status status;
};

struct http_config serve_http_config(const struct options *o)
{
	return (struct http_config){
	    .listen = o->listen,
	    .certificate = *o->certificate ? o->certificate : NULL,
	    .private_key = *o->private_key ? o->private_key : NULL,
	    .names = o->names.words,
	    .trusted_proxies = o->trusted_proxies.words,
	    .body_max = (size_t)o->body_max,
	    .connections_max = (int)o->connections_max,
	    .per_address_max = (int)o->per_address_max,
	    .head_seconds = (int)o->head_seconds,
	    .body_seconds = (int)o->body_seconds,
	    .idle_seconds = (int)o->idle_seconds,
	    .listen_fd = -1,
	    .tls_expected = o->tls_at_proxy,
	};
}

static struct store_config store_config(const struct server *s)
{
	return (struct store_config){
	    .conninfo = s->db.conninfo,
	    .connections = (int)s->options->db_connections,
	    .queue_max = (int)s->options->db_queue,
	    .statement_ms = (int)s->options->db_statement_ms,
	    .wait_ms = (int)s->options->db_wait_ms,
	};
}

static struct web_config web_config(const struct options *o)
{
	return (struct web_config){
	    .origin = *o->origin ? o->origin : NULL,
	    .secure = *o->certificate || o->tls_at_proxy,
	    .plans_running = (int)o->plans_running,
	    .plans_waiting = (int)o->plans_waiting,
	    .failures_a_minute = (int)o->failures_a_minute,
	};
}

/* --- the end ------------------------------------------------------------------------ */

static void stop_all(struct server *s)
{
	for (int i = 0; i < s->n_loops; i++)
		loop_stop(&s->loops[i]);
}

/* From any thread: one more has nothing left to do. */
static void one_done(void *ctx)
{
	struct server *s = ctx;

	pthread_mutex_lock(&s->lock);
	s->n_busy--;
	pthread_mutex_unlock(&s->lock);
	event_active(s->news, 0, 0);
}

/* From any thread: one more loop can serve. */
static void one_up(void *ctx)
{
	struct server *s = ctx;

	pthread_mutex_lock(&s->lock);
	s->n_up++;
	pthread_mutex_unlock(&s->lock);
	event_active(s->news, 0, 0);
}

static void announce(struct server *s)
{
	const struct http_server *http = s->loops[0].http;
	char shown[LOG_VALUE_MAX];

	s->announced = true;
	log_event(LOG_INFO, "ready", "listen=%s loops=%d workers=%lld pid=%ld",
	    log_value(shown, http ? http_server_address(http) : "none"),
	    s->n_loops, (long long)s->options->workers, (long)getpid());
	launch_notify("READY=1\nSTATUS=serving");
	launch_ready();
}

static void on_news(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;
	int n_busy, n_up;

	(void)fd, (void)what;
	pthread_mutex_lock(&s->lock);
	n_busy = s->n_busy;
	n_up = s->n_up;
	pthread_mutex_unlock(&s->lock);
	if (s->n_terms > 0 && n_busy == 0)
		stop_all(s);
	else if (s->n_terms == 0 && !s->announced && n_up == s->n_loops)
		announce(s);
}

static void on_limit(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;

	(void)fd, (void)what;
	log_event(LOG_WARN, "drain-ended", "reason=limit");
	stop_all(s);
}

static void limit_drain(struct server *s, int seconds)
{
	struct timeval wait = {seconds, 0};

	event_del(s->limit);
	event_add(s->limit, &wait);
}

static void begin_drain(struct server *s)
{
	launch_notify("STOPPING=1\nSTATUS=answering what was received");
	log_event(LOG_INFO, "drain-begun", "limit_s=%d", DRAIN_SECONDS);
	pthread_mutex_lock(&s->lock);
	s->n_busy = s->n_loops + (s->work != NULL);
	pthread_mutex_unlock(&s->lock);
	for (int i = 0; i < s->n_loops; i++)
		loop_drain(&s->loops[i]);
	if (s->work)
		work_drain(s->work, one_done, s);
	limit_drain(s, DRAIN_SECONDS);
}

/* --- signals ------------------------------------------------------------------------ */

static void on_term(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;

	(void)fd, (void)what;
	if (s->n_terms++ == 0)
		begin_drain(s);
	else
		limit_drain(s, HURRY_SECONDS);
}

static void on_hup(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;
	struct timespec now;
	char state[80];

	(void)fd, (void)what;
	clock_gettime(CLOCK_MONOTONIC, &now);
	snprintf(state, sizeof(state), "RELOADING=1\nMONOTONIC_USEC=%lld",
	    (long long)now.tv_sec * 1000000 + now.tv_nsec / 1000);
	launch_notify(state);
	log_reopen();
	log_event(LOG_INFO, "reload", "log=reopened");
	for (int i = 0; i < s->n_loops && *s->options->certificate; i++)
		loop_reload(&s->loops[i]);
	launch_notify("READY=1");
}

static void on_restart(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;
	struct timeval wait = {RESTART_SECONDS, 0};
	char shown[LOG_VALUE_MAX];
	struct err err;

	(void)fd, (void)what;
	if (s->n_terms > 0 || cluster_restart(s->db.cluster, &err))
		return;
	log_event(LOG_ERROR, "cluster-restart", "result=failed reason=%s",
	    log_value(shown, err.text));
	event_add(s->restart, &wait);
}

/* The private PostgreSQL is the only child that is waited for here; planners are the
 * worker's. */
static void on_child(evutil_socket_t fd, short what, void *ctx)
{
	struct server *s = ctx;
	pid_t pid = s->db.cluster ? cluster_pid(s->db.cluster) : -1;
	struct timeval now = {0, 0};
	int status;

	(void)fd, (void)what;
	if (pid <= 0 || waitpid(pid, &status, WNOHANG) != pid)
		return;
	if (cluster_reap(s->db.cluster, pid) && s->n_terms == 0) {
		log_event(LOG_ERROR, "cluster-ended", "pid=%ld status=%d",
		    (long)pid, status);
		event_add(s->restart, &now);
	}
}

static bool listen_to_signals(struct server *s, struct err *err)
{
	static const struct {
		int signal;
		event_callback_fn fn;
	} handled[] = {{SIGTERM, on_term}, {SIGINT, on_term}, {SIGHUP, on_hup},
	    {SIGCHLD, on_child}};
	struct event_base *base = s->loops[0].base;

	signal(SIGPIPE, SIG_IGN);
	s->limit = event_new(base, -1, 0, on_limit, s);
	s->restart = event_new(base, -1, 0, on_restart, s);
	s->news = event_new(base, -1, 0, on_news, s);
	for (size_t i = 0; i < sizeof(handled) / sizeof(*handled); i++) {
		s->signals[i] =
		    evsignal_new(base, handled[i].signal, handled[i].fn, s);
		if (!s->signals[i] || event_add(s->signals[i], NULL) < 0)
			return err_set(
			    err, ERR_INTERNAL, "could not listen to signals");
	}
	return true;
}

/* --- the beginning ------------------------------------------------------------------ */

/* The listening sockets: the first loop binds, the others get a copy of its descriptor. */
static bool open_loops(struct server *s, struct err *err)
{
	const struct options *o = s->options;
	struct http_config http = serve_http_config(o);
	struct store_config store = store_config(s);
	struct web_config web = web_config(o);
	bool serves = strcmp(o->listen, "none") != 0;
	int n = serves ? (int)o->loops : 1, fd = -1;

	if (serves && !http_listen(&http, &fd, err))
		return false;
	s->loops = xcalloc((size_t)n, sizeof(*s->loops));
	for (int i = 0; i < n; i++) {
		http.listen_fd = i + 1 < n ? dup(fd) : fd;
		if (!loop_open(&s->loops[i], &store, &web,
			serves ? &http : NULL, one_up, one_done, s, err))
			return false;
		s->n_loops++;
	}
	return true;
}

static bool start_work(struct server *s, struct err *err)
{
	const struct options *o = s->options;
	char program[PATH_SIZE], name[300], host[256] = "host";
	ssize_t len = readlink("/proc/self/exe", program, sizeof(program) - 1);
	const struct work_config config = {
	    .program = program,
	    .name = name,
	    .workers = (int)o->workers,
	    .seconds = (int)o->plan_seconds,
	    .memory = o->plan_memory << 20,
	    .lease_seconds = LEASE_SECONDS,
	};

	if (!o->workers)
		return true;
	if (len <= 0)
		return err_set(
		    err, ERR_INTERNAL, "could not find our own program");
	program[len] = '\0';
	gethostname(host, sizeof(host) - 1);
	snprintf(name, sizeof(name), "%s:%ld", host, (long)getpid());
	return work_new(
	    s->loops[0].base, s->loops[0].store, &config, &s->work, err);
}

static void start_sweep(struct server *s)
{
	char path[PATH_SIZE];

	snprintf(path, sizeof(path), "%s/postgres.log", s->options->data);
	s->sweep = sweep_new(
	    s->loops[0].base, s->loops[0].store, s->db.cluster ? path : NULL);
}

static bool begin(struct server *s, struct err *err)
{
	const struct options *o = s->options;

	if (!database_open(o, &s->db, err) || !open_loops(s, err) ||
	    !listen_to_signals(s, err) || !start_work(s, err))
		return false;
	for (int i = 1; i < s->n_loops; i++)
		if (!loop_start_thread(&s->loops[i], err))
			return false;
	start_sweep(s);
	s->has_pidfile = *o->pidfile && launch_write_pidfile(o->pidfile, err);
	return s->has_pidfile || !*o->pidfile;
}

static void free_event(struct event *event)
{
	if (event)
		event_free(event);
}

static void end(struct server *s)
{
	/* Other threads have been told to stop; the main loop is no longer running. */
	for (int i = 1; i < s->n_loops; i++)
		loop_join(&s->loops[i]);
	free_event(s->limit);
	free_event(s->restart);
	free_event(s->news);
	for (size_t i = 0; i < sizeof(s->signals) / sizeof(*s->signals); i++)
		free_event(s->signals[i]);
	/* The worker and the sweep use the first loop's store and base. */
	if (s->n_loops > 0) {
		http_server_delete(s->loops[0].http);
		s->loops[0].http = NULL;
		store_delete(s->loops[0].store);
		s->loops[0].store = NULL;
	}
	work_delete(s->work);
	sweep_delete(s->sweep);
	for (int i = 0; i < s->n_loops; i++)
		loop_close(&s->loops[i]);
	free(s->loops);
	database_close(&s->db);
	if (s->has_pidfile)
		unlink(s->options->pidfile);
	print_shutdown();
}

/* Where the log goes: standard error in the foreground unless a file is named. */
static bool open_log(const struct options *o, bool foreground, struct err *err)
{
	char path[PATH_SIZE];

	if (*o->log)
		return log_open(o->log, o->log_level, err);
	if (foreground)
		return log_open(NULL, o->log_level, err);
	if (mkdir(o->data, 0700) < 0 && errno != EEXIST)
		return err_set(err, ERR_INPUT,
		    "data folder \"%s\" cannot be made: %s", o->data,
		    strerror(errno));
	snprintf(path, sizeof(path), "%s/tearshared.log", o->data);
	return log_open(path, o->log_level, err);
}

enum exit_status serve(const struct options *o, bool foreground)
{
	struct server s = {.options = o, .lock = PTHREAD_MUTEX_INITIALIZER};
	char shown[LOG_VALUE_MAX];
	struct err err;

	s.db.lock = -1;
	evthread_use_pthreads();
	if (!open_log(o, foreground, &err) ||
	    (!foreground && !launch_detach(&err))) {
		complain(&err);
		return exit_status_of(&err);
	}
	if (begin(&s, &err)) {
		event_base_loop(s.loops[0].base, EVLOOP_NO_EXIT_ON_EMPTY);
	} else {
		s.status = exit_status_of(&err);
		log_event(LOG_ERROR, "not-started",
		    "status=%d reason=%s hint=\"%s\"", s.status,
		    log_value(shown, err.text), err.hint);
		if (!foreground || *o->log)
			complain(&err);
		stop_all(&s);
	}
	end(&s);
	log_event(
	    LOG_INFO, "stopped", "pid=%ld status=%d", (long)getpid(), s.status);
	log_close();
	return s.status;
}
