/* SPDX-License-Identifier: MIT */
/*
 * find.c - what a person means.
 *
 * A number is an id.  A name is compared whole, then without regard to ASCII case, then
 * as a beginning, then as a part; the first of these that fits exactly one thing wins.
 * When several fit nothing is guessed: they are named, with their numbers.
 */
#include "find.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "command.h"
#include "reach.h"
#include "status.h"

static bool is_number(const char *s)
{
	return *s && strlen(s) < 19 && strspn(s, "0123456789") == strlen(s);
}

bool find_number(
    const char *typed, const char *what, int64_t *id, struct err *err)
{
	const char *digits = typed + (*typed == '#');
	*id = is_number(digits) ? strtoll(digits, NULL, 10) : 0;
	if (*id > 0)
		return true;
	cli_fail(
	    err, CLI_USAGE, "\"%.60s\" is not the number of a %s", typed, what);
	return err_hint(
	    err, "Its number stands in the first column of the list.");
}

enum closeness { WHOLE, WHOLE_ANY_CASE, BEGINNING, PART, N_CLOSENESS };

static bool is_close(const char *name, const char *typed, enum closeness how)
{
	switch (how) {
	case WHOLE:
		return strcmp(name, typed) == 0;
	case WHOLE_ANY_CASE:
		return strcasecmp(name, typed) == 0;
	case BEGINNING:
		return strncasecmp(name, typed, strlen(typed)) == 0;
	default:
		return strcasestr(name, typed) != NULL;
	}
}

/* "3 Anna, 7 Anselm", at most five. */
static void name_some(
    struct text *t, const json_t *items, const char *typed, enum closeness how)
{
	size_t i, shown = 0;
	const json_t *one;
	json_array_foreach(items, i, one)
	{
		const char *name = reach_text(one, "name");
		if (typed && !is_close(name, typed, how))
			continue;
		if (shown < 5)
			text_addf(t, "%s%lld %.40s", shown ? ", " : "",
			    (long long)reach_int(one, "id"), name);
		shown++;
	}
	if (shown > 5)
		text_addf(t, " and %zu more", shown - 5);
}

static bool several(const json_t *items, const char *typed, const char *what,
    enum closeness how, struct err *err)
{
	struct text names;
	text_init(&names, 240);
	name_some(&names, items, typed, how);
	err_set(err, ERR_INPUT, "several %ss may be meant by \"%.60s\": %s",
	    what, typed, names.data);
	text_free(&names);
	text_clean(err->text);
	return err_hint(err, "Use its number.");
}

const json_t *find_by_name(
    const json_t *items, const char *typed, const char *what, struct err *err)
{
	for (enum closeness how = WHOLE; how < N_CLOSENESS; how++) {
		const json_t *found = NULL, *one;
		size_t i, n = 0;
		json_array_foreach(items, i, one)
		{
			if (*typed &&
			    is_close(reach_text(one, "name"), typed, how)) {
				found = one;
				n++;
			}
		}
		if (n == 1)
			return found;
		if (n > 1) {
			several(items, typed, what, how, err);
			return NULL;
		}
	}
	err_set(err, ERR_MISSING, "there is no %s \"%.80s\"", what, typed);
	text_clean(err->text);
	err_hint(err, "See them: tearshare %s list", what);
	return NULL;
}

static bool by_name(struct call *call, const char *path, const char *typed,
    const char *what, json_t **out, struct err *err)
{
	json_t *list = NULL;
	if (!call_list(call, &list, err, "%s", path))
		return false;
	const json_t *one =
	    find_by_name(json_object_get(list, "items"), typed, what, err);
	*out = json_deep_copy(one);
	json_decref(list);
	return one != NULL;
}

/* Workshops of the list in one of the states; the last used is taken out of them in *last. */
static size_t count_meant(const json_t *items, const char *states,
    int64_t last_used, const json_t **only, const json_t **last)
{
	size_t i, n = 0;
	const json_t *one;
	*only = *last = NULL;
	json_array_foreach(items, i, one)
	{
		if (states && !name_in_list(reach_text(one, "state"), states))
			continue;
		n++;
		*only = one;
		if (reach_int(one, "id") == last_used)
			*last = one;
	}
	return n;
}

static bool none_meant(
    const json_t *items, size_t n, const char *states, struct err *err)
{
	struct text names;
	if (json_array_size(items) == 0) {
		err_set(err, ERR_MISSING, "there is no workshop yet");
		return err_hint(err,
		    "Set one up with tearshare workshop add, or "
		    "join one: tearshare join LINK --name NAME");
	}
	text_init(&names, 240);
	name_some(&names, items, NULL, WHOLE);
	if (n == 0)
		err_set(err, ERR_CONFLICT, "no workshop is %s", states);
	else
		err_set(err, ERR_INPUT, "several workshops may be meant");
	err_hint(err, "Say which with -w: %s", names.data);
	text_free(&names);
	text_clean(err->hint);
	return false;
}

/*
 * Nobody named a workshop.  First those in a fitting state, then any: so that a single
 * workshop in the wrong state is refused by the server, which says what is wrong with it.
 */
static bool meant_workshop(
    struct call *call, const char *states, json_t **out, struct err *err)
{
	json_t *list = NULL;
	const json_t *only, *last;
	if (!call_list(call, &list, err, "/v1/workshops"))
		return false;
	const json_t *items = json_object_get(list, "items");
	size_t n =
	    count_meant(items, states, call->settings.workshop, &only, &last);
	if (n == 0 &&
	    count_meant(items, NULL, call->settings.workshop, &only, &last) > 1)
		only = NULL;
	const json_t *found = last ? last : n <= 1 ? only : NULL;
	*out = json_deep_copy(found);
	if (!found)
		none_meant(items, n, states, err);
	else if (json_array_size(items) > 1 && call_for_people(call))
		call_say(call, "Workshop %lld: %s",
		    (long long)reach_int(found, "id"),
		    reach_text(found, "name"));
	json_decref(list);
	return found != NULL;
}

bool find_remember(struct call *call, int64_t workshop, struct err *err)
{
	if (call->settings.workshop == workshop || call_option(call, "server"))
		return true;
	call->settings.workshop = workshop;
	return settings_save(&call->settings, err);
}

bool find_workshop(struct call *call, const char *typed, const char *states,
    json_t **out, struct err *err)
{
	const char *named = call_option(call, "workshop");
	*out = NULL;
	if (!named)
		named = typed;
	if (!named)
		return meant_workshop(call, states, out, err);
	bool ok =
	    is_number(named)
		? call_get(call, out, err, "/v1/workshops/%s", named)
		: by_name(call, "/v1/workshops", named, "workshop", out, err);
	ok = ok && find_remember(call, reach_int(*out, "id"), err);
	if (!ok) {
		json_decref(*out);
		*out = NULL;
	}
	return ok;
}

bool find_workshop_id(struct call *call, const char *typed, const char *states,
    int64_t *id, struct err *err)
{
	json_t *workshop = NULL;
	bool ok = find_workshop(call, typed, states, &workshop, err);
	*id = reach_int(workshop, "id");
	json_decref(workshop);
	return ok;
}

static bool which_paper(
    struct call *call, const json_t *workshop, struct err *err)
{
	json_t *list = NULL;
	struct text names;
	size_t i;
	const json_t *one;
	if (!call_list(call, &list, err, "/v1/papers"))
		return false;
	json_t *of_workshop = json_array();
	json_array_foreach(json_object_get(list, "items"), i, one)
	{
		size_t k;
		const json_t *id;
		json_array_foreach(json_object_get(workshop, "papers"), k,
		    id) if (json_integer_value(id) == reach_int(one, "id"))
		    json_array_append(of_workshop, (json_t *)one);
	}
	text_init(&names, 220);
	name_some(&names, of_workshop, NULL, WHOLE);
	err_set(err, ERR_INPUT, "which paper?");
	err_hint(err, "Say it with -p: %s", names.data);
	text_clean(err->hint);
	text_free(&names);
	json_decref(of_workshop);
	json_decref(list);
	return false;
}

bool find_paper(struct call *call, const char *typed, const json_t *workshop,
    int64_t *id, struct err *err)
{
	json_t *paper = NULL;
	const json_t *papers = json_object_get(workshop, "papers");
	if (typed && is_number(typed))
		return find_number(typed, "paper", id, err);
	if (!typed && json_array_size(papers) != 1)
		return which_paper(call, workshop, err);
	if (!typed) {
		*id = json_integer_value(json_array_get(papers, 0));
		return true;
	}
	bool ok = by_name(call, "/v1/papers", typed, "paper", &paper, err);
	*id = reach_int(paper, "id");
	json_decref(paper);
	return ok;
}

bool find_member(
    struct call *call, const char *typed, int64_t *id, struct err *err)
{
	json_t *member = NULL;
	if (is_number(typed))
		return find_number(typed, "member", id, err);
	bool ok = by_name(call, "/v1/members", typed, "member", &member, err);
	*id = reach_int(member, "id");
	json_decref(member);
	return ok;
}

bool find_member_or_me(
    struct call *call, const char *typed, int64_t *id, struct err *err)
{
	json_t *me = NULL;
	if (typed)
		return find_member(call, typed, id, err);
	bool ok = call_get(call, &me, err, "/v1/me");
	*id = reach_int(me, "member/id");
	json_decref(me);
	return ok;
}

/* The accepted plan, else the newest that is not given up, else the newest. */
static const json_t *best_plan(const json_t *items)
{
	const json_t *best = NULL, *one;
	size_t i;
	json_array_foreach(items, i, one)
	{
		const char *state = reach_text(one, "state");
		if (strcmp(state, "accepted") == 0)
			return one;
		if (strcmp(state, "ready") == 0 ||
		    strcmp(state, "working") == 0)
			best = one;
	}
	return best ? best : json_array_get(items, json_array_size(items) - 1);
}

bool find_plan(
    struct call *call, const char *typed, json_t **out, struct err *err)
{
	int64_t id;
	json_t *list = NULL;
	*out = NULL;
	if (typed)
		return find_number(typed, "plan", &id, err) &&
		       call_get(
			   call, out, err, "/v1/plans/%lld", (long long)id);
	if (!find_workshop_id(call, NULL, "planned closed torn", &id, err) ||
	    !call_list(
		call, &list, err, "/v1/workshops/%lld/plans", (long long)id))
		return false;
	const json_t *plan = best_plan(json_object_get(list, "items"));
	id = reach_int(plan, "id");
	json_decref(list);
	if (plan)
		return call_get(
		    call, out, err, "/v1/plans/%lld", (long long)id);
	err_set(err, ERR_MISSING, "the workshop has no plan yet");
	return err_hint(err, "The instructor makes one: tearshare plan");
}
