/* SPDX-License-Identifier: MIT */
/*
 * listen.c - from "127.0.0.1:8443" or "unix:/path" to a socket that listens.
 *
 * Addresses are numbers: a name would be looked up before anything runs, and which of
 * its addresses is meant would be a guess.  Without a certificate only this machine is
 * served.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "server.h"

#define BACKLOG 1024
#define SOCKET_MODE 0660

struct place {
	struct sockaddr_storage address;
	socklen_t len;
};

bool listen_is_unix(const char *listen)
{
	return !strncmp(listen, "unix:", 5);
}

static bool parse_unix(const char *path, struct place *out, struct err *err)
{
	struct sockaddr_un un = {.sun_family = AF_UNIX};

	if (path[0] != '/' || strlen(path) >= sizeof(un.sun_path)) {
		err_set(err, ERR_INPUT, "\"%s\" cannot be a unix socket", path);
		return err_hint(err,
		    "Give an absolute path of at most %zu bytes.",
		    sizeof(un.sun_path) - 1);
	}
	memcpy(un.sun_path, path, strlen(path) + 1);
	memcpy(&out->address, &un, sizeof(un));
	out->len = sizeof(un);
	return true;
}

static bool is_port(const char *s)
{
	size_t n = strspn(s, "0123456789");

	return n > 0 && n <= 5 && !s[n] && strtol(s, NULL, 10) <= 65535;
}

static bool parse_inet(const char *listen, struct place *out, struct err *err)
{
	const struct addrinfo hints = {
	    .ai_flags = AI_NUMERICHOST | AI_NUMERICSERV | AI_PASSIVE,
	    .ai_socktype = SOCK_STREAM};
	const char *colon = strrchr(listen, ':');
	struct addrinfo *found = NULL;
	char host[INET6_ADDRSTRLEN + 2];
	size_t len = colon ? (size_t)(colon - listen) : 0;

	if (len > 2 && listen[0] == '[' && listen[len - 1] == ']') {
		listen++;
		len -= 2;
	} else if (memchr(listen, ':', len)) {
		len = 0;
	}
	if (len && len < sizeof(host) && is_port(colon + 1)) {
		memcpy(host, listen, len);
		host[len] = '\0';
		if (getaddrinfo(host, colon + 1, &hints, &found) != 0)
			found = NULL;
	}
	if (!found) {
		err_set(err, ERR_INPUT, "\"%s\" is no address to listen on",
		    listen);
		return err_hint(err,
		    "Write 127.0.0.1:8443, [::1]:8443, 0.0.0.0:443 or "
		    "unix:/run/tearshared/http.");
	}
	memcpy(&out->address, found->ai_addr, found->ai_addrlen);
	out->len = found->ai_addrlen;
	freeaddrinfo(found);
	return true;
}

static bool is_local(const struct place *p)
{
	const struct sockaddr_in *in4 = (const void *)&p->address;
	const struct sockaddr_in6 *in6 = (const void *)&p->address;

	switch (p->address.ss_family) {
	case AF_UNIX:
		return true;
	case AF_INET:
		return ntohl(in4->sin_addr.s_addr) >> 24 == 127;
	default:
		return IN6_IS_ADDR_LOOPBACK(&in6->sin6_addr);
	}
}

static bool parse(
    const struct http_config *config, struct place *out, struct err *err)
{
	const char *listen = config->listen ? config->listen : "";

	*out = (struct place){.len = 0};
	if (listen_is_unix(listen) ? !parse_unix(listen + 5, out, err)
				   : !parse_inet(listen, out, err))
		return false;
	if (config->certificate || is_local(out))
		return true;
	err_set(err, ERR_INPUT,
	    "\"%s\" can be reached from elsewhere and there is no certificate",
	    listen);
	return err_hint(
	    err, "Set certificate and private-key, or listen on 127.0.0.1.");
}

bool http_config_check(const struct http_config *config, struct err *err)
{
	struct place place;
	SSL_CTX *tls = NULL;

	if (!parse(config, &place, err))
		return false;
	if (!config->certificate && !config->private_key)
		return true;
	if (!config->certificate || !config->private_key) {
		err_set(err, ERR_INPUT,
		    "certificate and private-key go together, %s is missing",
		    config->certificate ? "private-key" : "certificate");
		return err_hint(
		    err, "Set both, or neither to serve this machine only.");
	}
	if (!tls_make_context(
		config->certificate, config->private_key, &tls, err))
		return false;
	SSL_CTX_free(tls);
	return true;
}

/* A socket file whose server has gone. */
static void remove_stale(const struct place *p)
{
	const struct sockaddr_un *un = (const void *)&p->address;
	struct stat st;
	int fd;

	if (lstat(un->sun_path, &st) < 0 || !S_ISSOCK(st.st_mode))
		return;
	fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	if (fd < 0)
		return;
	if (connect(fd, (const struct sockaddr *)un, p->len) < 0 &&
	    errno == ECONNREFUSED)
		unlink(un->sun_path);
	close(fd);
}

static bool bind_place(int fd, const struct place *p)
{
	const struct sockaddr_un *un = (const void *)&p->address;
	int yes = 1;

	if (p->address.ss_family == AF_UNIX) {
		remove_stale(p);
		return bind(fd, (const struct sockaddr *)un, p->len) == 0 &&
		       chmod(un->sun_path, SOCKET_MODE) == 0;
	}
	return setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof(yes)) ==
		   0 &&
	       bind(fd, (const struct sockaddr *)&p->address, p->len) == 0;
}

bool http_listen(const struct http_config *config, int *out, struct err *err)
{
	struct place place;
	int fd;

	if (!parse(config, &place, err))
		return false;
	fd = socket(place.address.ss_family,
	    SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (fd < 0 || !bind_place(fd, &place) || listen(fd, BACKLOG) < 0) {
		err_set(err, ERR_INPUT, "could not listen on %s: %s",
		    config->listen, strerror(errno));
		if (fd >= 0)
			close(fd);
		return err_hint(err,
		    "See whether another program has that address, and whether "
		    "the daemon's user may take it.");
	}
	*out = fd;
	return true;
}

void listen_print_address(int fd, char *buf, size_t size)
{
	struct sockaddr_storage address = {.ss_family = AF_UNSPEC};
	const struct sockaddr_un *un = (const void *)&address;
	socklen_t len = sizeof(address);
	char host[INET6_ADDRSTRLEN + 16] = "?", port[16] = "?";

	if (getsockname(fd, (struct sockaddr *)&address, &len) < 0)
		address.ss_family = AF_UNSPEC;
	if (address.ss_family == AF_UNIX) {
		snprintf(buf, size, "unix:%s", un->sun_path);
		return;
	}
	getnameinfo((const struct sockaddr *)&address, len, host, sizeof(host),
	    port, sizeof(port), NI_NUMERICHOST | NI_NUMERICSERV);
	snprintf(buf, size, address.ss_family == AF_INET6 ? "[%s]:%s" : "%s:%s",
	    host, port);
}
