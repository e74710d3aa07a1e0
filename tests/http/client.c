/* SPDX-License-Identifier: MIT */
/* client.c - octets out, answers in; see client.h. */
#include "client.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/tcp.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#define PATIENCE_MS 30000
#define BODY_MAX (8 << 20)

struct client {
	int fd;
	SSL_CTX *ctx;
	SSL *ssl;
	bool cut; /* the last end was not a polite one */
};

static int connect_to(const struct sockaddr *to, socklen_t len)
{
	int fd = socket(to->sa_family, SOCK_STREAM | SOCK_CLOEXEC, 0), yes = 1;

	if (fd >= 0 && connect(fd, to, len) < 0) {
		close(fd);
		return -1;
	}
	if (fd >= 0 && to->sa_family != AF_UNIX)
		setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &yes, sizeof(yes));
	return fd;
}

static int connect_address(const char *address)
{
	struct sockaddr_un un = {.sun_family = AF_UNIX};
	struct sockaddr_in in4 = {.sin_family = AF_INET};
	struct sockaddr_in6 in6 = {.sin6_family = AF_INET6};
	const char *colon = strrchr(address, ':');
	char host[64];

	if (!strncmp(address, "unix:", 5)) {
		snprintf(un.sun_path, sizeof(un.sun_path), "%s", address + 5);
		return connect_to((struct sockaddr *)&un, sizeof(un));
	}
	if (!colon)
		return -1;
	if (*address == '[') {
		snprintf(host, sizeof(host), "%.*s", (int)(colon - address) - 2,
		    address + 1);
		in6.sin6_port = htons((uint16_t)atoi(colon + 1));
		inet_pton(AF_INET6, host, &in6.sin6_addr);
		return connect_to((struct sockaddr *)&in6, sizeof(in6));
	}
	snprintf(host, sizeof(host), "%.*s", (int)(colon - address), address);
	in4.sin_port = htons((uint16_t)atoi(colon + 1));
	inet_pton(AF_INET, host, &in4.sin_addr);
	return connect_to((struct sockaddr *)&in4, sizeof(in4));
}

static bool shake_hands(struct client *c, const char *ca)
{
	c->ctx = SSL_CTX_new(TLS_client_method());
	SSL_CTX_set_verify(c->ctx, SSL_VERIFY_PEER, NULL);
	if (SSL_CTX_load_verify_locations(c->ctx, ca, NULL) != 1)
		return false;
	c->ssl = SSL_new(c->ctx);
	SSL_set1_host(c->ssl, "localhost");
	SSL_set_tlsext_host_name(c->ssl, "localhost");
	SSL_set_fd(c->ssl, c->fd);
	return SSL_connect(c->ssl) == 1;
}

struct client *client_open(const char *address, const char *ca)
{
	struct client *c = calloc(1, sizeof(*c));

	signal(SIGPIPE, SIG_IGN);
	c->fd = connect_address(address);
	if (c->fd < 0 || (ca && !shake_hands(c, ca))) {
		client_close(c);
		return NULL;
	}
	return c;
}

void client_close(struct client *c)
{
	if (!c)
		return;
	SSL_free(c->ssl);
	SSL_CTX_free(c->ctx);
	if (c->fd >= 0)
		close(c->fd);
	free(c);
}

bool client_send(struct client *c, const void *octets, size_t len)
{
	const char *from = octets;

	while (len > 0) {
		ssize_t n = c->ssl ? SSL_write(c->ssl, from, (int)len)
				   : send(c->fd, from, len, 0);

		if (n <= 0)
			return false;
		from += n;
		len -= (size_t)n;
	}
	return true;
}

bool client_say(struct client *c, const char *text)
{
	return client_send(c, text, strlen(text));
}

void client_finish(struct client *c)
{
	if (c->ssl)
		SSL_shutdown(c->ssl);
	shutdown(c->fd, SHUT_WR);
}

/* Octets, 0 at the end (c->cut says how), -1 when nothing came in time. */
static ssize_t receive(struct client *c, void *buf, size_t size, int ms)
{
	struct pollfd p = {.fd = c->fd, .events = POLLIN};
	ssize_t n;

	if (!(c->ssl && SSL_pending(c->ssl) > 0) && poll(&p, 1, ms) == 0)
		return -1;
	if (!c->ssl) {
		n = recv(c->fd, buf, size, 0);
		c->cut = n < 0;
		return n < 0 ? 0 : n;
	}
	ERR_clear_error();
	n = SSL_read(c->ssl, buf, (int)size);
	c->cut =
	    n <= 0 && SSL_get_error(c->ssl, (int)n) != SSL_ERROR_ZERO_RETURN;
	return n < 0 ? 0 : n;
}

static bool receive_all(struct client *c, char *buf, size_t len)
{
	while (len > 0) {
		ssize_t n = receive(c, buf, len, PATIENCE_MS);

		if (n <= 0)
			return false;
		buf += n;
		len -= (size_t)n;
	}
	return true;
}

const char *answer_field(
    const struct answer *a, const char *name, char *buf, size_t size)
{
	size_t len = strlen(name);
	const char *line = strstr(a->head, "\r\n");

	for (; line; line = strstr(line, "\r\n")) {
		line += 2;
		if (strncasecmp(line, name, len) || line[len] != ':')
			continue;
		line += len + 1;
		line += strspn(line, " ");
		snprintf(buf, size, "%.*s", (int)strcspn(line, "\r"), line);
		return buf;
	}
	return NULL;
}

static bool read_head(struct client *c, struct answer *out)
{
	size_t n = 0;

	while (n < sizeof(out->head) - 1) {
		if (!receive_all(c, out->head + n, 1))
			return false;
		out->head[++n] = '\0';
		if (n >= 4 && !strcmp(out->head + n - 4, "\r\n\r\n"))
			return sscanf(out->head, "HTTP/1.1 %d", &out->status) ==
			       1;
	}
	return false;
}

bool client_read_answer(struct client *c, bool with_content, struct answer *out)
{
	char length[32];

	*out = (struct answer){.status = 0};
	if (!read_head(c, out))
		return false;
	if (out->status < 200 || out->status == 204 || out->status == 304 ||
	    !with_content)
		return true;
	if (!answer_field(out, "Content-Length", length, sizeof(length)))
		return false;
	out->len = strtoul(length, NULL, 10);
	if (out->len > BODY_MAX)
		return false;
	out->body = calloc(1, out->len + 1);
	return receive_all(c, out->body, out->len);
}

void answer_free(struct answer *a)
{
	free(a->body);
	a->body = NULL;
}

enum client_end client_read_end(struct client *c, int ms)
{
	char more[1];
	ssize_t n = receive(c, more, sizeof(more), ms);

	if (n < 0)
		return END_SILENT;
	if (n > 0)
		return END_MORE;
	return c->cut ? END_CUT : END_CLOSED;
}
