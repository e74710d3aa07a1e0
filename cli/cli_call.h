/* SPDX-License-Identifier: MIT */
/*
 * One run of the program: what was asked, what is known, where answers go.
 *
 * A command is a function bool cmd_name(struct call *, struct err *).  It reads its words
 * and options here, asks the server through call_get() and friends, and shows the answer
 * with call_show().  Standard output is the answer, call_say() the talk beside it.
 */
#ifndef CLI_CALL_H
#define CLI_CALL_H

#include <stdio.h>

#include "client.h"
#include "settings.h"
#include "table.h"

struct command;

#define WORDS_MAX 64
#define OPTIONS_MAX 128

struct given {
	const char *name, *value; /* value "" for a switch */
};

struct call {
	const struct command *command;
	const char *word[WORDS_MAX]; /* behind the command and its verb */
	size_t n_words;
	struct given given[OPTIONS_MAX]; /* in the order typed */
	size_t n_given;

	struct paper_and_pen pen;
	FILE *talk;
	bool talk_is_terminal, in_progress;

	struct settings settings;
	struct client *client; /* made when first needed */
	json_t *studio;        /* asked for when first needed */
};

/* Nothing is read yet: settings come with call_settings(), the client with the first call. */
void call_init(struct call *call, FILE *out, FILE *talk);
void call_free(struct call *call);
bool call_settings(struct call *call, struct err *err) MUST_USE;

/* The last value given to an option, NULL when it was not given. */
const char *call_option(const struct call *call, const char *name);
/* Each value of an option given several times: start with *at = 0; NULL at the end. */
const char *call_each(const struct call *call, const char *name, size_t *at);
/* A word, NULL when there are fewer. */
const char *call_word(const struct call *call, size_t i);
/* The words from i on, joined by blanks; yours to free. */
char *call_words_from(const struct call *call, size_t i);

/* Tell something beside the answer; a newline is added. */
void call_say(struct call *call, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* A line that the next one overwrites on a terminal; "" ends it. */
void call_progress(struct call *call, const char *line);

/*
 * Ask the server.  The path is made as by printf, from numbers and our own words only.
 * *out is yours to json_decref(), NULL for an answer without content; body is consumed.
 */
bool call_get(struct call *call, json_t **out, struct err *err,
    const char *path, ...) PRINTF_LIKE(4, 5) MUST_USE;
/* All pages of a list as one {"items": [...], "next": null}; the path has no limit or after. */
bool call_list(struct call *call, json_t **out, struct err *err,
    const char *path, ...) PRINTF_LIKE(4, 5) MUST_USE;
bool call_post(struct call *call, json_t *body, json_t **out, struct err *err,
    const char *path, ...) PRINTF_LIKE(5, 6) MUST_USE;
/* PATCH or DELETE with the version last seen: --seen, or asked for just before. */
bool call_change(struct call *call, const char *method, json_t *body,
    json_t **out, struct err *err, const char *path, ...)
    PRINTF_LIKE(6, 7) MUST_USE;
/* DELETE of what has no version. */
bool call_delete(struct call *call, struct err *err, const char *path, ...)
    PRINTF_LIKE(3, 4) MUST_USE;
/* An answer that is no JSON: a text or a PDF; *out is yours to answer_free(). */
bool call_fetch(struct call *call, struct answer *out, struct err *err,
    const char *path, ...) PRINTF_LIKE(4, 5) MUST_USE;
/* Make the client for this server and key instead of those of the profile. */
bool call_connect(struct call *call, const char *server, const char *ca,
    const char *key, struct err *err) MUST_USE;

/* The studio; borrowed. NULL on failure. */
const json_t *call_studio(struct call *call, struct err *err);

/* Show one object or a list: as JSON, plain, or for people. */
void call_show(struct call *call, const json_t *object);
/* For people `none` is told when the list is empty. */
void call_show_list(struct call *call, const json_t *list, const char *none);
/* The same with other columns than the command's own. */
void call_show_as(
    struct call *call, const struct column *columns, const json_t *list);

/* True when a sentence may be shown instead of the object. */
static inline bool call_for_people(const struct call *call)
{
	return call->pen.style == STYLE_PEOPLE;
}

#endif
