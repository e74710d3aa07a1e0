/* SPDX-License-Identifier: MIT */
/*
 * target.c - a target that has one meaning only.
 *
 * Path and query are decoded once, here, to look at them; what is handed on is the encoded
 * form.  Refused is what a second reader could decode to something else: an encoded slash,
 * dot segments, NUL, overlong UTF-8 (RFC 3986; RFC 9112, 3.2).
 */
#include "strict.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "text.h"

/* Percent-decoding into out (as long as the text); refuses what is no encoding, and NUL. */
static bool decode(
    const char *s, size_t len, char *out, size_t *n, struct refusal *r)
{
	size_t i;

	for (*n = 0, i = 0; i < len; i++) {
		if (s[i] != '%') {
			out[(*n)++] = s[i];
			continue;
		}
		int hi = i + 1 < len ? hex_value(s[i + 1]) : -1;
		int lo = i + 2 < len ? hex_value(s[i + 2]) : -1;

		if (hi < 0 || lo < 0)
			return refuse(r, 400,
			    "Write a percent sign itself as %25.",
			    "the target holds a percent sign without two "
			    "hexadecimal digits");
		if (hi == 0 && lo == 0)
			return refuse(r, 400, NULL, "the target holds %%00");
		out[(*n)++] = (char)(hi * 16 + lo);
		i += 2;
	}
	return true;
}

static bool is_dots(const char *segment, size_t len)
{
	return (len == 1 && segment[0] == '.') ||
	       (len == 2 && !memcmp(segment, "..", 2));
}

/* The path as decoded: no second spelling of a separator, no dot segment, no control. */
static bool check_path(const char *path, size_t len, const char *encoded,
    size_t n_encoded, struct refusal *r)
{
	size_t from = 0;

	for (size_t i = 0; i + 2 < n_encoded; i++)
		if (encoded[i] == '%' && encoded[i + 1] == '2' &&
		    (encoded[i + 2] | 32) == 'f')
			return refuse(
			    r, 400, NULL, "the path holds an encoded slash");
	for (size_t i = 0; i < len; i++)
		if ((unsigned char)path[i] < 0x20 || path[i] == 0x7f ||
		    path[i] == '\\')
			return refuse(r, 400, NULL,
			    "the path holds a backslash or an encoded control "
			    "character");
	for (size_t i = 0; i <= len; i++) {
		if (i < len && path[i] != '/')
			continue;
		if (is_dots(path + from, i - from))
			return refuse(r, 400,
			    "Send the path without . and .. segments.",
			    "the path holds a dot segment");
		from = i + 1;
	}
	return true;
}

bool strict_check_target(const char *target, struct refusal *r)
{
	size_t n_path = strcspn(target, "?"), len = strlen(target), n = 0;
	char *plain = NULL;
	bool ok = false;

	if (target[0] != '/')
		return refuse(r, 400, "A target begins with a slash.",
		    "the target is no path");
	for (size_t i = 0; i < len; i++)
		if (target[i] <= 0x20 || target[i] >= 0x7f ||
		    strchr("\"#<>\\^`{|}", target[i]))
			return refuse(r, 400, "Percent-encode it.",
			    "the target holds a character that no URI may "
			    "hold");

	plain = xmalloc(len + 1);
	if (!decode(target, n_path, plain, &n, r))
		goto out;
	if (!check_path(plain, n, target, n_path, r))
		goto out;
	if (!utf8_is_valid(plain, n)) {
		refuse(r, 400, NULL, "the path is not UTF-8");
		goto out;
	}
	if (!decode(target + n_path, len - n_path, plain, &n, r))
		goto out;
	if (!utf8_is_valid(plain, n)) {
		refuse(r, 400, NULL, "the query is not UTF-8");
		goto out;
	}
	ok = true;
out:
	free(plain);
	return ok;
}
