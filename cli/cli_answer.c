/* SPDX-License-Identifier: MIT */
/*
 * cli_answer.c - what the server said.
 *
 * A refusal is told with the server's own words (RFC 9457: detail, hint, errors), since
 * it knows the value and the rule.  Members we do not know are passed over.  Only when
 * there is no problem in the body, as from a proxy between us, the status speaks.
 */
#include "cli_answer.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "alloc.h"
#include "reach.h"
#include "status.h"
#include "text.h"

struct reading {
	long status;
	int kind;
	const char *text, *hint; /* when the server did not say it itself */
};

/* docs/protocol.md, the table of errors; the last line stands for all others. */
static const struct reading readings[] = {
    {400, ERR_INPUT, "the server cannot read what was sent", ""},
    {401, ERR_UNKNOWN, "the server does not accept the key",
	"Ask your studio for a new key, then: tearshare signin URL < keyfile"},
    {403, ERR_DENIED, "your role does not allow it",
	"See what you may do: tearshare whoami"},
    {404, ERR_MISSING, "there is no such thing, or it is not yours", ""},
    {405, CLI_PROTOCOL, "the server does not know this way of asking", ""},
    {409, ERR_CONFLICT, "the thing is not in the state this needs", ""},
    {412, ERR_STALE, "somebody changed it meanwhile",
	"Look at it again, then repeat the command."},
    {413, ERR_INPUT, "the server refuses so much at once", ""},
    {415, CLI_PROTOCOL, "the server does not take JSON here", ""},
    {421, CLI_PROTOCOL, "the server does not answer to this name",
	"Use the name under which the studio's server is known."},
    {422, ERR_INPUT, "a value was refused", ""},
    {428, ERR_STALE, "the server wants to know which version was seen", ""},
    {429, ERR_LIMIT, "the server asks to slow down", ""},
    {500, ERR_INTERNAL, "the server has a fault", ""},
    {502, ERR_BUSY, "the server behind this address is away", ""},
    {503, ERR_BUSY, "the server is busy", "Try again in a moment."},
    {504, ERR_BUSY, "the server behind this address is slow",
	"Try again in a moment."},
    {0, CLI_PROTOCOL, "the server answers in a way this program does not know",
	"Is that the address of a tearshare server?"},
};

void answer_free(struct answer *a)
{
	free(a->body);
	json_decref(a->json);
	*a = (struct answer){.retry_after = -1};
}

static bool breaks(unsigned char c)
{
	return c < 0x20 || c == 0x7F;
}

/* Bytes at s that could steer a terminal or turn the text around: their number, 0 for none. */
static size_t steering(const unsigned char *s)
{
	if (s[0] == 0xC2 && s[1] >= 0x80 && s[1] < 0xA0) /* C1 */
		return 2;
	if (s[0] == 0xE2 && s[1] == 0x80 &&
	    ((s[2] >= 0xA8 && s[2] <= 0xAE) || s[2] == 0x8E || s[2] == 0x8F))
		return 3; /* U+2028-202E, marks of direction */
	return s[0] == 0xE2 && s[1] == 0x81 && s[2] >= 0xA6 && s[2] <= 0xA9
		   ? 3
		   : 0; /* U+2066-2069 */
}

void text_clean(char *s)
{
	unsigned char *from = (unsigned char *)s, *to = from;
	bool valid = utf8_is_valid(s, strlen(s));
	while (*from) {
		size_t n = steering(from);
		bool bad = n || breaks(*from) || (!valid && *from >= 0x80);
		*to++ = bad ? '?' : *from;
		from += n ? n : 1;
	}
	*to = '\0';
}

static const struct reading *reading_of(long status)
{
	const struct reading *r = readings;
	while (r->status && r->status != status)
		r++;
	return r;
}

/* "Name: value" when line is that header: the value without blanks around, else NULL. */
static const char *value_of(
    const char *line, size_t len, const char *name, size_t *value_len)
{
	size_t n = strlen(name);
	if (len <= n || line[n] != ':' || strncasecmp(line, name, n) != 0)
		return NULL;
	const char *at = line + n + 1, *end = line + len;
	while (at < end && (*at == ' ' || *at == '\t'))
		at++;
	while (end > at && strchr(" \t\r\n", end[-1]))
		end--;
	*value_len = (size_t)(end - at);
	return at;
}

static void keep(char *to, size_t size, const char *value, size_t len)
{
	if (len < size && !memchr(value, '\0', len)) {
		memcpy(to, value, len);
		to[len] = '\0';
	}
}

/* A content type without its parameters. */
static size_t type_length(const char *value, size_t len)
{
	size_t n = 0;
	while (n < len && !strchr("; \t", value[n]))
		n++;
	return n;
}

/* The line is not a string: libcurl hands out bytes and a length. */
void answer_add_header(struct answer *a, const char *line, size_t len)
{
	size_t n;
	const char *value;
	if ((value = value_of(line, len, "ETag", &n))) {
		keep(a->etag, sizeof(a->etag), value, n);
	} else if ((value = value_of(line, len, "Content-Type", &n))) {
		keep(a->type, sizeof(a->type), value, type_length(value, n));
	} else if ((value = value_of(line, len, "Retry-After", &n))) {
		char digits[10] = "";
		keep(digits, sizeof(digits), value, n);
		if (*digits && strspn(digits, "0123456789") == strlen(digits))
			a->retry_after = strtol(digits, NULL, 10);
	}
}

static bool is_json(const struct answer *a)
{
	return strcasecmp(a->type, "application/json") == 0 ||
	       strcasecmp(a->type, "application/problem+json") == 0;
}

/* The errors[] of a problem that say more than its detail. */
static void add_errors(
    struct text *text, const json_t *errors, const char *detail)
{
	size_t i, shown = 0;
	const json_t *one;
	json_array_foreach(errors, i, one)
	{
		const char *what = reach_text(one, "detail");
		const char *where = reach_text(one, "pointer");
		if (!*what || (strcmp(what, detail) == 0 && i == 0) ||
		    shown++ == 5)
			continue;
		text_addf(text, "\n  %s%s%s", where, *where ? ": " : "", what);
	}
}

/* Clean, but for the line breaks that add_errors wrote. */
static void clean_lines(char *s)
{
	for (char *line = s, *end; line; line = end ? end + 1 : NULL) {
		end = strchr(line, '\n');
		if (end)
			*end = '\0';
		size_t before = strlen(line);
		text_clean(line);
		size_t after = strlen(line);
		if (end && after < before) {
			memset(line + after, ' ', before - after);
			line[before] = '\0';
		}
		if (end)
			*end = '\n';
	}
}

static void tell_problem(
    const json_t *problem, const struct reading *r, struct err *err)
{
	const char *detail = reach_text(problem, "detail");
	const char *hint = reach_text(problem, "hint");
	const char *id = reach_text(problem, "request_id");
	const char *place = reach_text(problem, "errors/0/pointer");
	const json_t *errors = json_object_get(problem, "errors");
	struct text text;
	text_init(&text, sizeof(err->text) - 1);
	text_addf(&text, "%.300s", *detail ? detail : r->text);
	add_errors(&text, errors, detail);
	clean_lines(text.data);
	err_set(err, (enum err_kind)r->kind, "%s", text.data);
	text_free(&text);
	err_field(err, "%.120s", place);
	if (r->kind == ERR_INTERNAL && *id)
		err_hint(err,
		    "Tell the studio the number %.60s: it finds the "
		    "fault in the server's log.",
		    id);
	else
		err_hint(err, "%.250s", *hint ? hint : r->hint);
	text_clean(err->hint);
	text_clean(err->field);
}

static bool tell_redirect(const struct answer *a, struct err *err)
{
	cli_fail(err, CLI_PROTOCOL,
	    "the server sends us elsewhere (status %ld), which is not followed "
	    "with a key",
	    a->status);
	return err_hint(
	    err, "Sign in with the server's own address: tearshare signin URL");
}

static bool refuse(struct answer *a, struct err *err)
{
	const struct reading *r = reading_of(a->status);
	if (a->status >= 300 && a->status < 400)
		return tell_redirect(a, err);
	json_t *problem =
	    is_json(a) ? json_loadb(a->body, a->len, 0, NULL) : NULL;
	if (json_is_object(problem)) {
		tell_problem(problem, r, err);
	} else {
		err_set(err, (enum err_kind)r->kind, "%s (status %ld)", r->text,
		    a->status);
		err_hint(err, "%s", r->hint);
	}
	if (r->kind == ERR_LIMIT && a->retry_after > 0 && !err->hint[0])
		err_hint(err, "Try again in %ld seconds.", a->retry_after);
	json_decref(problem);
	return false;
}

bool answer_judge(struct answer *a, struct err *err)
{
	json_error_t wrong;
	if (a->status < 200 || a->status >= 300)
		return refuse(a, err);
	if (a->len == 0 || !is_json(a))
		return true;
	a->json = json_loadb(a->body, a->len, 0, &wrong);
	if (a->json)
		return true;
	cli_fail(err, CLI_PROTOCOL,
	    "the server's answer is not JSON (line %d, column %d)", wrong.line,
	    wrong.column);
	return err_hint(err, "Is that the address of a tearshare server?");
}

bool answer_says_later(const struct answer *a)
{
	return a->status == 503 || a->status == 429 || a->status == 502 ||
	       a->status == 504 || (a->status == 409 && a->retry_after >= 0);
}
