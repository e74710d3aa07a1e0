/* SPDX-License-Identifier: MIT */
/*
 * body.c - options to JSON.
 *
 * Lengths and money are read here into whole numbers, so that a slip is told before
 * anything is sent; what is allowed beyond that, only the server knows and says.
 */
#include "body.h"

#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "reach.h"
#include "status.h"
#include "text.h"
#include "cli_when.h"

bool body_add_text(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	if (!value)
		return true;
	if (!utf8_is_line(value, strlen(value)))
		return err_set(err, ERR_INPUT,
		    "the value of --%s is not UTF-8 or holds control "
		    "characters",
		    option);
	json_object_set_new(body, member, json_string(value));
	return true;
}

static bool read_number(const char *value, json_int_t *out)
{
	if (!*value || strlen(value) > 18 ||
	    strspn(value, "0123456789") != strlen(value))
		return false;
	*out = strtoll(value, NULL, 10);
	return true;
}

bool body_add_number(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	json_int_t n;
	if (!value)
		return true;
	if (!read_number(value, &n)) {
		err_set(err, ERR_INPUT, "--%s \"%.60s\" is not a whole number",
		    option, value);
		return err_hint(err, "Write digits only.");
	}
	json_object_set_new(body, member, json_integer(n));
	return true;
}

bool body_add_yes(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	if (!value)
		return true;
	bool yes = strcmp(value, "yes") == 0;
	if (!yes && strcmp(value, "no") != 0)
		return err_set(err, ERR_INPUT,
		    "--%s \"%.60s\" is neither yes nor no", option, value);
	json_object_set_new(body, member, json_boolean(yes));
	return true;
}

bool body_add_sharing(struct call *call, json_t *body, struct err *err)
{
	return body_add_text(call, body, "policy", "share_policy", err) &&
	       body_add_yes(call, body, "ceiling", "share_ceiling", err) &&
	       body_add_yes(call, body, "shipping-each", "shipping_each", err);
}

static const char *studio_unit(struct call *call, struct err *err)
{
	const json_t *studio = call_studio(call, err);
	const char *measure = reach_text(studio, "measure");
	if (studio && !*measure)
		cli_fail(err, CLI_PROTOCOL, "the studio has no measure");
	return *measure ? measure : NULL;
}

static void say_unit(struct call *call, const char *text, const char *unit)
{
	call_say(call,
	    "\"%s\" has no unit: taken as %s, as the studio writes lengths",
	    text, unit);
}

/* The studio is asked for its unit only when the text has none. */
bool call_size(
    struct call *call, const char *text, struct size *out, struct err *err)
{
	const char *unit = NULL;
	if (!size_has_unit(text) && !(unit = studio_unit(call, err)))
		return false;
	if (!size_parse_both(text, unit, out, err))
		return false;
	if (out->assumed)
		say_unit(call, text, unit);
	return true;
}

/* Zero is a length here; size_parse() knows none. */
static bool is_zero(const char *text, struct size *out)
{
	length l;
	bool zero =
	    strcmp(text, "0") == 0 || strcmp(text, "none") == 0 ||
	    (length_parse_or_zero(text, strlen(text), &l, NULL) && l == 0);
	*out = (struct size){.sides = 1};
	return zero;
}

bool call_length(
    struct call *call, const char *text, struct size *out, struct err *err)
{
	const char *unit = NULL;
	if (is_zero(text, out))
		return true;
	if (!size_has_unit(text) && !(unit = studio_unit(call, err)))
		return false;
	if (!size_parse(text, unit, out, err))
		return false;
	if (out->sides != 1)
		return err_set(
		    err, ERR_INPUT, "\"%.60s\" is not one length", text);
	if (out->assumed)
		say_unit(call, text, unit);
	return true;
}

void body_set_side(
    json_t *body, const char *member, const struct size *size, int side)
{
	char text[LENGTH_TEXT_MAX];
	json_object_set_new(
	    body, member, json_string(size_print_side(text, size, side)));
}

bool body_add_length(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	struct size size;
	if (!value)
		return true;
	if (!call_length(call, value, &size, err))
		return false;
	body_set_side(body, member, &size, 0);
	return true;
}

bool body_add_when(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	char instant[WHEN_TEXT_MAX];
	if (!value)
		return true;
	const json_t *studio = call_studio(call, err);
	if (!studio ||
	    !when_parse(value, reach_text(studio, "time_zone"), instant, err))
		return false;
	json_object_set_new(body, member, json_string(instant));
	return true;
}

bool body_add_day(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	if (!value)
		return true;
	if (strcmp(value, "none") == 0) {
		json_object_set_new(body, member, json_null());
		return true;
	}
	if (!day_check(value, err))
		return false;
	json_object_set_new(body, member, json_string(value));
	return true;
}

bool call_amount(
    struct call *call, const char *text, money *out, struct err *err)
{
	const json_t *studio = call_studio(call, err);
	return studio && money_parse(text, strlen(text),
			     reach_text(studio, "currency"), out, err);
}

bool body_add_money(struct call *call, json_t *body, const char *option,
    const char *member, struct err *err)
{
	const char *value = call_option(call, option);
	money m;
	if (!value)
		return true;
	if (!call_amount(call, value, &m, err))
		return false;
	json_object_set_new(body, member, json_integer(m));
	return true;
}

bool body_add_turn(struct call *call, json_t *body, struct err *err)
{
	bool turn = call_option(call, "turn") != NULL;
	bool keep = call_option(call, "no-turn") != NULL;
	if (turn && keep)
		return cli_fail(err, CLI_USAGE,
		    "--turn and --no-turn cannot both be meant");
	if (turn || keep)
		json_object_set_new(body, "turn", json_boolean(turn));
	return true;
}

bool body_add_roles(struct call *call, json_t *body, struct err *err)
{
	static const char known[] = "student instructor treasurer owner";
	json_t *roles = json_array();
	const char *role;
	bool ok = true;
	for (size_t at = 0; ok && (role = call_each(call, "role", &at));) {
		ok = name_in_list(role, known);
		if (ok)
			json_array_append_new(roles, json_string(role));
		else
			err_set(
			    err, ERR_INPUT, "\"%.60s\" is not a role", role);
	}
	if (!ok)
		err_hint(err,
		    "Roles are student, instructor, treasurer and owner; "
		    "repeat --role for several.");
	if (ok && json_array_size(roles))
		json_object_set(body, "roles", roles);
	json_decref(roles);
	return ok;
}

bool body_is_filled(
    const struct call *call, const json_t *body, struct err *err)
{
	char title[64];
	if (json_object_size(body) > 0)
		return true;
	command_title(title, call->command);
	cli_fail(err, CLI_USAGE, "nothing to change was named");
	return err_hint(err, "See what can be: tearshare help %s", title);
}
