/* SPDX-License-Identifier: MIT */
/*
 * child.c - a process of our own making that may do anything but harm.
 *
 * Between fork and exec only what is safe there is called.  The child is a group of its
 * own (a Ctrl-C in our terminal is ours to handle), gets no file but its three pipes,
 * almost no environment, no core file, and dies with us.
 *
 * Its end is noticed by its pipes closing, then waited for by name: a daemon has other
 * children, and whoever waits for any child takes away somebody else's.
 */
#include "child.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <event2/buffer.h>
#include <event2/bufferevent.h>

#include "alloc.h"

#define LINE_MAX_BYTES 4096
#define REAP_MS 10
#define REAP_PATIENCE                                                          \
	100 /* times REAP_MS after its pipes closed: then it is killed */

struct child {
	pid_t pid;
	int status;
	bool reaped, too_large;
	struct bufferevent *in, *out, *err;
	struct event *reaper;
	int patience;
	struct text output;
	size_t out_max;
	child_line_fn *on_line;
	child_end_fn *on_end;
	void *ctx;
};

/* ---- the other side ---- */

static void limit(int what, rlim_t soft, rlim_t hard)
{
	struct rlimit r = {soft, hard};
	if (setrlimit((__rlimit_resource_t)what, &r) < 0)
		_exit(126);
}

static void become_planner(
    const struct child_config *config, const int fds[3], pid_t parent)
{
	static char *const environment[] = {"LC_ALL=C.UTF-8", NULL};
	char *const args[] = {
	    (char *)config->program, "plan", "--progress", "-", NULL};
	sigset_t none;
	setpgid(0, 0);
	for (int i = 0; i < 3; i++)
		if (dup2(fds[i], i) < 0)
			_exit(126);
	close_range(3, ~0U, 0);
	limit(RLIMIT_CORE, 0, 0);
	limit(RLIMIT_CPU, (rlim_t)config->cpu_seconds,
	    (rlim_t)config->cpu_seconds + 5);
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
	/* The shadow memory of a sanitizer is larger than any limit. */
	if (config->memory > 0)
		limit(
		    RLIMIT_AS, (rlim_t)config->memory, (rlim_t)config->memory);
#endif
	prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	if (getppid() != parent)
		_exit(126);
	signal(SIGPIPE, SIG_DFL);
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	execve(config->program, args, environment);
	static const char sorry[] = "the planner's program cannot be started\n";
	if (write(2, sorry, sizeof(sorry) - 1) < 0)
		_exit(126);
	_exit(127);
}

/* ---- this side ---- */

static void on_reap(evutil_socket_t fd, short what, void *ctx)
{
	struct child *child = ctx;
	(void)fd;
	(void)what;
	pid_t got = waitpid(child->pid, &child->status, WNOHANG);
	if (got == 0 || (got < 0 && errno == EINTR)) {
		struct timeval t = {0, REAP_MS * 1000};
		if (child->patience++ == REAP_PATIENCE)
			child_signal(child, SIGKILL);
		event_add(child->reaper, &t);
		return;
	}
	child->reaped = true;
	child->on_end(child->ctx);
}

static void close_pipe(struct bufferevent **bev)
{
	if (*bev)
		bufferevent_free(*bev);
	*bev = NULL;
}

/* Both of its voices are silent: it is dying or dead. */
static void look_for_end(struct child *child)
{
	struct timeval now = {0, 0};
	if (child->out || child->err ||
	    event_pending(child->reaper, EV_TIMEOUT, NULL))
		return;
	close_pipe(&child->in);
	event_add(child->reaper, &now);
}

static void take_output(struct bufferevent *bev, void *ctx)
{
	struct child *child = ctx;
	struct evbuffer *input = bufferevent_get_input(bev);
	size_t len = evbuffer_get_length(input);
	text_add_bytes(
	    &child->output, (const char *)evbuffer_pullup(input, -1), len);
	evbuffer_drain(input, len);
	if (!text_fits(&child->output) && !child->too_large) {
		child->too_large = true;
		child_signal(child, SIGKILL);
	}
}

static void take_lines(struct bufferevent *bev, void *ctx)
{
	struct child *child = ctx;
	struct evbuffer *input = bufferevent_get_input(bev);
	char *line;
	while ((line = evbuffer_readln(input, NULL, EVBUFFER_EOL_LF)) != NULL) {
		child->on_line(child->ctx, line);
		free(line);
	}
	if (evbuffer_get_length(input) > LINE_MAX_BYTES)
		evbuffer_drain(input, evbuffer_get_length(input));
}

static void on_fed(struct bufferevent *bev, void *ctx)
{
	struct child *child = ctx;
	if (evbuffer_get_length(bufferevent_get_output(bev)) == 0)
		close_pipe(&child->in);
}

static void on_closed(struct bufferevent *bev, short what, void *ctx)
{
	struct child *child = ctx;
	(void)what;
	if (bev == child->in) {
		close_pipe(&child->in);
	} else if (bev == child->out) {
		close_pipe(&child->out);
	} else if (bev == child->err) {
		take_lines(bev, ctx);
		close_pipe(&child->err);
	}
	look_for_end(child);
}

static struct bufferevent *open_pipe(struct event_base *base, int fd,
    bufferevent_data_cb on_read, bufferevent_data_cb on_write, short events,
    struct child *child)
{
	struct bufferevent *bev =
	    bufferevent_socket_new(base, fd, BEV_OPT_CLOSE_ON_FREE);
	if (!bev)
		abort();
	bufferevent_setcb(bev, on_read, on_write, on_closed, child);
	bufferevent_enable(bev, events);
	return bev;
}

static bool make_pipes(int pipes[3][2], struct err *err)
{
	for (int i = 0; i < 3; i++)
		if (pipe2(pipes[i], O_CLOEXEC) < 0)
			return err_set(err, ERR_BUSY,
			    "could not make a pipe to the planner: %s",
			    strerror(errno));
	return true;
}

static void close_all(int pipes[3][2])
{
	for (int i = 0; i < 3; i++)
		for (int side = 0; side < 2; side++)
			if (pipes[i][side] >= 0)
				close(pipes[i][side]);
}

bool child_start(struct event_base *base, const struct child_config *config,
    const char *input, size_t len, child_line_fn *on_line, child_end_fn *on_end,
    void *ctx, struct child **out, struct err *err)
{
	int pipes[3][2] = {{-1, -1}, {-1, -1}, {-1, -1}};
	pid_t parent = getpid();
	pid_t pid = -1;
	if (make_pipes(pipes, err)) {
		/* its ends: reads the first, writes the others */
		int fds[3] = {pipes[0][0], pipes[1][1], pipes[2][1]};
		pid = fork();
		if (pid == 0)
			become_planner(config, fds, parent);
		if (pid < 0)
			err_set(err, ERR_BUSY, "could not start a planner: %s",
			    strerror(errno));
	}
	if (pid < 0) {
		close_all(pipes);
		return false;
	}
	close(pipes[0][0]);
	close(pipes[1][1]);
	close(pipes[2][1]);

	struct child *child = xcalloc(1, sizeof(*child));
	int ours[3] = {pipes[0][1], pipes[1][0], pipes[2][0]};
	for (int i = 0; i < 3; i++)
		evutil_make_socket_nonblocking(ours[i]);
	child->pid = pid;
	child->on_line = on_line;
	child->on_end = on_end;
	child->ctx = ctx;
	text_init(&child->output, config->out_max);
	child->reaper = evtimer_new(base, on_reap, child);
	child->in = open_pipe(base, ours[0], NULL, on_fed, EV_WRITE, child);
	child->out =
	    open_pipe(base, ours[1], take_output, NULL, EV_READ, child);
	child->err = open_pipe(base, ours[2], take_lines, NULL, EV_READ, child);
	bufferevent_write(child->in, input, len);
	*out = child;
	return true;
}

void child_signal(struct child *child, int signal)
{
	if (!child->reaped)
		kill(child->pid, signal);
}

int child_status(const struct child *child)
{
	return child->status;
}

const struct text *child_output(const struct child *child)
{
	return &child->output;
}

bool child_is_too_large(const struct child *child)
{
	return child->too_large;
}

void child_delete(struct child *child)
{
	if (!child)
		return;
	if (!child->reaped) {
		kill(child->pid, SIGKILL);
		while (waitpid(child->pid, NULL, 0) < 0 && errno == EINTR)
			;
	}
	close_pipe(&child->in);
	close_pipe(&child->out);
	close_pipe(&child->err);
	event_free(child->reaper);
	text_free(&child->output);
	free(child);
}
