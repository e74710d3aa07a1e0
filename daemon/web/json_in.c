/* SPDX-License-Identifier: MIT */
/*
 * json_in.c - readers of JSON members.
 */
#include "json_in.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "act_people.h"
#include "call_inner.h"
#include "text.h"
#include "when.h"

/* ---- the body as a whole ---- */

static const char *parse_fault(const json_error_t *error)
{
	switch (json_error_code(error)) {
	case json_error_invalid_utf8:
		return "it is not UTF-8";
	case json_error_duplicate_key:
		return "a member stands in it twice";
	case json_error_numeric_overflow:
		return "a number in it is too large";
	case json_error_null_character:
	case json_error_null_byte_in_key:
		return "a text in it holds a NUL";
	case json_error_premature_end_of_input:
		return "it ends too soon";
	case json_error_end_of_input_expected:
		return "something follows after its end";
	case json_error_stack_overflow:
		return "it is nested too deeply";
	default:
		return "it is not JSON";
	}
}

static bool is_too_deep(json_t *value, int depth)
{
	const char *name = NULL;
	size_t i = 0;
	json_t *inner = NULL;

	if (depth > JSON_DEPTH_MAX)
		return true;
	if (json_is_array(value)) {
		json_array_foreach(value, i, inner)
		{
			if (is_too_deep(inner, depth + 1))
				return true;
		}
	} else if (json_is_object(value)) {
		json_object_foreach(value, name, inner)
		{
			if (is_too_deep(inner, depth + 1))
				return true;
		}
	}
	return false;
}

/* Recursion of the parser is bounded before it runs: a body of brackets costs nothing. */
static bool brackets_too_deep(const char *bytes, size_t len)
{
	size_t depth = 0;
	bool in_text = false;

	for (size_t i = 0; i < len; i++) {
		if (in_text && bytes[i] == '\\')
			i++;
		else if (bytes[i] == '"')
			in_text = !in_text;
		else if (!in_text && (bytes[i] == '[' || bytes[i] == '{')) {
			if (++depth > JSON_DEPTH_MAX)
				return true;
		} else if (!in_text && (bytes[i] == ']' || bytes[i] == '}') &&
			   depth > 0)
			depth--;
	}
	return false;
}

bool json_in_parse(struct call *call, const char *bytes, size_t len)
{
	json_error_t error;

	if (brackets_too_deep(bytes, len))
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Nest at most 16 levels.",
		    "the body cannot be read: it is nested too deeply");
	call->body = json_loadb(bytes, len, JSON_REJECT_DUPLICATES, &error);
	if (call->body == NULL)
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Send one JSON object in UTF-8.",
		    "the body cannot be read: %s (line %d, column %d)",
		    parse_fault(&error), error.line, error.column);
	if (!json_is_object(call->body))
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Send one JSON object.", "the body is no JSON object");
	if (is_too_deep(call->body, 1))
		return set_trouble(call, TROUBLE_MALFORMED,
		    "Nest at most 16 levels.",
		    "the body cannot be read: it is nested too deeply");
	return true;
}

/* ---- members ---- */

const char *shown(struct call *call, const char *text)
{
	size_t len = strlen(text);
	char *copy = NULL;

	if (len > 60) {
		len = 60;
		while (len > 0 && ((unsigned char)text[len] & 0xC0) == 0x80)
			len--;
	}
	copy = arena_strndup(call->arena, text, len);
	if (!utf8_is_line(copy, len))
		for (char *c = copy; *c != '\0'; c++)
			if ((unsigned char)*c < ' ' || (unsigned char)*c >= 127)
				*c = '?';
	return copy;
}

/* RFC 6901: ~ is ~0, / is ~1. */
const char *json_in_pointer(const struct json_in *in, const char *name)
{
	size_t room = strlen(in->at) + 2 * strlen(name) + 2;
	char *pointer = arena_alloc(in->call->arena, room);
	char *to = pointer + snprintf(pointer, room, "%s/", in->at);

	for (; *name != '\0'; name++) {
		if (*name == '~' || *name == '/') {
			*to++ = '~';
			*to++ = *name == '~' ? '0' : '1';
		} else {
			*to++ = *name;
		}
	}
	*to = '\0';
	return pointer;
}

void json_in_begin(struct json_in *in, struct call *call, json_t *object,
    const char *at, const char *const *known)
{
	const char *name = NULL;
	json_t *value = NULL;

	*in = (struct json_in){.call = call, .object = object, .at = at};
	if (!json_is_object(object)) {
		call_fault(call, at, "Send an object.", "%s is no object", at);
		return;
	}
	json_object_foreach(object, name, value)
	{
		const char *const *k = known;

		while (*k != NULL && strcmp(*k, name) != 0)
			k++;
		if (*k == NULL)
			call_fault(call, json_in_pointer(in, shown(call, name)),
			    "Leave it out.", "member \"%s\" is not known",
			    shown(call, name));
	}
}

bool json_in_has(const struct json_in *in, const char *name)
{
	return json_object_get(in->object, name) != NULL;
}

/* The value when it is to be read: a lack or a null is dealt with here. */
static json_t *find(struct json_in *in, const char *name, enum need need)
{
	json_t *value = json_object_get(in->object, name);

	if (value == NULL && need == NEEDED)
		call_fault(in->call, json_in_pointer(in, name), "Send it.",
		    "%s is missing", name);
	if (value != NULL && json_is_null(value) && need != MAY_BE_NULL) {
		call_fault(in->call, json_in_pointer(in, name),
		    need == NEEDED ? "Send it." : "Leave it out.", "%s is null",
		    name);
		return NULL;
	}
	return value;
}

static bool wrong(
    struct json_in *in, const char *name, const char *hint, const char *what)
{
	return call_fault(
	    in->call, json_in_pointer(in, name), hint, "%s %s", name, what);
}

static bool read_text(
    struct json_in *in, const char *name, json_t *value, const char **out)
{
	if (json_is_string(value)) {
		*out = json_string_value(value);
		return true;
	}
	return wrong(in, name, "Send a text.", "is no text");
}

bool json_in_line(struct json_in *in, const char *name, enum need need,
    size_t max, const char **out)
{
	json_t *value = find(in, name, need);
	const char *text = NULL;

	if (value == NULL)
		return false;
	if (json_is_null(value)) {
		*out = NULL;
		return true;
	}
	if (!read_text(in, name, value, &text))
		return false;
	if (!utf8_is_line(text, json_string_length(value)))
		return wrong(in, name, "Write one line of plain text.",
		    "holds control characters or marks that turn the direction "
		    "of text");
	if (utf8_length(text) > max)
		return call_fault(in->call, json_in_pointer(in, name),
		    call_printf(in->call, "Use at most %zu characters.", max),
		    "%s has %zu characters", name, utf8_length(text));
	*out = text;
	return true;
}

bool json_in_name(struct json_in *in, const char *name, enum need need,
    size_t max, const char **out)
{
	const char *text = NULL;

	if (!json_in_line(in, name, need, max, &text))
		return false;
	if (text == NULL || text[strspn(text, " \t")] == '\0')
		return wrong(in, name, "Give it a name.", "is empty");
	*out = text;
	return true;
}

static const char *value_text(struct call *call, json_t *value)
{
	char *text = json_dumps(
	    value, JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(9));
	const char *copy = shown(call, text == NULL ? "?" : text);

	free(text);
	return copy;
}

bool json_in_number(struct json_in *in, const char *name, enum need need,
    int64_t min, int64_t max, int64_t *out)
{
	json_t *value = find(in, name, need);
	const char *hint =
	    call_printf(in->call, "Send a whole number from %lld to %lld.",
		(long long)min, (long long)max);
	int64_t n = json_integer_value(value);

	if (value == NULL || json_is_null(value))
		return false;
	if (!json_is_integer(value))
		return call_fault(in->call, json_in_pointer(in, name), hint,
		    "%s %s is no whole number", name,
		    value_text(in->call, value));
	if (n < min || n > max)
		return call_fault(in->call, json_in_pointer(in, name), hint,
		    "%s %lld is too %s", name, (long long)n,
		    n < min ? "small" : "large");
	*out = n;
	return true;
}

bool json_in_bool(
    struct json_in *in, const char *name, enum need need, bool *out)
{
	json_t *value = find(in, name, need);

	if (value == NULL)
		return false;
	if (!json_is_boolean(value))
		return wrong(in, name, "Send true or false.",
		    "is neither true nor false");
	*out = json_is_true(value);
	return true;
}

static const char *word_list(struct call *call, const char *const *words)
{
	const char *list = "";

	for (; *words != NULL; words++)
		list = call_printf(call, "%s%s\"%s\"", list,
		    list[0] == '\0'    ? ""
		    : words[1] == NULL ? " or "
				       : ", ",
		    *words);
	return list;
}

bool json_in_word(struct json_in *in, const char *name, enum need need,
    const char *const *words, int64_t *out)
{
	json_t *value = find(in, name, need);
	const char *text = NULL;

	if (value == NULL || !read_text(in, name, value, &text))
		return false;
	for (int64_t i = 0; words[i] != NULL; i++) {
		if (strcmp(words[i], text) == 0) {
			*out = i;
			return true;
		}
	}
	return call_fault(in->call, json_in_pointer(in, name),
	    call_printf(in->call, "Send %s.", word_list(in->call, words)),
	    "%s \"%s\" is not known", name, shown(in->call, text));
}

bool json_in_day(
    struct json_in *in, const char *name, enum need need, const char **out)
{
	json_t *value = find(in, name, need);
	const char *text = NULL;
	struct err err = {0};

	if (value == NULL)
		return false;
	if (json_is_null(value)) {
		*out = NULL;
		return true;
	}
	if (!read_text(in, name, value, &text))
		return false;
	if (!day_read(shown(in->call, text), &err))
		return call_fault_err(
		    in->call, json_in_pointer(in, name), &err);
	*out = text;
	return true;
}

bool json_in_instant(
    struct json_in *in, const char *name, enum need need, const char **out)
{
	json_t *value = find(in, name, need);
	const char *text = NULL;
	char utc[INSTANT_TEXT];
	struct err err = {0};

	if (value == NULL)
		return false;
	if (json_is_null(value)) {
		*out = NULL;
		return true;
	}
	if (!read_text(in, name, value, &text))
		return false;
	if (!instant_read(shown(in->call, text), utc, &err))
		return call_fault_err(
		    in->call, json_in_pointer(in, name), &err);
	*out = arena_strdup(in->call->arena, utc);
	return true;
}

/* ---- lengths ---- */

bool json_in_length_value(struct call *call, json_t *value, const char *pointer,
    bool zero, length *out)
{
	struct err err = {0};
	int64_t n = json_integer_value(value);
	const char *text = NULL;

	if (json_is_integer(value)) {
		if (n < (zero ? 0 : 1) || n > LENGTH_MAX)
			return call_fault(call, pointer,
			    "Send a text with its unit (\"12 1/2 in\"), or "
			    "whole 1/320 mm.",
			    "length %lld is too %s", (long long)n,
			    n <= 0 ? "small" : "large");
		*out = n;
		return true;
	}
	if (!json_is_string(value))
		return call_fault(call, pointer,
		    "Send a text with its unit (\"12 1/2 in\"), or whole 1/320 "
		    "mm.",
		    "%s is no length", value_text(call, value));
	text = json_string_value(value);
	if (strlen(text) > 200 || !utf8_is_line(text, strlen(text)))
		return call_fault(call, pointer, "Write it like \"12 1/2 in\".",
		    "\"%s\" is no length", shown(call, text));
	if (zero ? length_parse_or_zero(text, strlen(text), out, &err)
		 : length_parse(text, strlen(text), out, &err))
		return true;
	return call_fault_err(call, pointer, &err);
}

bool json_in_length(struct json_in *in, const char *name, enum need need,
    bool zero, length *out, const char **text)
{
	json_t *value = find(in, name, need);
	char printed[LENGTH_TEXT_MAX];

	if (value == NULL || json_is_null(value) ||
	    !json_in_length_value(
		in->call, value, json_in_pointer(in, name), zero, out))
		return false;
	if (text == NULL)
		return true;
	if (json_is_string(value))
		*text = json_string_value(value);
	else
		*text = arena_strdup(in->call->arena,
		    length_print(printed, *out,
			(enum measure_system)in->call->caller.studio.measure));
	return true;
}

/* ---- lists ---- */

bool json_in_list(struct json_in *in, const char *name, enum need need,
    size_t max, json_t **out)
{
	json_t *value = find(in, name, need);

	if (value == NULL || json_is_null(value))
		return false;
	if (!json_is_array(value))
		return wrong(in, name, "Send a list.", "is no list");
	if (json_array_size(value) > max)
		return call_fault(in->call, json_in_pointer(in, name),
		    call_printf(in->call, "Send at most %zu.", max),
		    "%s has %zu entries", name, json_array_size(value));
	*out = value;
	return true;
}

static bool add_id(
    struct json_in *in, const char *name, json_t *value, size_t i, int64_t *ids)
{
	const char *pointer =
	    call_printf(in->call, "%s/%zu", json_in_pointer(in, name), i);
	int64_t id = json_integer_value(value);

	if (!json_is_integer(value) || id < 1 || id > INT64_MAX / 16)
		return call_fault(in->call, pointer,
		    "Send ids: whole numbers from 1.", "%s has what is no id",
		    name);
	for (size_t j = 0; j < i; j++)
		if (ids[j] == id)
			return call_fault(in->call, pointer, "Name each once.",
			    "%s has %lld twice", name, (long long)id);
	ids[i] = id;
	return true;
}

bool json_in_ids(struct json_in *in, const char *name, enum need need,
    size_t max, int64_t *ids, size_t *n)
{
	json_t *list = NULL, *value = NULL;
	size_t i = 0;

	if (!json_in_list(in, name, need, max, &list))
		return false;
	json_array_foreach(list, i, value)
	{
		if (!add_id(in, name, value, i, ids))
			return false;
	}
	*n = i;
	return true;
}

bool json_in_roles(
    struct json_in *in, const char *name, enum need need, int64_t *roles)
{
	json_t *list = NULL, *value = NULL;
	size_t i = 0;
	int64_t all = 0;

	if (!json_in_list(in, name, need, 4, &list))
		return false;
	json_array_foreach(list, i, value)
	{
		unsigned role = role_from(
		    json_is_string(value) ? json_string_value(value) : "");

		if (role == 0 || (all & role) != 0)
			return call_fault(in->call,
			    call_printf(in->call, "%s/%zu",
				json_in_pointer(in, name), i),
			    "Roles are \"student\", \"instructor\", "
			    "\"treasurer\", \"owner\", each once.",
			    role == 0 ? "%s has an unknown role"
				      : "%s has a role twice",
			    name);
		all |= role;
	}
	if (all == 0)
		return wrong(in, name, "Give at least one role.", "is empty");
	*roles = all;
	return true;
}
