/* SPDX-License-Identifier: MIT */
/*
 * A load of POSTs over kept connections: so many connections, each sends a request, waits for
 * its answer, sends the next.  Prints requests a second.
 *
 *     serve_load HOST PORT PATH CONNECTIONS COUNT < first line the key, then the body
 *
 * Each request has an Idempotency-Key of its own.  An answer other than 201 ends the run.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#define CONNECTIONS_MAX 256
#define ANSWER_MAX 16384

struct line {
	int fd;
	char answer[ANSWER_MAX];
	size_t len;
	int busy;
};

static struct line lines[CONNECTIONS_MAX];
static struct pollfd polled[CONNECTIONS_MAX];
static char key[256], body[8192];
static const char *path, *host;
static long sent, run_id;

static void die(const char *what)
{
	fprintf(stderr, "serve_load: %s: %s\n", what, strerror(errno));
	exit(1);
}

static double now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void line_open(struct line *l, int port)
{
	struct sockaddr_in to = {
	    .sin_family = AF_INET, .sin_port = htons((unsigned short)port)};
	int one = 1;

	if (inet_pton(AF_INET, host, &to.sin_addr) != 1)
		die("address");
	l->fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
	if (l->fd < 0 ||
	    connect(l->fd, (struct sockaddr *)&to, sizeof(to)) != 0)
		die("connect");
	setsockopt(l->fd, IPPROTO_TCP, TCP_NODELAY, &one, sizeof(one));
}

static void line_send(struct line *l)
{
	char request[16384];
	int n = snprintf(request, sizeof(request),
	    "POST %s HTTP/1.1\r\nHost: %s\r\nAuthorization: Bearer %s\r\n"
	    "Idempotency-Key: \"load-%ld-%ld\"\r\nContent-Type: "
	    "application/json\r\n"
	    "Content-Length: %zu\r\n\r\n%s",
	    path, host, key, run_id, sent++, strlen(body), body);

	l->len = 0;
	l->busy = 1;
	if (write(l->fd, request, (size_t)n) != n)
		die("write");
}

/* True when the whole answer is here. */
static int line_read(struct line *l)
{
	ssize_t n =
	    read(l->fd, l->answer + l->len, sizeof(l->answer) - 1 - l->len);
	const char *end = NULL, *length = NULL;

	if (n <= 0)
		die("read");
	l->len += (size_t)n;
	l->answer[l->len] = '\0';
	end = strstr(l->answer, "\r\n\r\n");
	if (end == NULL)
		return 0;
	length = strstr(l->answer, "Content-Length: ");
	if (length == NULL || length > end)
		die("no length");
	if (l->len <
	    (size_t)(end - l->answer) + 4 + strtoul(length + 16, NULL, 10))
		return 0;
	if (strncmp(l->answer, "HTTP/1.1 201", 12) != 0) {
		fprintf(stderr, "serve_load: %s\n", l->answer);
		exit(1);
	}
	l->busy = 0;
	return 1;
}

int main(int argc, char **argv)
{
	int n_lines, port;
	long count, done = 0;
	double begun;

	if (argc != 6 || fgets(key, sizeof(key), stdin) == NULL ||
	    fgets(body, sizeof(body), stdin) == NULL) {
		fprintf(stderr,
		    "usage: serve_load HOST PORT PATH CONNECTIONS COUNT\n");
		return 2;
	}
	key[strcspn(key, "\n")] = '\0';
	body[strcspn(body, "\n")] = '\0';
	host = argv[1];
	port = atoi(argv[2]);
	path = argv[3];
	n_lines = atoi(argv[4]);
	count = atol(argv[5]);
	run_id = (long)getpid();
	if (n_lines < 1 || n_lines > CONNECTIONS_MAX)
		return 2;
	for (int i = 0; i < n_lines; i++)
		line_open(&lines[i], port);
	begun = now();
	for (int i = 0; i < n_lines; i++)
		line_send(&lines[i]);
	while (done < count) {
		for (int i = 0; i < n_lines; i++)
			polled[i] = (struct pollfd){
			    .fd = lines[i].busy ? lines[i].fd : -1,
			    .events = POLLIN};
		if (poll(polled, (nfds_t)n_lines, 30000) <= 0)
			die("no answer");
		for (int i = 0; i < n_lines; i++) {
			if ((polled[i].revents &
				(POLLIN | POLLHUP | POLLERR)) == 0 ||
			    !line_read(&lines[i]))
				continue;
			done++;
			if (sent < count)
				line_send(&lines[i]);
		}
	}
	printf("%.1f\n", (double)done / (now() - begun));
	return 0;
}
