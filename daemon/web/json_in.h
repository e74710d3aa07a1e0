/* SPDX-License-Identifier: MIT */
/*
 * JSON bodies, read strictly.
 *
 *     struct json_in in;
 *     json_in_begin(&in, call, call->body, "", (const char *const[]){ "name", "count", NULL });
 *     json_in_line(&in, "name", NEEDED, 80, &name);
 *     json_in_number(&in, "count", NEEDED, 1, 500, &count);
 *     if (call_is_faulty(call))
 *             return;
 *
 * What is wrong becomes a fault with its JSON pointer, and reading goes on, so that one answer
 * names all that is wrong.  A reader returns true when it wrote *out: a member that may be left
 * out and is leaves *out as it was.
 */
#ifndef WEB_JSON_IN_H
#define WEB_JSON_IN_H

#include "call.h"
#include "measure.h"

#define JSON_DEPTH_MAX 16
#define JSON_LIST_MAX 1000

enum need { NEEDED, MAY_LACK, MAY_BE_NULL /* or lack; null writes NULL */ };

struct json_in {
	struct call *call;
	json_t *object;
	const char *at; /* pointer of the object: "" or "/invoices/3" */
};

/* Bytes into call->body, or false with the call's err and trouble set (400). */
bool json_in_parse(struct call *call, const char *bytes, size_t len) MUST_USE;

/* object must be an object; members that are none of `known` are faults. */
void json_in_begin(struct json_in *in, struct call *call, json_t *object,
    const char *at, const char *const *known);
bool json_in_has(const struct json_in *in, const char *name);
const char *json_in_pointer(const struct json_in *in, const char *name);

/* One line of text of at most max signs.  A name must show something. */
bool json_in_line(struct json_in *in, const char *name, enum need need,
    size_t max, const char **out);
bool json_in_name(struct json_in *in, const char *name, enum need need,
    size_t max, const char **out);
bool json_in_number(struct json_in *in, const char *name, enum need need,
    int64_t min, int64_t max, int64_t *out);
bool json_in_bool(
    struct json_in *in, const char *name, enum need need, bool *out);
/* One of a list of words (NULL-terminated): its index. */
bool json_in_word(struct json_in *in, const char *name, enum need need,
    const char *const *words, int64_t *out);
bool json_in_day(
    struct json_in *in, const char *name, enum need need, const char **out);
bool json_in_instant(
    struct json_in *in, const char *name, enum need need, const char **out);
/* "12 1/2 in" or a whole number of 1/320 mm.  text (may be NULL): as it was written, or printed
 * in the studio's measure.  zero: 0 is fine too. */
bool json_in_length(struct json_in *in, const char *name, enum need need,
    bool zero, length *out, const char **text);
/* Of a value that is no member: an element of a list. */
bool json_in_length_value(struct call *call, json_t *value, const char *pointer,
    bool zero, length *out);
/* A list, borrowed; a fault when it is longer than max. */
bool json_in_list(struct json_in *in, const char *name, enum need need,
    size_t max, json_t **out);
/* A list of different ids. */
bool json_in_ids(struct json_in *in, const char *name, enum need need,
    size_t max, int64_t *ids, size_t *n);
/* A list of role names, at least one. */
bool json_in_roles(
    struct json_in *in, const char *name, enum need need, int64_t *roles);

/* Text for a message: cut at 60 bytes, nothing that controls a terminal. */
const char *shown(struct call *call, const char *text);

#endif
