/* SPDX-License-Identifier: MIT */
/*
 * join: an invitation makes a stranger a member of a workshop, or lets a member take part.
 *
 * The key that the server hands out is shown to nobody a second time, so we make sure
 * that it can be kept before asking for it.
 */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "alloc.h"
#include "body.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "status.h"

/* "https://host:port/join/CODE" to server and code; a bare code keeps the server signed in at. */
static bool take_apart(struct call *call, const char *link, char **server,
    char **code, struct err *err)
{
	const char *host = strstr(link, "://");
	const char *last = strrchr(link, '/');
	const char *known = call_option(call, "server");
	*server = *code = NULL;
	if (!host) {
		known = known ? known : call->settings.server;
		if (!known) {
			cli_fail(err, CLI_USAGE,
			    "a code alone does not say where the server is");
			return err_hint(
			    err, "Give the whole link, or --server URL.");
		}
		*code = xstrdup(last ? last + 1 : link);
		return settings_server(known, server, err);
	}
	size_t end = (size_t)(host + 3 - link) + strcspn(host + 3, "/");
	char *front = xstrndup(link, end);
	*code = xstrdup(last > host + 2 ? last + 1 : "");
	(*code)[strcspn(*code, "?#")] = '\0';
	bool ok = settings_server(front, server, err);
	free(front);
	if (ok && !**code) {
		ok = err_set(err, ERR_INPUT, "the link holds no code");
		err_hint(err, "Copy the whole link of the invitation.");
	}
	return ok;
}

/* A key of this profile counts only at the server it is from. */
static bool own_key(
    struct call *call, const char *server, char **key, struct err *err)
{
	const char *file = call_option(call, "key-file");
	*key = NULL;
	if (call_option(call, "name") || !call->settings.server ||
	    strcmp(call->settings.server, server) != 0)
		return true;
	return key_load(&call->settings, file, key, err);
}

static bool check_new(struct call *call, const char *key, struct err *err)
{
	char *there = NULL;
	if (key)
		return true;
	if (!call_option(call, "name")) {
		cli_fail(
		    err, CLI_USAGE, "the workshop needs a name to call you by");
		return err_hint(err, "Type: tearshare join LINK --name NAME");
	}
	bool ok = key_load(&call->settings, NULL, &there, err);
	if (ok && there) {
		cli_fail(err, CLI_SETTINGS, "this profile has a key already");
		err_hint(err,
		    "Leave out --name to take part as who you are, or add "
		    "--profile NAME to be somebody else.");
		ok = false;
	}
	free(there);
	return ok && key_can_save(&call->settings, NULL, err);
}

static bool make_body(
    struct call *call, const char *code, json_t **body, struct err *err)
{
	*body = json_pack("{s:s}", "code", code);
	if (!*body)
		return err_set(
		    err, ERR_INPUT, "the code of the link is not text");
	return body_add_text(call, *body, "name", "name", err) &&
	       body_add_text(call, *body, "contact", "contact", err) &&
	       body_add_yes(call, *body, "guardian", "guardian", err);
}

static bool keep_joined(struct call *call, const char *server,
    const json_t *joined, struct err *err)
{
	const char *key = reach_text(joined, "key");
	const char *ca = call_option(call, "ca");
	if (*key) {
		if (!key_is_good(key))
			return cli_fail(
			    err, CLI_PROTOCOL, "the server handed out no key");
		free(call->settings.server);
		call->settings.server = xstrdup(server);
		if (ca) {
			free(call->settings.ca);
			call->settings.ca = realpath(ca, NULL);
		}
		if (!key_save(&call->settings, NULL, key, err))
			return false;
	}
	call->settings.workshop = reach_int(joined, "workshop/id");
	return settings_save(&call->settings, err);
}

/* The key is in its file; it is not shown. */
static void show_joined(struct call *call, json_t *joined, const char *server)
{
	bool fresh = *reach_text(joined, "key") != '\0';
	json_object_del(joined, "key");
	if (fresh)
		call_say(call,
		    "You are signed in at %s; your key is kept in %s/key",
		    server, call->settings.folder);
	call_show(call, joined);
}

bool cmd_join(struct call *call, struct err *err)
{
	char *server = NULL, *code = NULL, *key = NULL;
	const char *ca = call_option(call, "ca");
	json_t *body = NULL, *joined = NULL;
	bool ok =
	    take_apart(call, call_word(call, 0), &server, &code, err) &&
	    own_key(call, server, &key, err) && check_new(call, key, err) &&
	    make_body(call, code, &body, err) &&
	    call_connect(call, server, ca ? ca : call->settings.ca, key, err);
	if (ok) {
		ok = call_post(
			 call, json_incref(body), &joined, err, "/v1/join") &&
		     keep_joined(call, server, joined, err);
	}
	if (ok && *reach_text(joined, "key"))
		ok = call_connect(call, server, call->settings.ca,
		    reach_text(joined, "key"), err);
	if (ok)
		show_joined(call, joined, server);
	if (key)
		explicit_bzero(key, strlen(key));
	free(key);
	free(code);
	free(server);
	json_decref(body);
	json_decref(joined);
	return ok;
}
