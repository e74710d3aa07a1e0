/* SPDX-License-Identifier: MIT */
/*
 * in_flight.c - requests under way when the daemon is told to stop.
 *
 *     in_flight ADDRESS CA|- KEYFILE PID COUNT
 *
 * Opens so many connections, sends a request that asks the database on each, sends SIGTERM
 * to the daemon, then reads: every request must get its whole answer with status 200, and
 * then the end of the connection.  Exit 0 when all did.
 */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "client.h"

#define COUNT_MAX 1000
#define PATIENCE 60000

static bool read_key(const char *path, char *key, size_t size)
{
	FILE *f = fopen(path, "r");
	bool ok = f && fgets(key, (int)size, f);

	if (f)
		fclose(f);
	key[strcspn(key, "\n")] = '\0';
	return ok;
}

static bool ends_well(struct client *c, int i)
{
	struct answer a = {.status = 0};
	bool whole = client_read_answer(c, true, &a);
	enum client_end end = whole ? client_read_end(c, PATIENCE) : END_CUT;

	if (!whole || a.status != 200 || end != END_CLOSED)
		printf("request %d: status %d, end %d\n", i, a.status, end);
	answer_free(&a);
	return whole && a.status == 200 && end == END_CLOSED;
}

int main(int argc, char **argv)
{
	static struct client *clients[COUNT_MAX];
	char key[200] = "", request[600];
	int n = argc == 6 ? atoi(argv[5]) : 0, n_bad = 0;

	if (n < 1 || n > COUNT_MAX || !read_key(argv[3], key, sizeof(key)))
		return 64;
	snprintf(request, sizeof(request),
	    "GET /v1/members HTTP/1.1\r\nHost: localhost\r\n"
	    "Authorization: Bearer %s\r\n\r\n",
	    key);
	for (int i = 0; i < n; i++) {
		clients[i] =
		    client_open(argv[1], strcmp(argv[2], "-") ? argv[2] : NULL);
		if (!clients[i]) {
			printf("no connection %d\n", i);
			return 1;
		}
	}
	for (int i = 0; i < n; i++)
		client_say(clients[i], request);
	kill((pid_t)atoi(argv[4]), SIGTERM);
	for (int i = 0; i < n; i++) {
		n_bad += !ends_well(clients[i], i);
		client_close(clients[i]);
	}
	printf("%d requests in flight, %d without a whole answer\n", n, n_bad);
	return n_bad ? 1 : 0;
}
