/* SPDX-License-Identifier: MIT */
/*
 * cli_call.c - one run of the program.
 *
 * The client is made with the first call to the server, so that help and local arithmetic
 * need neither key nor network.  A change first asks for the version and then names it,
 * unless the person says which version was seen: two instructors at two screens are then
 * told of each other.
 */
#include "cli_call.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "command.h"
#include "reach.h"
#include "status.h"

#define PAGES_MAX 1000
#define PATH_MAX_LEN 400

void call_init(struct call *call, FILE *out, FILE *talk)
{
	*call = (struct call){.talk = talk};
	call->pen = (struct paper_and_pen){.out = out, .width = 80};
}

void call_free(struct call *call)
{
	client_delete(call->client);
	json_decref(call->studio);
	settings_free(&call->settings);
}

bool call_settings(struct call *call, struct err *err)
{
	return settings_load(
	    call_option(call, "profile"), &call->settings, err);
}

const char *call_each(const struct call *call, const char *name, size_t *at)
{
	while (*at < call->n_given) {
		const struct given *g = &call->given[(*at)++];
		if (strcmp(g->name, name) == 0)
			return g->value;
	}
	return NULL;
}

const char *call_option(const struct call *call, const char *name)
{
	const char *last = NULL, *value;
	for (size_t at = 0; (value = call_each(call, name, &at));)
		last = value;
	return last;
}

const char *call_word(const struct call *call, size_t i)
{
	return i < call->n_words ? call->word[i] : NULL;
}

char *call_words_from(const struct call *call, size_t i)
{
	struct text t;
	text_init(&t, 4000);
	for (size_t k = i; k < call->n_words; k++)
		text_addf(&t, "%s%s", k > i ? " " : "", call->word[k]);
	return text_take(&t);
}

void call_say(struct call *call, const char *fmt, ...)
{
	char *line = NULL;
	va_list ap;
	fflush(call->pen.out); /* on one terminal both stay in order */
	call_progress(call, "");
	va_start(ap, fmt);
	int len = vasprintf(&line, fmt, ap);
	va_end(ap);
	if (len < 0)
		return;
	text_clean(line);
	fprintf(call->talk, "%s\n", line);
	free(line);
}

void call_progress(struct call *call, const char *line)
{
	if (!call->talk_is_terminal) {
		if (*line)
			fprintf(call->talk, "%s\n", line);
		return;
	}
	if (call->in_progress || *line)
		fprintf(call->talk, "\r\033[K%s", line);
	call->in_progress = *line != '\0';
	fflush(call->talk);
}

static void on_waiting(void *ctx, const char *why)
{
	struct call *call = ctx;
	if (call->talk_is_terminal && !call->in_progress)
		call_say(call, "%s: trying again", why);
}

static int wait_seconds(const struct call *call)
{
	const char *wait = call_option(call, "wait");
	if (!wait)
		return -1;
	long n = strtol(wait, NULL, 10);
	return n > 3600 ? 3600 : n < 0 ? 0 : (int)n;
}

bool call_connect(struct call *call, const char *server, const char *ca,
    const char *key, struct err *err)
{
	struct client_config config = {.server = server,
	    .ca = ca,
	    .key = key,
	    .once = call_option(call, "once"),
	    .wait_seconds = wait_seconds(call),
	    .waiting = on_waiting,
	    .ctx = call};
	client_delete(call->client);
	call->client = NULL;
	return client_new(&config, &call->client, err);
}

static bool no_key(const struct call *call, struct err *err)
{
	const char *profile = call_option(call, "profile");
	err_set(err, ERR_UNKNOWN, "nobody is signed in%s%s",
	    profile ? " as profile " : "", profile ? profile : "");
	return err_hint(err,
	    "Type: tearshare %s%s%ssignin URL < keyfile\n"
	    "or, with an invitation: tearshare join LINK --name NAME",
	    profile ? "--profile " : "", profile ? profile : "",
	    profile ? " " : "");
}

/* The client of the profile, made now if need be. */
static bool connected(struct call *call, struct err *err)
{
	char *key = NULL, *server = NULL;
	const char *url = call_option(call, "server");
	const char *ca = call_option(call, "ca");
	const char *file = call_option(call, "key-file");
	if (call->client)
		return true;
	bool ok = url ? settings_server(url, &server, err)
		      : call->settings.server || no_key(call, err);
	if (ok && !url)
		server = xstrdup(call->settings.server);
	ok = ok && key_load(&call->settings, file, &key, err) &&
	     (key || no_key(call, err)) &&
	     call_connect(call, server, ca ? ca : call->settings.ca, key, err);
	if (key)
		explicit_bzero(key, strlen(key));
	free(key);
	free(server);
	return ok;
}

static bool ask(struct call *call, const struct asking *asking,
    struct answer *answer, struct err *err)
{
	*answer = (struct answer){.retry_after = -1};
	return connected(call, err) &&
	       client_call(call->client, asking, answer, err);
}

/* The JSON of an answer, taken out of it; NULL for one without content. */
static bool take_json(struct answer *answer, json_t **out, struct err *err)
{
	*out = json_incref(answer->json);
	if (answer->json || answer->len == 0)
		return true;
	cli_fail(err, CLI_PROTOCOL, "the server's answer is \"%s\", not JSON",
	    answer->type);
	text_clean(err->text);
	return err_hint(err, "Is that the address of a tearshare server?");
}

#define FORMAT_PATH(path, fmt)                                                 \
	do {                                                                   \
		va_list ap_;                                                   \
		va_start(ap_, fmt);                                            \
		vsnprintf(path, sizeof(path), fmt, ap_);                       \
		va_end(ap_);                                                   \
	} while (0)

static bool get_json(
    struct call *call, const char *path, json_t **out, struct err *err)
{
	struct answer answer;
	*out = NULL;
	bool ok = ask(call, &(struct asking){"GET", path, NULL, NULL}, &answer,
		      err) &&
		  take_json(&answer, out, err);
	answer_free(&answer);
	return ok;
}

bool call_get(
    struct call *call, json_t **out, struct err *err, const char *fmt, ...)
{
	char path[PATH_MAX_LEN];
	FORMAT_PATH(path, fmt);
	return get_json(call, path, out, err);
}

/* Moves the items of a page behind those of the list; *after is the next page's, 0 at the end. */
static bool add_page(
    json_t *items, const json_t *page, int64_t *after, struct err *err)
{
	json_t *more = json_object_get(page, "items");
	int64_t next = reach_int(page, "next");
	if (!json_is_array(more) || (next != 0 && next <= *after)) {
		cli_fail(
		    err, CLI_PROTOCOL, "the server's answer is not a list");
		return err_hint(err, "Is this program older than the server?");
	}
	json_array_extend(items, more);
	*after = next;
	return true;
}

bool call_list(
    struct call *call, json_t **out, struct err *err, const char *fmt, ...)
{
	char path[PATH_MAX_LEN], paged[PATH_MAX_LEN + 60];
	json_t *items = json_array(), *page;
	int64_t after = 0;
	bool ok = true;
	FORMAT_PATH(path, fmt);
	for (int n = 0; ok && n < PAGES_MAX && (n == 0 || after); n++) {
		snprintf(paged, sizeof(paged), "%s%climit=100", path,
		    strchr(path, '?') ? '&' : '?');
		if (after)
			snprintf(paged + strlen(paged), 40, "&after=%lld",
			    (long long)after);
		ok = get_json(call, paged, &page, err) &&
		     add_page(items, page, &after, err);
		json_decref(page);
	}
	*out = ok ? json_pack("{s:o, s:n}", "items", items, "next") : NULL;
	if (!ok)
		json_decref(items);
	return ok;
}

bool call_post(struct call *call, json_t *body, json_t **out, struct err *err,
    const char *fmt, ...)
{
	char path[PATH_MAX_LEN];
	struct answer answer;
	json_t *unused = NULL;
	FORMAT_PATH(path, fmt);
	bool ok = ask(call, &(struct asking){"POST", path, body, NULL}, &answer,
		      err) &&
		  take_json(&answer, out ? out : &unused, err);
	answer_free(&answer);
	json_decref(body);
	json_decref(unused);
	return ok;
}

/* The version to name: the one the person saw, or the present one. */
static bool find_version(
    struct call *call, const char *path, char etag[static 80], struct err *err)
{
	struct answer answer;
	const char *seen = call_option(call, "seen");
	if (seen) {
		snprintf(etag, 80, "\"%.60s\"", seen);
		return true;
	}
	bool ok =
	    ask(call, &(struct asking){"GET", path, NULL, NULL}, &answer, err);
	if (ok && !answer.etag[0])
		ok = cli_fail(err, CLI_PROTOCOL,
		    "the server did not say which version it showed");
	snprintf(etag, 80, "%s", answer.etag);
	answer_free(&answer);
	return ok;
}

bool call_change(struct call *call, const char *method, json_t *body,
    json_t **out, struct err *err, const char *fmt, ...)
{
	char path[PATH_MAX_LEN], etag[80];
	struct answer answer = {.retry_after = -1};
	json_t *unused = NULL;
	FORMAT_PATH(path, fmt);
	bool ok = find_version(call, path, etag, err) &&
		  ask(call, &(struct asking){method, path, body, etag}, &answer,
		      err) &&
		  take_json(&answer, out ? out : &unused, err);
	answer_free(&answer);
	json_decref(body);
	json_decref(unused);
	return ok;
}

bool call_delete(struct call *call, struct err *err, const char *fmt, ...)
{
	char path[PATH_MAX_LEN];
	struct answer answer;
	FORMAT_PATH(path, fmt);
	bool ok = ask(
	    call, &(struct asking){"DELETE", path, NULL, NULL}, &answer, err);
	answer_free(&answer);
	return ok;
}

bool call_fetch(struct call *call, struct answer *out, struct err *err,
    const char *fmt, ...)
{
	char path[PATH_MAX_LEN];
	FORMAT_PATH(path, fmt);
	return ask(call, &(struct asking){"GET", path, NULL, NULL}, out, err);
}

const json_t *call_studio(struct call *call, struct err *err)
{
	if (!call->studio && !call_get(call, &call->studio, err, "/v1/studio"))
		return NULL;
	if (json_is_object(call->studio))
		return call->studio;
	cli_fail(err, CLI_PROTOCOL, "the server's answer is not a studio");
	return NULL;
}

/* People read instants and money in the studio's terms: ask for them when a column needs them. */
static void learn_terms(struct call *call, const struct column *columns)
{
	struct err unimportant;
	bool needed = false;
	for (const struct column *c = columns; c->path; c++)
		needed |= c->kind == COL_INSTANT && c->title;
	if (!needed || !call_for_people(call) || !call->client ||
	    !call_studio(call, &unimportant))
		return;
	call->pen.zone = reach_text(call->studio, "time_zone");
}

void call_show(struct call *call, const json_t *object)
{
	if (call->pen.style == STYLE_JSON) {
		json_write(call->pen.out, object);
		return;
	}
	learn_terms(call, call->command->columns);
	record_write(&call->pen, call->command->columns, object);
}

void call_show_as(
    struct call *call, const struct column *columns, const json_t *list)
{
	learn_terms(call, columns);
	const char *currency = reach_text(list, "currency");
	if (*currency)
		call->pen.currency = currency;
	table_write(&call->pen, columns, json_object_get(list, "items"));
	call->pen.currency = NULL;
}

void call_show_list(struct call *call, const json_t *list, const char *none)
{
	if (call->pen.style == STYLE_JSON)
		json_write(call->pen.out, list);
	else if (call_for_people(call) &&
		 json_array_size(json_object_get(list, "items")) == 0)
		call_say(call, "%s", none);
	else
		call_show_as(call, call->command->columns, list);
}
