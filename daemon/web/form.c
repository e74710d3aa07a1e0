/* SPDX-License-Identifier: MIT */
/*
 * form.c - decode in place, in one copy of the body.
 *
 * A decoded value is never longer than its code, so the copy is as long as what came and
 * every pair is cut off by a NUL where '=' or '&' stood.
 */
#include "form.h"

#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "text.h"

/* Decodes the string s in place; false when it cannot be. */
static bool decode(char *s)
{
	char *out = s;
	bool after_return = false;

	for (char *p = s; *p; p++) {
		char c = *p;
		if (c == '+') {
			c = ' ';
		} else if (c == '%') {
			int high = hex_value(p[1]);
			int low = high < 0 ? -1 : hex_value(p[2]);
			if (low < 0 || (high == 0 && low == 0))
				return false;
			c = (char)(high * 16 + low);
			p += 2;
		}
		bool was_return = after_return;

		after_return = c == '\r';
		if (c == '\n' && was_return)
			continue;
		*out++ = after_return ? '\n' : c;
	}
	*out = '\0';
	return utf8_is_valid(s, strlen(s));
}

static bool add_pair(struct form *form, char *pair, struct err *err)
{
	char *value = strchr(pair, '=');
	if (value)
		*value++ = '\0';
	else
		value = pair + strlen(pair);
	if (!decode(pair) || !decode(value))
		return err_set(err, ERR_INPUT,
		    "a form field holds what is not text in UTF-8");
	if (form_get(form, pair))
		return err_set(err, ERR_INPUT,
		    "the form field \"%.40s\" was sent twice", pair);
	if (form->n == FORM_FIELDS_MAX)
		return err_set(err, ERR_INPUT,
		    "the form has more than %d fields", FORM_FIELDS_MAX);
	form->pairs[form->n++] = (struct form_pair){pair, value};
	return true;
}

bool form_parse(struct form *form, const char *s, size_t len, struct err *err)
{
	if (len > FORM_BYTES_MAX)
		return err_set(err, ERR_INPUT,
		    "the form holds %zu bytes, more than %zu", len,
		    FORM_BYTES_MAX);
	if (len > 0 && memchr(s, '\0', len))
		return err_set(err, ERR_INPUT,
		    "a form field holds what is not text in UTF-8");
	form->bytes = xstrndup(len > 0 ? s : "", len);
	for (char *p = form->bytes, *next; p; p = next) {
		next = strchr(p, '&');
		if (next)
			*next++ = '\0';
		if (*p && !add_pair(form, p, err))
			return false;
	}
	return true;
}

void form_free(struct form *form)
{
	free(form->bytes);
	*form = (struct form){0};
}

const char *form_get(const struct form *form, const char *name)
{
	for (size_t i = 0; i < form->n; i++)
		if (strcmp(form->pairs[i].name, name) == 0)
			return form->pairs[i].value;
	return NULL;
}

const char *form_text(const struct form *form, const char *name)
{
	const char *value = form_get(form, name);
	return value ? value : "";
}

int64_t form_number(const struct form *form, const char *name, int64_t missing)
{
	const char *s = form_text(form, name);
	size_t digits = strspn(s, "0123456789");
	if (digits == 0 || digits > 18 || s[digits])
		return missing;
	return strtoll(s, NULL, 10);
}
