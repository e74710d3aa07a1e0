/* SPDX-License-Identifier: MIT */
/*
 * strict.c - a head, read once, by one reader.
 *
 * Request smuggling needs two readers that disagree.  So the head is read here, and what
 * goes on to the library below is a head of our own writing with nothing of the client's
 * in it but a number (see http.c).  Where the RFC allows a server to repair something
 * (two equal lengths, white space before a colon) we refuse: nobody who sends that by
 * accident is harmed by a clear message.
 */
#include "strict.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "alloc.h"

#define LENGTH_DIGITS_MAX 10
#define QUOTE_MAX 64

static const char *const methods[] = {
    [HTTP_GET] = "GET",
    [HTTP_HEAD] = "HEAD",
    [HTTP_POST] = "POST",
    [HTTP_PUT] = "PUT",
    [HTTP_PATCH] = "PATCH",
    [HTTP_DELETE] = "DELETE",
};

/* Fields that mean something only once: a second line would leave open which one counts. */
static const char *const only_once[] = {"Host", "Content-Length",
    "Transfer-Encoding", "Content-Type", "Content-Encoding", "Authorization",
    "Cookie", "Expect", "Origin", "Referer", "If-Match", "If-None-Match",
    "If-Modified-Since", "If-Unmodified-Since", "Idempotency-Key", "Range",
    "Sec-Fetch-Site", "User-Agent"};

/* A piece of the request for a message: masked, cut. */
static const char *quote(char buf[static QUOTE_MAX], const char *s)
{
	size_t i;

	for (i = 0; i < QUOTE_MAX - 1 && s[i]; i++)
		buf[i] =
		    s[i] >= 0x20 && s[i] < 0x7f && s[i] != '"' && s[i] != '\\'
			? s[i]
			: '?';
	buf[i] = '\0';
	return buf;
}

/* RFC 9110, 5.6.2 */
static bool is_token_char(char c)
{
	return isalnum((unsigned char)c) || (c && strchr("!#$%&'*+-.^_`|~", c));
}

static bool is_token(const char *s)
{
	if (!*s)
		return false;
	while (is_token_char(*s))
		s++;
	return !*s;
}

static bool is_port(const char *s)
{
	size_t n = strspn(s, "0123456789");

	return !s[n] && n <= 5 && (n == 0 || strtol(s, NULL, 10) <= 65535);
}

/* host[:port], RFC 9110, 7.2: names, IPv4, and IPv6 in brackets. */
bool strict_check_host(const char *host, struct refusal *r)
{
	static const char letters[] =
	    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
	    "0123456789";
	char shown[QUOTE_MAX];
	const char *rest = host;

	if (*host == '[') {
		size_t n = strspn(host + 1, "0123456789abcdefABCDEF:.");

		rest = n && host[1 + n] == ']' ? host + n + 2 : host;
	} else {
		while (
		    *rest && (strchr(letters, *rest) || strchr("-._", *rest)))
			rest++;
	}
	if (rest == host || strlen(host) > 270 || (*rest && *rest != ':') ||
	    (*rest && !is_port(rest + 1)))
		return refuse(r, 400,
		    "Host is a name or address, and a port if it is not 443.",
		    "Host \"%s\" is no host", quote(shown, host));
	return true;
}

static bool host_is_named(const char *host, const char *const *names)
{
	size_t len = *host == '[' ? strcspn(host, "]") + 1 : strcspn(host, ":");

	if (!names)
		return true;
	if (len > 1 && host[len - 1] == '.')
		len--;
	for (; *names; names++)
		if (strlen(*names) == len && !strncasecmp(*names, host, len))
			return true;
	return false;
}

const char *head_field(const struct head *head, const char *name)
{
	for (size_t i = 0; i < head->n_fields; i++)
		if (!strcasecmp(head->fields[i].name, name))
			return head->fields[i].value;
	return NULL;
}

static size_t count_fields(const struct head *head, const char *name)
{
	size_t n = 0;

	for (size_t i = 0; i < head->n_fields; i++)
		n += !strcasecmp(head->fields[i].name, name);
	return n;
}

/* "HTTP/1.1": the name is case-sensitive, one digit each (RFC 9112, 2.3). */
static bool read_version(const char *s, struct head *head, struct refusal *r)
{
	if (strncmp(s, "HTTP/", 5) || !isdigit((unsigned char)s[5]) ||
	    s[6] != '.' || !isdigit((unsigned char)s[7]) || s[8])
		return refuse(r, 400,
		    "A request line is METHOD, target and HTTP/1.1.",
		    "the request line does not end in an HTTP version");
	if (s[5] != '1')
		return refuse(
		    r, 505, "Speak HTTP/1.1.", "%s is not spoken here", s);
	head->minor = s[7] == '0' ? 0 : 1;
	return true;
}

static bool read_method(const char *s, struct head *head, struct refusal *r)
{
	char shown[QUOTE_MAX];

	if (!is_token(s))
		return refuse(r, 400, NULL, "the method is no word");
	for (size_t i = 0; i < sizeof(methods) / sizeof(*methods); i++) {
		if (!strcmp(s, methods[i])) {
			head->method = (enum http_method)i;
			return true;
		}
	}
	return refuse(r, 501, "Use GET, HEAD, POST, PUT, PATCH or DELETE.",
	    "the method %s is not known here", quote(shown, s));
}

/*
 * An absolute target, cut in place: its authority is returned, its path is in *path; NULL
 * when it is refused.  The authority moves over "://", which leaves room for its terminator
 * and for the slash of a path that has none.
 */
static char *read_absolute(
    char *target, char *mark, char **path, struct refusal *r)
{
	char *from = mark + 3, *authority = mark + 1;
	size_t len = strcspn(from, "/?"), n_scheme = (size_t)(mark - target);

	if (!(n_scheme == 4 && !strncasecmp(target, "http", 4)) &&
	    !(n_scheme == 5 && !strncasecmp(target, "https", 5))) {
		refuse(
		    r, 400, NULL, "the target has a scheme that is not ours");
		return NULL;
	}
	*path = from + len;
	memmove(authority, from, len);
	authority[len] = '\0';
	if (**path != '/')
		*--*path = '/';
	return strict_check_host(authority, r) ? authority : NULL;
}

static bool read_target(
    char *target, struct head *head, char **authority, struct refusal *r)
{
	char *path = target, *mark = strstr(target, "://");

	*authority = NULL;
	if (target[0] != '/' && mark) {
		*authority = read_absolute(target, mark, &path, r);
		if (!*authority)
			return false;
	}
	if (!strict_check_target(path, r))
		return false;
	mark = strchr(path, '?');
	head->query = mark ? mark + 1 : "";
	if (mark)
		*mark = '\0';
	head->path = path;
	return true;
}

static bool read_line(
    char *line, struct head *head, char **authority, struct refusal *r)
{
	char *target = strchr(line, ' ');
	char *version = target ? strchr(target + 1, ' ') : NULL;

	if (!version)
		return refuse(r, 400,
		    "A request line is METHOD, target and HTTP/1.1.",
		    "the request line has not three parts");
	*target++ = '\0';
	*version++ = '\0';
	return read_version(version, head, r) && read_method(line, head, r) &&
	       read_target(target, head, authority, r);
}

static bool read_field(char *line, struct head *head, struct refusal *r)
{
	char *colon = strchr(line, ':'), *value, shown[QUOTE_MAX];
	size_t len;

	if (!colon)
		return refuse(r, 400, "A field is NAME: VALUE.",
		    "the field line \"%s\" has no colon", quote(shown, line));
	*colon = '\0';
	if (!is_token(line))
		return refuse(r, 400,
		    "Write the colon directly after a field's name.",
		    "\"%s\" is no field name", quote(shown, line));
	value = colon + 1 + strspn(colon + 1, " \t");
	for (len = strlen(value); len && strchr(" \t", value[len - 1]); len--)
		continue;
	value[len] = '\0';
	head->fields[head->n_fields++] = (struct http_field){line, value};
	return true;
}

static bool check_only_once(const struct head *head, struct refusal *r)
{
	for (size_t i = 0; i < sizeof(only_once) / sizeof(*only_once); i++)
		if (count_fields(head, only_once[i]) > 1)
			return refuse(r, 400, NULL,
			    "the field %s is there twice", only_once[i]);
	return true;
}

static bool check_hosts(struct head *head, const char *authority,
    const struct strict_rules *rules, struct refusal *r)
{
	const char *host = head_field(head, "Host");
	char shown[QUOTE_MAX];

	if (!host && head->minor > 0)
		return refuse(r, 400, NULL, "the field Host is missing");
	if (host && !strict_check_host(host, r))
		return false;
	if (authority && host && strcasecmp(authority, host))
		return refuse(r, 421, NULL,
		    "the target names another host than the field Host");
	head->host = host ? host : authority ? authority : "";
	if (*head->host && !host_is_named(head->host, rules->names))
		return refuse(r, 421, "Ask the server that has this name.",
		    "there is no host \"%s\" here", quote(shown, head->host));
	return true;
}

static bool check_coding(const struct head *head, struct refusal *r)
{
	const char *coding = head_field(head, "Transfer-Encoding");
	char shown[QUOTE_MAX];

	if (!coding)
		return true;
	if (head_field(head, "Content-Length"))
		return refuse(r, 400, "Send Content-Length alone.",
		    "Content-Length and Transfer-Encoding are both there");
	if (head->minor == 0)
		return refuse(r, 400, "Send Content-Length.",
		    "HTTP/1.0 has no Transfer-Encoding");
	if (!strcasecmp(coding, "chunked"))
		return refuse(r, 411, "Send Content-Length.",
		    "a body in chunks is not taken");
	if (!is_token(coding) || !strcasecmp(coding, "identity"))
		return refuse(r, 400, "Send Content-Length.",
		    "Transfer-Encoding \"%s\" is not taken",
		    quote(shown, coding));
	return refuse(r, 501, "Send Content-Length.",
	    "Transfer-Encoding \"%s\" is not known here", quote(shown, coding));
}

static bool check_length(
    struct head *head, const struct strict_rules *rules, struct refusal *r)
{
	const char *length = head_field(head, "Content-Length");
	const char *coding = head_field(head, "Content-Encoding");
	size_t n = length ? strspn(length, "0123456789") : 0;
	char shown[QUOTE_MAX];

	if (!length)
		return true;
	if (!n || length[n] || n > LENGTH_DIGITS_MAX)
		return refuse(r, 400,
		    "Content-Length is a number of octets in decimal digits.",
		    "Content-Length \"%s\" is no length", quote(shown, length));
	unsigned long long value = strtoull(length, NULL, 10);

	if (value > 0 &&
	    (head->method == HTTP_GET || head->method == HTTP_HEAD))
		return refuse(r, 400, "Send no body with GET or HEAD.",
		    "%s has no body", methods[head->method]);
	if (value > rules->body_max)
		return refuse(r, 413, "Send less at once.",
		    "the body has %llu octets, at most %zu are taken", value,
		    rules->body_max);
	if (value > 0 && coding && strcasecmp(coding, "identity"))
		return refuse(r, 415, "Send the body as it is.",
		    "Content-Encoding \"%s\" is not taken",
		    quote(shown, coding));
	head->length = (size_t)value;
	return true;
}

static bool check_expectation(struct head *head, struct refusal *r)
{
	const char *expect = head_field(head, "Expect");
	char shown[QUOTE_MAX];

	if (!expect || head->minor == 0)
		return true;
	if (strcasecmp(expect, "100-continue"))
		return refuse(r, 417, "Only 100-continue can be expected.",
		    "the expectation \"%s\" is not known here",
		    quote(shown, expect));
	head->expects_continue = true;
	return true;
}

/* True when a list of words holds this one. */
static bool list_holds(const char *list, const char *word)
{
	size_t len = strlen(word);

	while (*list) {
		list += strspn(list, ", \t");
		size_t n = strcspn(list, ", \t");

		if (n == len && !strncasecmp(list, word, len))
			return true;
		list += n;
	}
	return false;
}

static void read_connection(struct head *head)
{
	head->close = head->minor == 0;
	for (size_t i = 0; i < head->n_fields; i++)
		if (!strcasecmp(head->fields[i].name, "Connection") &&
		    list_holds(head->fields[i].value, "close"))
			head->close = true;
}

static bool read_lines(struct head *head, char **authority, struct refusal *r)
{
	char *line = head->octets, *end = strstr(line, "\r\n");

	if (!end)
		return refuse(r, 400, NULL, "the head has no end");
	*end = '\0';
	if (!read_line(line, head, authority, r))
		return false;
	for (line = end + 2; (end = strstr(line, "\r\n")) && end != line;
	     line = end + 2) {
		if (head->n_fields == HEAD_FIELDS_MAX)
			return refuse(r, 431, "Send fewer fields.",
			    "there are more than %d fields", HEAD_FIELDS_MAX);
		*end = '\0';
		if (!read_field(line, head, r))
			return false;
	}
	if (!end)
		return refuse(r, 400, NULL, "the head has no end");
	return true;
}

bool strict_read_head(const char *octets, size_t len,
    const struct strict_rules *rules, struct head *out, struct refusal *r)
{
	char *authority = NULL;

	*out = (struct head){
	    .octets = xstrndup(octets, len), .host = "", .query = ""};
	if (strlen(out->octets) != len) {
		refuse(r, 400, NULL, "the head holds a NUL octet");
		goto refused;
	}
	if (!read_lines(out, &authority, r))
		goto refused;
	if (!check_only_once(out, r) || !check_hosts(out, authority, rules, r))
		goto refused;
	if (!check_coding(out, r) || !check_length(out, rules, r) ||
	    !check_expectation(out, r))
		goto refused;
	read_connection(out);
	return true;
refused:
	head_free(out);
	return false;
}

void head_free(struct head *head)
{
	free(head->octets);
	*head = (struct head){.octets = NULL};
}
