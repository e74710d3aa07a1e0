/* SPDX-License-Identifier: MIT */
/*
 * client.c - one HTTPS call, and when to make it again.
 *
 * The key goes only to the address signed in at: no redirects, no proxy for this machine
 * itself, TLS 1.2 at least, the name and chain always checked.  There is no switch that
 * turns a check off; a studio's own authority is given as a file instead.
 *
 * Waiting is bounded by a deadline on the monotonic clock.  A server that is away is tried
 * for a second only, since somebody sits before the screen; a busy one for twenty.
 */
#include "client.h"

#include <curl/curl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/random.h>
#include <time.h>

#include "alloc.h"
#include "settings.h"
#include "status.h"
#include "text.h"

#define ANSWER_MAX                                                             \
	(64L * 1024 * 1024) /* a tear sheet of a large class is below 2 MiB */
#define CONNECT_SECONDS 10L
#define CALL_SECONDS 120L
#define WAIT_BUSY 20
#define WAIT_AWAY 1
#define ONCE_MAX 64

struct client {
	CURL *curl;
	char *server, *ca, *key;
	char once[ONCE_MAX + 1];
	int n_posts, wait_seconds;
	void (*waiting)(void *ctx, const char *why);
	void *ctx;
	char wrong[CURL_ERROR_SIZE];
};

struct receiving {
	struct answer *answer;
	size_t cap;
};

static char *copy(const char *s)
{
	return s ? xstrdup(s) : NULL;
}

static bool make_once(char once[static ONCE_MAX + 1], struct err *err)
{
	unsigned char random[16];
	if (getrandom(random, sizeof(random), 0) != (ssize_t)sizeof(random))
		return err_set(
		    err, ERR_INTERNAL, "the system gives no random bytes");
	for (size_t i = 0; i < sizeof(random); i++)
		snprintf(once + 2 * i, 3, "%02x", random[i]);
	return true;
}

static bool take_once(struct client *c, const char *once, struct err *err)
{
	if (!once)
		return make_once(c->once, err);
	size_t len = strlen(once);
	bool good = len > 0 && len <= ONCE_MAX - 4;
	for (size_t i = 0; good && i < len; i++)
		good = once[i] > ' ' && once[i] <= '~' && once[i] != '"' &&
		       once[i] != '\\';
	if (!good) {
		cli_fail(err, CLI_USAGE, "\"%.80s\" cannot name a single doing",
		    once);
		return err_hint(err,
		    "Use 1 to %d letters, digits and signs without blanks.",
		    ONCE_MAX - 4);
	}
	memcpy(c->once, once, len + 1);
	return true;
}

static size_t on_body(char *bytes, size_t one, size_t n, void *ctx)
{
	struct receiving *r = ctx;
	struct answer *a = r->answer;
	size_t len = one * n;
	if (len > (size_t)ANSWER_MAX - a->len)
		return 0;
	if (a->len + len + 1 > r->cap) {
		r->cap = (a->len + len + 1) * 2;
		a->body = xrealloc(a->body, r->cap, 1);
	}
	memcpy(a->body + a->len, bytes, len);
	a->len += len;
	a->body[a->len] = '\0';
	return len;
}

static size_t on_header(char *line, size_t one, size_t n, void *ctx)
{
	struct receiving *r = ctx;
	answer_add_header(r->answer, line, one * n);
	return one * n;
}

static bool set_up(struct client *c)
{
	CURL *h = c->curl;
	bool plain = strncmp(c->server, "http://", 7) == 0;
	bool ok =
	    !curl_easy_setopt(h, CURLOPT_NOSIGNAL, 1L) &&
	    !curl_easy_setopt(
		h, CURLOPT_PROTOCOLS_STR, plain ? "http" : "https") &&
	    !curl_easy_setopt(h, CURLOPT_FOLLOWLOCATION, 0L) &&
	    !curl_easy_setopt(
		h, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2) &&
	    !curl_easy_setopt(h, CURLOPT_SSL_VERIFYPEER, 1L) &&
	    !curl_easy_setopt(h, CURLOPT_SSL_VERIFYHOST, 2L) &&
	    !curl_easy_setopt(
		h, CURLOPT_HTTP_VERSION, (long)CURL_HTTP_VERSION_1_1) &&
	    !curl_easy_setopt(h, CURLOPT_CONNECTTIMEOUT, CONNECT_SECONDS) &&
	    !curl_easy_setopt(h, CURLOPT_TIMEOUT, CALL_SECONDS) &&
	    !curl_easy_setopt(h, CURLOPT_MAXFILESIZE, ANSWER_MAX) &&
	    !curl_easy_setopt(
		h, CURLOPT_USERAGENT, "tearshare/" PROJECT_VERSION) &&
	    !curl_easy_setopt(h, CURLOPT_ERRORBUFFER, c->wrong) &&
	    !curl_easy_setopt(h, CURLOPT_WRITEFUNCTION, on_body) &&
	    !curl_easy_setopt(h, CURLOPT_HEADERFUNCTION, on_header);
	if (ok && settings_is_loopback(c->server))
		ok = !curl_easy_setopt(h, CURLOPT_NOPROXY, "*");
	if (ok && c->ca)
		ok = !curl_easy_setopt(h, CURLOPT_CAINFO, c->ca) &&
		     !curl_easy_setopt(h, CURLOPT_CAPATH, NULL);
	return ok;
}

bool client_new(
    const struct client_config *config, struct client **out, struct err *err)
{
	struct client *c = xcalloc(1, sizeof(*c));
	c->server = copy(config->server);
	c->ca = copy(config->ca);
	c->key = copy(config->key);
	c->wait_seconds = config->wait_seconds;
	c->waiting = config->waiting;
	c->ctx = config->ctx;
	bool ok = take_once(c, config->once, err);
	if (ok) {
		c->curl = curl_easy_init();
		ok = (c->curl && set_up(c)) ||
		     err_set(err, ERR_INTERNAL,
			 "libcurl cannot do what this program needs");
	}
	if (!ok) {
		client_delete(c);
		c = NULL;
	}
	*out = c;
	return ok;
}

void client_delete(struct client *c)
{
	if (!c)
		return;
	curl_easy_cleanup(c->curl);
	if (c->key)
		explicit_bzero(c->key, strlen(c->key));
	free(c->server);
	free(c->ca);
	free(c->key);
	free(c);
}

static struct curl_slist *add_header(
    struct curl_slist *list, const char *name, const char *value)
{
	struct text line;
	text_init(&line, 1000);
	text_addf(&line, "%s: %s", name, value);
	struct curl_slist *longer = curl_slist_append(list, line.data);
	if (!longer)
		abort();
	explicit_bzero(line.data, line.len);
	text_free(&line);
	return longer;
}

/* The first POST of a command carries the name itself, later ones a number behind it. */
static void once_for_post(struct client *c, char once[static ONCE_MAX + 8])
{
	if (++c->n_posts == 1)
		snprintf(once, ONCE_MAX + 8, "\"%s\"", c->once);
	else
		snprintf(once, ONCE_MAX + 8, "\"%.60s-%d\"", c->once,
		    c->n_posts % 1000);
}

static struct curl_slist *make_headers(
    struct client *c, const struct asking *asking)
{
	struct curl_slist *list = NULL;
	char once[ONCE_MAX + 8];
	list = curl_slist_append(list, "Expect:");
	if (c->key) {
		char bearer[KEY_TEXT_LEN + 16];
		snprintf(bearer, sizeof(bearer), "Bearer %s", c->key);
		list = add_header(list, "Authorization", bearer);
		explicit_bzero(bearer, sizeof(bearer));
	}
	if (asking->body)
		list = add_header(list, "Content-Type", "application/json");
	if (asking->if_match)
		list = add_header(list, "If-Match", asking->if_match);
	if (strcmp(asking->method, "POST") == 0) {
		once_for_post(c, once);
		list = add_header(list, "Idempotency-Key", once);
	}
	return list;
}

static void forget_headers(struct curl_slist *list)
{
	for (struct curl_slist *l = list; l; l = l->next)
		explicit_bzero(l->data, strlen(l->data));
	curl_slist_free_all(list);
}

/* One attempt: true when there is an answer, whatever it says. */
static bool perform(struct client *c, struct answer *out, CURLcode *code)
{
	struct receiving receiving = {.answer = out};
	answer_free(out);
	c->wrong[0] = '\0';
	out->body = xcalloc(1, 1);
	curl_easy_setopt(c->curl, CURLOPT_WRITEDATA, &receiving);
	curl_easy_setopt(c->curl, CURLOPT_HEADERDATA, &receiving);
	*code = curl_easy_perform(c->curl);
	curl_easy_getinfo(c->curl, CURLINFO_RESPONSE_CODE, &out->status);
	return *code == CURLE_OK;
}

/* True when nothing of the request can have reached the server. */
static bool never_sent(CURLcode code)
{
	return code == CURLE_COULDNT_CONNECT ||
	       code == CURLE_COULDNT_RESOLVE_HOST;
}

static bool may_repeat_after(CURLcode code, const struct asking *asking)
{
	bool repeatable = strcmp(asking->method, "GET") == 0 ||
			  strcmp(asking->method, "POST") == 0;
	switch (code) {
	case CURLE_COULDNT_CONNECT:
		return true;
	case CURLE_GOT_NOTHING:
	case CURLE_SEND_ERROR:
	case CURLE_RECV_ERROR:
	case CURLE_PARTIAL_FILE:
	case CURLE_SSL_CONNECT_ERROR:
	case CURLE_OPERATION_TIMEDOUT:
		return repeatable;
	default:
		return false;
	}
}

static double now(void)
{
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static void pause_for(double seconds)
{
	struct timespec t = {
	    (time_t)seconds, (long)((seconds - (double)(time_t)seconds) * 1e9)};
	while (nanosleep(&t, &t) != 0)
		;
}

/* How long to wait before attempt n + 1: what the server says, else 0.2, 0.4, ... 5 s. */
static double pause_length(int n, const struct answer *a)
{
	double seconds = 0.2;
	while (n-- > 1 && seconds < 5)
		seconds *= 2;
	if (a->retry_after > 0 && (double)a->retry_after > seconds)
		seconds = (double)a->retry_after;
	return seconds;
}

static double patience(const struct client *c, CURLcode code)
{
	if (c->wait_seconds >= 0)
		return c->wait_seconds;
	return never_sent(code) ? WAIT_AWAY : WAIT_BUSY;
}

static bool attempt_until_answered(struct client *c,
    const struct asking *asking, struct answer *out, CURLcode *code)
{
	double start = now();
	for (int n = 1;; n++) {
		bool answered = perform(c, out, code);
		bool again = answered ? answer_says_later(out)
				      : may_repeat_after(*code, asking);
		double wait = pause_length(n, out);
		if (!again || now() + wait > start + patience(c, *code))
			return answered;
		if (c->waiting)
			c->waiting(c->ctx,
			    answered ? "the server is busy" : "no answer yet");
		pause_for(wait);
	}
}

static void aim(struct client *c, const struct asking *asking, const char *url,
    const char *body, struct curl_slist *headers)
{
	bool get = strcmp(asking->method, "GET") == 0;
	curl_easy_setopt(c->curl, CURLOPT_URL, url);
	curl_easy_setopt(c->curl, CURLOPT_HTTPHEADER, headers);
	curl_easy_setopt(c->curl, CURLOPT_HTTPGET, 1L);
	if (body)
		curl_easy_setopt(c->curl, CURLOPT_POSTFIELDS, body);
	curl_easy_setopt(
	    c->curl, CURLOPT_CUSTOMREQUEST, get ? NULL : asking->method);
}

bool client_call(struct client *c, const struct asking *asking,
    struct answer *out, struct err *err)
{
	struct text url;
	CURLcode code;
	text_init(&url, 2000);
	text_addf(&url, "%s%s", c->server, asking->path);
	char *body =
	    asking->body ? json_dumps(asking->body, JSON_COMPACT) : NULL;
	struct curl_slist *headers = make_headers(c, asking);
	*out = (struct answer){.retry_after = -1};
	aim(c, asking, url.data, body, headers);
	bool answered = attempt_until_answered(c, asking, out, &code);
	struct wire_failure failure = {.code = (int)code,
	    .server = c->server,
	    .ca = c->ca,
	    .detail = c->wrong,
	    .method = asking->method,
	    .sent = !never_sent(code)};
	curl_easy_getinfo(c->curl, CURLINFO_SSL_VERIFYRESULT, &failure.verify);
	curl_easy_setopt(c->curl, CURLOPT_HTTPHEADER, NULL);
	forget_headers(headers);
	free(body);
	text_free(&url);
	return answered ? answer_judge(out, err)
			: client_explain(&failure, err);
}
