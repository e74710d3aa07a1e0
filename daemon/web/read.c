/* SPDX-License-Identifier: MIT */
/*
 * read.c - fields into values.
 */
#include "read.h"

#include <string.h>

#include "form.h"
#include "json_in.h"
#include "text.h"
#include "when.h"

static const char *pointer_of(struct call *call, const char *name)
{
	return call_printf(call, "/%s", name);
}

static const char *trimmed(struct call *call, const char *name)
{
	const char *s = form_text(call->form, name);
	size_t len;

	s += strspn(s, " \t\n");
	len = strlen(s);
	while (len > 0 && strchr(" \t\n", s[len - 1]))
		len--;
	return call_printf(call, "%.*s", (int)len, s);
}

static bool is_missing(struct call *call, const char *name, const char *label,
    const char *text, const char *hint)
{
	if (*text)
		return false;
	call_fault(call, pointer_of(call, name), hint, "%s is missing", label);
	return true;
}

const char *read_line(struct call *call, const char *name, const char *label,
    bool needed, size_t max)
{
	const char *text = trimmed(call, name);

	if (needed && is_missing(call, name, label, text, "Fill it in."))
		return "";
	if (!utf8_is_line(text, strlen(text)))
		call_fault(call, pointer_of(call, name),
		    "Type it by hand instead of pasting it.",
		    "%s holds characters that cannot be shown", label);
	else if (utf8_length(text) > max)
		call_fault(call, pointer_of(call, name),
		    call_printf(call, "Use at most %zu characters.", max),
		    "%s is too long", label);
	return text;
}

int64_t read_number(struct call *call, const char *name, const char *label,
    int64_t min, int64_t max)
{
	const char *text = trimmed(call, name);
	const char *hint =
	    call_printf(call, "Give a whole number from %lld to %lld.",
		(long long)min, (long long)max);
	int64_t n = form_number(call->form, name, -1);

	if (is_missing(call, name, label, text, hint))
		return -1;
	if (n >= min && n <= max)
		return n;
	call_fault(call, pointer_of(call, name), hint, "%s cannot be \"%s\"",
	    label, shown(call, text));
	return -1;
}

const char *read_day(
    struct call *call, const char *name, const char *label, bool needed)
{
	static const char hint[] = "Give a day like 2026-11-28.";
	const char *text = trimmed(call, name);
	struct err err = {0};

	if (!*text) {
		if (needed)
			is_missing(call, name, label, text, hint);
		return NULL;
	}
	if (!day_read(text, &err)) {
		call_fault(call, pointer_of(call, name), hint,
		    "\"%s\" is no day", shown(call, text));
		return NULL;
	}
	return text;
}

length read_length(
    struct call *call, const char *name, const char *label, bool zero)
{
	const char *text = trimmed(call, name);
	struct err err = {0};
	length l = 0;

	if (!*text && zero)
		return 0;
	if (is_missing(call, name, label, text,
		"Give it with its unit, like 12 1/2 in or 31.7 cm."))
		return 0;
	if (!(zero ? length_parse_or_zero(text, strlen(text), &l, &err)
		   : length_parse(text, strlen(text), &l, &err)))
		call_fault_err(call, pointer_of(call, name), &err);
	return l;
}

money read_money(struct call *call, const char *name, const char *label)
{
	const char *text = trimmed(call, name);
	struct err err = {0};
	money m = 0;

	if (is_missing(call, name, label, text,
		call_printf(call, "Give an amount in %s.",
		    call->caller.studio.currency)))
		return 0;
	if (!money_parse(
		text, strlen(text), call->caller.studio.currency, &m, &err))
		call_fault_err(call, pointer_of(call, name), &err);
	return m;
}
