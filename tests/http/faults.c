/* SPDX-License-Identifier: MIT */
/*
 * faults.c - clients that drip, stay silent, come in crowds or leave; and the server being
 * told to stop while it has work.
 *
 * Nothing here measures time: a client waits until the server acts, and a server that
 * never acts fails the test by the client's patience.
 */
#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "client.h"

#define ARGS_MAX 12
#define CROWD 200
#define DRIPS_MAX 1200
#define PATIENCE 60000

#define NEED(condition, ...)                                                   \
	do {                                                                   \
		if (!(condition))                                              \
			fail(__LINE__, #condition, __VA_ARGS__);               \
	} while (0)

struct server {
	pid_t pid;
	FILE *out;
	char address[200];
};

static char work[] = "/tmp/tearshare-http-XXXXXX";
static char pem[64], key[64], log_path[64];
static int n_failed;

static void __attribute__((format(printf, 3, 4)))
fail(int line, const char *what, const char *fmt, ...)
{
	va_list args;

	n_failed++;
	printf("FAIL line %d: %s: ", line, what);
	va_start(args, fmt);
	vprintf(fmt, args);
	va_end(args);
	putchar('\n');
}

/* --- servers ------------------------------------------------------------------------ */

static void run_child(char **argv, int out, int descriptors)
{
	struct rlimit limit = {(rlim_t)descriptors, (rlim_t)descriptors};

	dup2(out, STDOUT_FILENO);
	if (!freopen(log_path, "a", stderr))
		_exit(70);
	for (int fd = 3; fd < 256; fd++)
		close(fd);
	if (descriptors)
		setrlimit(RLIMIT_NOFILE, &limit);
	execv(argv[0], argv);
	_exit(71);
}

static struct server start(int descriptors, ...)
{
	char *argv[ARGS_MAX] = {BUILD_DIR "/http_echo"}, line[200];
	struct server s = {.pid = -1};
	int ends[2], n = 1;
	va_list args;

	va_start(args, descriptors);
	while (n < ARGS_MAX - 1 && (argv[n] = va_arg(args, char *)))
		n++;
	va_end(args);
	argv[n] = NULL;
	if (pipe(ends) < 0)
		exit(1);
	fflush(NULL);
	s.pid = fork();
	if (s.pid == 0)
		run_child(argv, ends[1], descriptors);
	close(ends[1]);
	s.out = fdopen(ends[0], "r");
	if (!fgets(s.address, sizeof(s.address), s.out) ||
	    !fgets(line, sizeof(line), s.out)) {
		printf("FAIL: the server did not start\n");
		exit(1);
	}
	s.address[strcspn(s.address, "\n")] = '\0';
	return s;
}

static int finish(struct server *s)
{
	int status = 0;

	waitpid(s->pid, &status, 0);
	fclose(s->out);
	return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

static void stop(struct server *s)
{
	int status;

	kill(s->pid, SIGTERM);
	status = finish(s);
	NEED(status == 0, "the server ended with %d", status);
}

/* Ask for path; true when the answer is 200 and its content holds the text (or any). */
static bool serves_text(struct client *c, const char *path, const char *text)
{
	char request[200];
	struct answer a = {.status = 0};
	bool ok;

	snprintf(request, sizeof(request),
	    "GET %s HTTP/1.1\r\nHost: localhost\r\n\r\n", path);
	ok = client_say(c, request) && client_read_answer(c, true, &a) &&
	     a.status == 200 && strstr(a.body, text);
	answer_free(&a);
	return ok;
}

static bool serves(struct client *c, const char *path)
{
	return serves_text(c, path, "");
}

/* Connections are served in no order: ask until so many requests are held. */
static void wait_until_held(struct client *c, int n)
{
	char text[32];
	int rounds = 0;

	snprintf(text, sizeof(text), "held=%d", n);
	while (rounds++ < 100000 && !serves_text(c, "/held", text))
		continue;
	NEED(rounds < 100000, "never held %d", n);
}

static bool serves_new(const struct server *s, const char *ca)
{
	struct client *c = client_open(s->address, ca);
	bool ok = c && serves(c, "/echo");

	client_close(c);
	return ok;
}

/* --- deadlines ---------------------------------------------------------------------- */

/* Send one octet after the other until the server has had enough. */
static void drip(struct client *c, const char *begin, int status)
{
	struct answer a = {.status = 0};
	enum client_end end = END_SILENT;
	int n = 0;

	client_say(c, begin);
	while (n++ < DRIPS_MAX && end == END_SILENT && client_say(c, "a"))
		end = client_read_end(c, 100);
	/* One octet of the answer is gone: "TTP/1.1 408". */
	NEED(end == END_MORE, "%d drips, then end %d", n, end);
	NEED(!client_read_answer(c, true, &a),
	    "an answer without its first letter");
	NEED(strstr(a.head, "TTP/1.1 408") == a.head, "wanted %d: %.40s",
	    status, a.head);
	answer_free(&a);
}

static void test_deadlines(const char *ca)
{
	struct server s =
	    ca ? start(0, "head=1", "body=1", "idle=1", pem, key, NULL)
	       : start(0, "head=1", "body=1", "idle=1", NULL);
	struct client *c = client_open(s.address, ca);
	enum client_end end;

	drip(c, "GET /echo HTTP/1.1\r\nHost: localhost\r\nX: ", 408);
	client_close(c);

	c = client_open(s.address, ca);
	drip(c,
	    "POST /echo HTTP/1.1\r\nHost: localhost\r\n"
	    "Content-Length: 60000\r\n\r\n",
	    408);
	client_close(c);

	c = client_open(s.address, ca);
	end = client_read_end(c, PATIENCE);
	NEED(end == END_CLOSED, "silent from the start: end %d", end);
	client_close(c);

	c = client_open(s.address, ca);
	NEED(serves(c, "/echo"), "before silence");
	end = client_read_end(c, PATIENCE);
	NEED(end == END_CLOSED, "silent after a request: end %d", end);
	client_close(c);

	c = client_open(s.address, NULL);
	end = client_read_end(c, PATIENCE);
	NEED(end == END_CLOSED || end == END_CUT, "no handshake: end %d", end);
	client_close(c);
	NEED(serves_new(&s, ca), "afterwards");
	stop(&s);
}

/* --- crowds ------------------------------------------------------------------------- */

static void open_crowd(
    const struct server *s, struct client **crowd, int n, const char *say)
{
	for (int i = 0; i < n; i++) {
		crowd[i] = client_open(s->address, NULL);
		if (crowd[i] && say)
			client_say(crowd[i], say);
	}
}

static void close_crowd(struct client **crowd, int n)
{
	for (int i = 0; i < n; i++)
		client_close(crowd[i]);
}

static void test_silent_crowd(void)
{
	struct server s = start(0, NULL);
	struct client *crowd[60];

	open_crowd(&s, crowd, 60, NULL);
	NEED(serves_new(&s, NULL), "the 61st");
	close_crowd(crowd, 60);
	stop(&s);
}

/* Full of idle ones: the one idle longest goes.  Full of busy ones: the next one waits. */
static void test_full_house(void)
{
	static const char hold[] =
	    "GET /hold HTTP/1.1\r\nHost: localhost\r\n\r\n";
	struct server s = start(0, "connections=10", NULL);
	struct client *crowd[40], *c;
	struct answer a = {.status = 0};

	open_crowd(&s, crowd, 40, NULL);
	NEED(serves_new(&s, NULL), "behind 40 silent ones");
	close_crowd(crowd, 40);

	c = client_open(s.address, NULL);
	NEED(serves(c, "/echo"), "first of ten");
	open_crowd(&s, crowd, 9, hold);
	wait_until_held(c, 9);
	NEED(serves(c, "/release"), "with nine that wait");
	for (int i = 0; i < 9; i++) {
		NEED(client_read_answer(crowd[i], true, &a) && a.status == 200,
		    "held %d: %d", i, a.status);
		answer_free(&a);
	}
	close_crowd(crowd, 9);
	client_close(c);
	NEED(serves_new(&s, NULL), "afterwards");
	stop(&s);
}

static bool own_address(char *buf, size_t size)
{
	struct ifaddrs *all = NULL, *i;
	bool found = false;

	if (getifaddrs(&all) < 0)
		return false;
	for (i = all; i && !found; i = i->ifa_next) {
		if (!i->ifa_addr || i->ifa_addr->sa_family != AF_INET ||
		    (i->ifa_flags & IFF_LOOPBACK))
			continue;
		struct sockaddr_in *in4 = (void *)i->ifa_addr;

		found = inet_ntop(AF_INET, &in4->sin_addr, buf,
			    (socklen_t)size) != NULL;
	}
	freeifaddrs(all);
	return found;
}

static void test_crowd_of_one_address(void)
{
	struct server s =
	    start(0, "listen=0.0.0.0:0", "per-address=3", pem, key, NULL);
	char host[64], other[200];
	struct client *crowd[3], *c;

	if (!own_address(host, sizeof(host))) {
		printf("skipped: this machine has only loopback\n");
		stop(&s);
		return;
	}
	snprintf(other, sizeof(other), "%s%s", host, strrchr(s.address, ':'));
	for (int i = 0; i < 3; i++) {
		crowd[i] = client_open(other, pem + strlen("certificate="));
		NEED(crowd[i] != NULL, "connection %d of 3", i);
	}
	c = client_open(other, pem + strlen("certificate="));
	NEED(c == NULL, "the fourth of one address");
	client_close(c);
	snprintf(other, sizeof(other), "127.0.0.1%s", strrchr(s.address, ':'));
	c = client_open(other, pem + strlen("certificate="));
	NEED(c && serves(c, "/echo"), "loopback has no such limit");
	client_close(c);
	close_crowd(crowd, 3);
	stop(&s);
}

static int count_pauses(void)
{
	FILE *f = fopen(log_path, "r");
	char line[1000];
	int n = 0;

	while (f && fgets(line, sizeof(line), f))
		n += strstr(line, "event=accept-paused") != NULL;
	if (f)
		fclose(f);
	return n;
}

static void test_out_of_descriptors(void)
{
	struct server s = start(64, "connections=1000", NULL);
	struct client *first = client_open(s.address, NULL), *crowd[100];
	int before = count_pauses(), pauses;

	NEED(serves(first, "/echo"), "before the crowd");
	open_crowd(&s, crowd, 100, NULL);
	do {
		NEED(serves(first, "/echo"), "while none is left");
		pauses = count_pauses() - before;
	} while (pauses < 3 && !n_failed);
	/* A listener that spins writes thousands of these lines. */
	NEED(pauses < 1000, "%d pauses", pauses);
	close_crowd(crowd, 100);
	NEED(serves_new(&s, NULL), "after the crowd");
	client_close(first);
	stop(&s);
}

/* --- leaving ------------------------------------------------------------------------ */

static void test_client_leaves(const char *ca)
{
	struct server s = ca ? start(0, pem, key, NULL) : start(0, NULL);

	for (int i = 0; i < 20; i++) {
		struct client *c = client_open(s.address, ca);

		client_say(c, "GET /hold HTTP/1.1\r\nHost: localhost\r\n\r\n");
		client_close(c);
		c = client_open(s.address, ca);
		client_say(c, "GET /large HTTP/1.1\r\nHost: localhost\r\n\r\n");
		client_close(c);
		c = client_open(s.address, ca);
		client_say(c, "POST /echo HTTP/1.1\r\nHost: localhost\r\n"
			      "Content-Length: 500\r\n\r\nhalf");
		client_close(c);
		NEED(serves_new(&s, ca), "round %d", i);
	}
	struct client *c = client_open(s.address, ca);

	NEED(serves(c, "/release"), "answers to nobody");
	NEED(serves(c, "/echo"), "afterwards");
	client_close(c);
	stop(&s);
}

static void test_half_close(void)
{
	struct server s = start(0, NULL);
	struct client *c = client_open(s.address, NULL);
	struct answer a = {.status = 0};

	client_say(c, "GET /large HTTP/1.1\r\nHost: localhost\r\n"
		      "Connection: close\r\n\r\n");
	client_finish(c);
	NEED(client_read_answer(c, true, &a) && a.len == 1 << 20,
	    "an answer to one that only listens");
	answer_free(&a);
	client_close(c);
	stop(&s);
}

/* --- SIGTERM ------------------------------------------------------------------------ */

static void read_last_answer(struct client *c, int i)
{
	struct answer a = {.status = 0};
	char value[100];
	enum client_end end;

	NEED(client_read_answer(c, true, &a) && a.status == 200,
	    "answer %d: status %d", i, a.status);
	NEED(answer_field(&a, "Connection", value, sizeof(value)) &&
		 !strcmp(value, "close"),
	    "answer %d does not say close", i);
	answer_free(&a);
	end = client_read_end(c, PATIENCE);
	NEED(end == END_CLOSED, "answer %d: end %d", i, end);
}

static void test_drain(const char *ca)
{
	struct server s = ca ? start(0, pem, key, NULL) : start(0, NULL);
	struct client *crowd[CROWD], *control, *idle, *half;
	char line[100];
	int status;

	idle = client_open(s.address, ca);
	NEED(serves(idle, "/echo"), "before");
	control = client_open(s.address, ca);
	half = client_open(s.address, ca);
	client_say(half, "POST /echo HTTP/1.1\r\nHost: "
			 "localhost\r\nContent-Length: 8\r\n\r\nhalf");
	client_say(control, "GET /release HTTP/1.1\r\nHost: local");
	for (int i = 0; i < CROWD; i++) {
		crowd[i] = client_open(s.address, ca);
		client_say(
		    crowd[i], "GET /hold HTTP/1.1\r\nHost: localhost\r\n\r\n");
	}
	kill(s.pid, SIGTERM);
	NEED(fgets(line, sizeof(line), s.out) && !strcmp(line, "draining\n"),
	    "no word of draining");
	NEED(client_read_end(idle, PATIENCE) == END_CLOSED, "the idle one");
	/* Everything sent before is known to have arrived: the idle one was closed by a
	 * later turn of the loop. */
	client_say(half, "half");
	read_last_answer(half, -1);
	client_say(control, "host\r\n\r\n");
	read_last_answer(control, -2);
	for (int i = 0; i < CROWD; i++)
		read_last_answer(crowd[i], i);
	close_crowd(crowd, CROWD);
	client_close(control);
	client_close(half);
	client_close(idle);
	status = finish(&s);
	NEED(status == 0, "the server ended with %d", status);
}

static void make_certificate(void)
{
	char command[600];
	int status;
	pid_t pid;

	snprintf(pem, sizeof(pem), "certificate=%s/cert.pem", work);
	snprintf(key, sizeof(key), "private-key=%s/key.pem", work);
	snprintf(log_path, sizeof(log_path), "%s/log", work);
	snprintf(command, sizeof(command),
	    "exec openssl req -x509 -newkey ec -pkeyopt "
	    "ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=localhost "
	    "-addext subjectAltName=DNS:localhost -keyout %s/key.pem -out "
	    "%s/cert.pem 2>%s/log",
	    work, work, work);
	pid = fork();
	if (pid == 0) {
		execl("/bin/sh", "sh", "-c", command, (char *)NULL);
		_exit(127);
	}
	waitpid(pid, &status, 0);
	chmod(key + strlen("private-key="), 0600);
}

static void remove_work(void)
{
	unlink(pem + strlen("certificate="));
	unlink(key + strlen("private-key="));
	unlink(log_path);
	rmdir(work);
}

static void show_log(void)
{
	FILE *f = fopen(log_path, "r");
	char line[1000];

	while (f && fgets(line, sizeof(line), f))
		if (strstr(line, "ERROR") || strstr(line, "runtime error") ||
		    strstr(line, "    #"))
			fputs(line, stdout);
	if (f)
		fclose(f);
}

int main(void)
{
	const char *ca = pem + strlen("certificate=");

	signal(SIGPIPE, SIG_IGN);
	setvbuf(stdout, NULL, _IOLBF, 0);
	if (!mkdtemp(work))
		return 1;
	make_certificate();
	test_deadlines(NULL);
	test_deadlines(ca);
	test_silent_crowd();
	test_full_house();
	test_crowd_of_one_address();
	test_out_of_descriptors();
	test_client_leaves(NULL);
	test_client_leaves(ca);
	test_half_close();
	test_drain(NULL);
	test_drain(ca);
	show_log();
	remove_work();
	printf("%d failed\n", n_failed);
	return n_failed ? 1 : 0;
}
