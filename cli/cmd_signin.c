/* SPDX-License-Identifier: MIT */
/*
 * signin, signout, whoami, health: who we are to the server.
 *
 * The key comes from standard input (piped, or pasted without echo) or from --key-file, is
 * tried against the server first and only then kept, so that a typing slip leaves what was
 * there before.
 */
#include <errno.h>
#include <limits.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "alloc.h"
#include "command.h"
#include "status.h"

/* Ctrl-C while nothing is echoed must not leave the terminal so. */
static struct termios terminal_before;

static void on_interrupt(int signal_number)
{
	tcsetattr(STDIN_FILENO, TCSAFLUSH, &terminal_before);
	signal(signal_number, SIG_DFL);
	raise(signal_number);
}

static bool paste_key(struct call *call, char **key, struct err *err)
{
	struct termios without;
	tcgetattr(STDIN_FILENO, &terminal_before);
	without = terminal_before;
	without.c_lflag &= (tcflag_t) ~(ECHO | ECHONL);
	fprintf(call->talk, "Paste the key (it is not shown): ");
	fflush(call->talk);
	signal(SIGINT, on_interrupt);
	signal(SIGTERM, on_interrupt);
	tcsetattr(STDIN_FILENO, TCSAFLUSH, &without);
	bool ok = key_read(STDIN_FILENO, "what was pasted", key, err);
	tcsetattr(STDIN_FILENO, TCSAFLUSH, &terminal_before);
	signal(SIGINT, SIG_DFL);
	signal(SIGTERM, SIG_DFL);
	fputc('\n', call->talk);
	return ok;
}

static bool get_key(struct call *call, char **key, struct err *err)
{
	const char *file = call_option(call, "key-file");
	if (file)
		return key_load(&call->settings, file, key, err);
	if (isatty(STDIN_FILENO))
		return paste_key(call, key, err);
	if (key_read(STDIN_FILENO, "standard input", key, err))
		return true;
	return err_hint(err, "Type: tearshare signin URL < keyfile");
}

/* --ca as a path that is still right from another folder; NULL when not given. */
static bool get_ca(struct call *call, char **ca, struct err *err)
{
	const char *given = call_option(call, "ca");
	*ca = given ? realpath(given, NULL) : NULL;
	if (!given || *ca)
		return true;
	return cli_fail(err, CLI_SETTINGS,
	    "could not find the certificate file %s: %s", given,
	    strerror(errno));
}

static bool get_server(struct call *call, char **server, struct err *err)
{
	const char *url = call_word(call, 0);
	if (!url)
		url = call_option(call, "server");
	if (!url)
		url = call->settings.server;
	*server = NULL;
	if (url)
		return settings_server(url, server, err);
	cli_fail(err, CLI_USAGE, "the address of the server is missing");
	return err_hint(err,
	    "Type: tearshare signin https://studio.example:8443 "
	    "< keyfile");
}

/* Another server knows nothing of the workshop used there. */
static void adopt(struct settings *s, char **server, char **ca)
{
	bool same = s->server && strcmp(s->server, *server) == 0;
	if (!same)
		s->workshop = 0;
	if (*ca || !same) {
		free(s->ca);
		s->ca = *ca;
		*ca = NULL;
	}
	free(s->server);
	s->server = *server;
	*server = NULL;
}

bool cmd_signin(struct call *call, struct err *err)
{
	char *server = NULL, *ca = NULL, *key = NULL;
	json_t *me = NULL;
	bool ok = get_server(call, &server, err) && get_ca(call, &ca, err) &&
		  get_key(call, &key, err);
	if (ok) {
		adopt(&call->settings, &server, &ca);
		ok = call_connect(call, call->settings.server,
			 call->settings.ca, key, err) &&
		     call_get(call, &me, err, "/v1/me") &&
		     key_save(&call->settings, NULL, key, err) &&
		     settings_save(&call->settings, err);
	}
	if (ok) {
		call_say(call, "Signed in; the key is kept in %s/key",
		    call->settings.folder);
		call_show(call, me);
	}
	if (key)
		explicit_bzero(key, strlen(key));
	free(key);
	free(ca);
	free(server);
	json_decref(me);
	return ok;
}

bool cmd_signout(struct call *call, struct err *err)
{
	if (!key_forget(&call->settings, err))
		return false;
	call_say(call,
	    "The key is removed from this machine. It still works until "
	    "it is revoked: tearshare key revoke");
	return true;
}

bool cmd_whoami(struct call *call, struct err *err)
{
	json_t *me = NULL;
	bool ok = call_get(call, &me, err, "/v1/me");
	if (ok)
		call_show(call, me);
	json_decref(me);
	return ok;
}

/* Needs no key: the first thing to ask when something is wrong. */
bool cmd_health(struct call *call, struct err *err)
{
	json_t *health = NULL;
	char *server = NULL;
	const char *ca = call_option(call, "ca");
	bool ok = get_server(call, &server, err) &&
		  call_connect(
		      call, server, ca ? ca : call->settings.ca, NULL, err) &&
		  call_get(call, &health, err, "/v1/health");
	if (ok)
		call_show(call, health);
	free(server);
	json_decref(health);
	return ok;
}
