/* SPDX-License-Identifier: MIT */
/*
 * talk.c - play conversations: octets sent, answers expected.
 *
 *     talk ADDRESS CA|- FILE.talk...
 *
 *     # a comment
 *     == two lengths are refused               a case, on a connection of its own
 *     > Host: localhost                        sent, with CR LF behind it
 *     >= raw\r\n                               sent as it stands
 *     < 400|501                                an answer with one of these statuses
 *     <head 200                                the same, for HEAD: no content follows
 *     <field Allow: GET, HEAD                  a field of the last answer
 *     <nofield Server                          a field the last answer must not have
 *     <body text                               its content holds this
 *     <nobody text                             its content does not hold this
 *     close | open                             how the case ends; one of both is needed
 *
 * In what is sent, \r \n \t \0 \\ \xHH are octets and \{8000*a} is a, 8000 times.
 * After `close` not one octet more may come, over TLS the end is a close_notify.  `open`
 * asks one more thing on the same connection and wants an answer.
 *
 * Each case is played twice, in one piece and octet by octet (when it is short): how a
 * request is cut into packets must not matter.
 */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "client.h"

#define SENT_MAX (512 * 1024)
#define LINES_MAX 400
#define OCTETWISE_MAX 1500

struct talk {
	const char *address, *ca, *file;
	char name[200];
	char *lines[LINES_MAX];
	size_t n_lines;
	int n_cases, n_failed;
};

struct play {
	struct client *client;
	struct answer answer;
	bool octetwise, known; /* there is an answer to look at */
	char why[400];
};

static bool fail(struct play *p, const char *why, const char *what)
{
	snprintf(p->why, sizeof(p->why), "%.190s: %.190s", why, what);
	return false;
}

static size_t unescape_one(const char **s, char *out, size_t room)
{
	unsigned count = 0, value = 0;
	char c = *(*s)++;
	int used = 0;

	if (c != '\\') {
		*out = c;
		return 1;
	}
	if (sscanf(*s, "{%u*%n", &count, &used) == 1 && used && count < room) {
		memset(out, (*s)[used], count);
		*s += used + 2;
		return count;
	}
	c = *(*s)++;
	if (c == 'x' && sscanf(*s, "%2x", &value) == 1)
		*s += 2;
	*out = c == 'r'   ? '\r'
	       : c == 'n' ? '\n'
	       : c == 't' ? '\t'
	       : c == '0' ? '\0'
	       : c == 'x' ? (char)value
			  : c;
	return 1;
}

static size_t unescape(const char *s, char *out, size_t room)
{
	size_t n = 0;

	while (*s && n < room)
		n += unescape_one(&s, out + n, room - n);
	return n;
}

/* All lines to send from i on, as one piece; returns the first line after them. */
static size_t send_lines(const struct talk *t, struct play *p, size_t i)
{
	char *octets = malloc(SENT_MAX);
	size_t n = 0;

	for (; i < t->n_lines && t->lines[i][0] == '>'; i++) {
		const char *line = t->lines[i] + 1;
		bool raw = *line == '=';

		line += raw;
		line += *line == ' ';
		n += unescape(line, octets + n, SENT_MAX - n - 2);
		if (!raw) {
			memcpy(octets + n, "\r\n", 2);
			n += 2;
		}
	}
	/* A refusal may come before all is sent; what is read says whether that is right. */
	if (p->octetwise && n <= OCTETWISE_MAX) {
		for (size_t k = 0; k < n; k++)
			if (!client_send(p->client, octets + k, 1))
				break;
	} else {
		client_send(p->client, octets, n);
	}
	free(octets);
	return i;
}

static bool check_status(struct play *p, const char *allowed, bool content)
{
	char status[16];

	answer_free(&p->answer);
	p->known = client_read_answer(p->client, content, &p->answer);
	if (!p->known)
		return fail(p, "no whole answer, wanted", allowed);
	snprintf(status, sizeof(status), "%d", p->answer.status);
	if (!strstr(allowed, status)) {
		snprintf(p->why, sizeof(p->why), "status %d, wanted %s",
		    p->answer.status, allowed);
		return false;
	}
	return true;
}

static bool check_field(struct play *p, const char *line)
{
	size_t len = strcspn(line, ":");
	char name[100], value[1000];
	const char *wanted = line + len + 1 + strspn(line + len + 1, " ");

	snprintf(name, sizeof(name), "%.*s", (int)len, line);
	if (!answer_field(&p->answer, name, value, sizeof(value)))
		return fail(p, "field is missing", line);
	if (strcmp(value, wanted))
		return fail(p, value, line);
	return true;
}

static bool check_line(struct play *p, const char *line)
{
	char value[1000];

	if (!strncmp(line, "< ", 2))
		return check_status(p, line + 2, true);
	if (!strncmp(line, "<head ", 6))
		return check_status(p, line + 6, false);
	if (!p->known)
		return fail(p, "no answer to look at", line);
	if (!strncmp(line, "<field ", 7))
		return check_field(p, line + 7);
	if (!strncmp(line, "<nofield ", 9))
		return !answer_field(
			   &p->answer, line + 9, value, sizeof(value)) ||
		       fail(p, "field is there", line);
	if (!strncmp(line, "<body ", 6))
		return (p->answer.body && strstr(p->answer.body, line + 6)) ||
		       fail(p, p->answer.body ? p->answer.body : "", line);
	if (!strncmp(line, "<nobody ", 8))
		return !p->answer.body || !strstr(p->answer.body, line + 8) ||
		       fail(p, "content holds", line);
	return fail(p, "cannot read the line", line);
}

static bool check_end(struct play *p, const char *line)
{
	static const char *const ends[] = {
	    "more octets", "closed", "cut", "still open"};
	enum client_end end;

	if (!strcmp(line, "open")) {
		client_say(p->client,
		    "GET /still-there HTTP/1.1\r\nHost: localhost\r\n\r\n");
		return check_status(p, "200|401|404", true);
	}
	if (strcmp(line, "close"))
		return fail(p, "a case ends in open or close, not", line);
	end = client_read_end(p->client, 30000);
	return end == END_CLOSED || fail(p, "wanted the end", ends[end]);
}

static bool play_lines(const struct talk *t, struct play *p)
{
	size_t i = 0;

	while (i + 1 < t->n_lines) {
		if (t->lines[i][0] == '>')
			i = send_lines(t, p, i);
		else if (!check_line(p, t->lines[i++]))
			return false;
	}
	if (i >= t->n_lines)
		return fail(p, "the case has no end", t->name);
	return check_end(p, t->lines[i]);
}

static void play_case(struct talk *t)
{
	for (int octetwise = 0; t->n_lines > 0 && octetwise < 2; octetwise++) {
		struct play p = {.octetwise = octetwise};
		bool ok = false;

		p.client = client_open(t->address, t->ca);
		if (p.client)
			ok = play_lines(t, &p);
		else
			fail(&p, "no connection to", t->address);
		t->n_cases++;
		t->n_failed += !ok;
		if (!ok)
			printf("FAIL %s: %s%s\n     %s\n", t->file, t->name,
			    octetwise ? " (octet by octet)" : "", p.why);
		answer_free(&p.answer);
		client_close(p.client);
	}
	while (t->n_lines > 0)
		free(t->lines[--t->n_lines]);
}

static bool play_file(struct talk *t, const char *path)
{
	FILE *f = fopen(path, "r");
	char *line = NULL;
	size_t cap = 0;
	ssize_t len;

	t->file = path;
	if (!f)
		return false;
	while ((len = getline(&line, &cap, f)) > 0) {
		if (line[len - 1] == '\n')
			line[--len] = '\0';
		if (!len || line[0] == '#')
			continue;
		if (!strncmp(line, "== ", 3)) {
			play_case(t);
			snprintf(t->name, sizeof(t->name), "%s", line + 3);
		} else if (t->n_lines < LINES_MAX) {
			t->lines[t->n_lines++] = strdup(line);
		}
	}
	play_case(t);
	free(line);
	fclose(f);
	return true;
}

int main(int argc, char **argv)
{
	struct talk t = {.name = "before the first case"};

	if (argc < 4) {
		fprintf(stderr, "talk ADDRESS CA|- FILE.talk...\n");
		return 64;
	}
	t.address = argv[1];
	t.ca = strcmp(argv[2], "-") ? argv[2] : NULL;
	for (int i = 3; i < argc; i++) {
		if (!play_file(&t, argv[i])) {
			fprintf(stderr, "talk: cannot read %s\n", argv[i]);
			return 66;
		}
	}
	printf("%d conversations, %d failed\n", t.n_cases, t.n_failed);
	return t.n_failed || !t.n_cases ? 1 : 0;
}
