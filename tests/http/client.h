/* SPDX-License-Identifier: MIT */
/*
 * A client that sends any octets and reads answers strictly: for tests that play the
 * part of a hostile or clumsy one.  Plain, TLS or a unix socket.
 *
 * Waiting is bounded (30 s), so that a server that hangs is a failed test.
 */
#ifndef TESTS_HTTP_CLIENT_H
#define TESTS_HTTP_CLIENT_H

#include <stdbool.h>
#include <stddef.h>

struct client;

struct answer {
	int status;
	char head[16384]; /* lines end in CR LF */
	char *body;       /* freed by answer_free() */
	size_t len;
};

enum client_end { END_MORE, END_CLOSED, END_CUT, END_SILENT };

/* address: "127.0.0.1:8443", "[::1]:1", "unix:/path".  ca: PEM file, or NULL for plain.
 * NULL when there is no connection (errno) or no handshake. */
struct client *client_open(const char *address, const char *ca);
void client_close(struct client *c); /* NULL is fine */

/* False when the server no longer takes octets. */
bool client_send(struct client *c, const void *octets, size_t len);
bool client_say(struct client *c, const char *text);
/* No more will be sent; answers can still be read. */
void client_finish(struct client *c);

/* with_content false: an answer to HEAD.  False when no whole, well-formed answer comes. */
bool client_read_answer(
    struct client *c, bool with_content, struct answer *out);
void answer_free(struct answer *a);
/* The field's value in buf, NULL when it is not there. */
const char *answer_field(
    const struct answer *a, const char *name, char *buf, size_t size);

/*
 * What comes when nothing more should: END_CLOSED (over TLS with close_notify), END_CUT
 * (reset, or TLS without close_notify), END_MORE (octets), END_SILENT after so many ms.
 */
enum client_end client_read_end(struct client *c, int ms);

#endif
