/* SPDX-License-Identifier: MIT */
/*
 * settings.c - where the server is and what was last used.
 *
 * Files are written beside their place and renamed over it, so two commands at once leave
 * one whole file.  An unknown name in the file is refused rather than passed over: a
 * misspelt "ca" would otherwise mean that another authority is trusted.
 */
#include "settings.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "alloc.h"
#include "settings_file.h"
#include "status.h"
#include "text.h"

#define URL_MAX 300

static bool home_folder(struct text *path, struct err *err)
{
	struct passwd me, *found = NULL;
	char buf[4096];
	const char *config = getenv("XDG_CONFIG_HOME");
	if (config && *config == '/') {
		text_add(path, config);
		return true;
	}
	const char *home = getenv("HOME");
	if (!home || *home != '/') {
		home =
		    getpwuid_r(getuid(), &me, buf, sizeof(buf), &found) == 0 &&
			    found
			? me.pw_dir
			: NULL;
	}
	if (!home)
		return cli_fail(err, CLI_SETTINGS,
		    "this user has no home folder to keep settings in");
	text_addf(path, "%s/.config", home);
	return true;
}

static bool profile_is_good(const char *name)
{
	size_t len = strlen(name);
	if (len == 0 || len > 60 || name[0] == '.' || name[0] == '-')
		return false;
	for (size_t i = 0; i < len; i++)
		if (!strchr(
			"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
			"0123456789-_.",
			name[i]))
			return false;
	return strcmp(name, "key") != 0 && strcmp(name, "settings") != 0;
}

static bool find_folder(const char *profile, char **out, struct err *err)
{
	struct text path;
	text_init(&path, 3000);
	bool ok = home_folder(&path, err);
	text_add(&path, "/tearshare");
	if (ok && profile && !profile_is_good(profile)) {
		cli_fail(err, CLI_USAGE,
		    "\"%s\" cannot be the name of a profile", profile);
		ok = err_hint(err, "Use letters, digits, \"-\" and \"_\".");
	} else if (ok && profile) {
		text_addf(&path, "/%s", profile);
	}
	*out = ok ? text_take(&path) : NULL;
	text_free(&path);
	return ok;
}

static bool set_one(struct settings *s, const char *name, const char *value,
    const char *path, int line, struct err *err)
{
	if (strcmp(name, "server") == 0)
		return free(s->server), settings_server(value, &s->server, err);
	if (strcmp(name, "ca") == 0) {
		free(s->ca);
		s->ca = xstrdup(value);
		return true;
	}
	if (strcmp(name, "workshop") == 0) {
		s->workshop = strtoll(value, NULL, 10);
		return true;
	}
	cli_fail(err, CLI_SETTINGS, "%s line %d: \"%s\" is not a setting", path,
	    line, name);
	return err_hint(err, "Settings are: server, ca, workshop.");
}

static bool read_lines(
    struct settings *s, const char *path, char *text, struct err *err)
{
	int line = 0;
	for (char *at = text, *end; at && *at; at = end) {
		end = strchr(at, '\n');
		if (end)
			*end++ = '\0';
		line++;
		at += strspn(at, " \t");
		if (*at == '\0' || *at == '#')
			continue;
		size_t len = strcspn(at, " \t");
		char *value = at + len + strspn(at + len, " \t");
		at[len] = '\0';
		if (!set_one(s, at, value, path, line, err))
			return false;
	}
	return true;
}

bool settings_load(const char *profile, struct settings *out, struct err *err)
{
	char *path = NULL, *text = NULL;
	*out = (struct settings){.folder = NULL};
	bool ok = find_folder(profile, &out->folder, err);
	if (ok) {
		path = file_path(out->folder, "settings");
		ok = file_read_all(path, &text, err) &&
		     (!text || read_lines(out, path, text, err));
	}
	free(path);
	free(text);
	if (!ok)
		settings_free(out);
	return ok;
}

bool settings_save(const struct settings *s, struct err *err)
{
	struct text text;
	char *path = file_path(s->folder, "settings");
	text_init(&text, 8000);
	text_add(&text, "# written by tearshare signin\n");
	if (s->server)
		text_addf(&text, "server %s\n", s->server);
	if (s->ca)
		text_addf(&text, "ca %s\n", s->ca);
	if (s->workshop)
		text_addf(&text, "workshop %lld\n", (long long)s->workshop);
	bool ok = file_make_folder(s->folder, err) &&
		  file_write_all(path, text.data, err);
	text_free(&text);
	free(path);
	return ok;
}

void settings_free(struct settings *s)
{
	free(s->folder);
	free(s->server);
	free(s->ca);
	*s = (struct settings){.folder = NULL};
}

/* The host of "scheme://host:port" without brackets. */
static bool host_of(const char *url, char host[static URL_MAX])
{
	const char *at = strstr(url, "://");
	at = at ? at + 3 : url;
	size_t len = *at == '[' ? strcspn(++at, "]") : strcspn(at, ":/");
	if (len >= URL_MAX)
		return false;
	memcpy(host, at, len);
	host[len] = '\0';
	return len > 0;
}

bool settings_is_loopback(const char *url)
{
	char host[URL_MAX];
	struct in_addr four;
	struct in6_addr six;
	if (!host_of(url, host))
		return false;
	if (inet_pton(AF_INET, host, &four) == 1)
		return ntohl(four.s_addr) >> 24 == 127;
	if (inet_pton(AF_INET6, host, &six) == 1)
		return IN6_IS_ADDR_LOOPBACK(&six);
	return strcasecmp(host, "localhost") == 0;
}

static bool refuse_server(const char *url, struct err *err, const char *hint)
{
	err_set(
	    err, ERR_INPUT, "\"%.200s\" is not the address of a server", url);
	return err_hint(err, "%s", hint);
}

bool settings_server(const char *url, char **out, struct err *err)
{
	char host[URL_MAX];
	size_t len = strlen(url);
	*out = NULL;
	while (len && url[len - 1] == '/')
		len--;
	bool plain = strncmp(url, "http://", 7) == 0;
	size_t scheme = plain ? 7 : 8;
	if (!plain && strncmp(url, "https://", 8) != 0)
		return refuse_server(
		    url, err, "Write it as https://studio.example:8443.");
	if (len >= URL_MAX || len <= scheme || !host_of(url, host) ||
	    strcspn(url + scheme, "/?#@\\ \t") < len - scheme)
		return refuse_server(url, err,
		    "Only name and port stand in it: "
		    "https://studio.example:8443.");
	if (plain && !settings_is_loopback(url))
		return refuse_server(url, err,
		    "Over a network it must be https: the key would be "
		    "readable.");
	for (size_t i = 0; i < len; i++)
		if (url[i] <= ' ' || url[i] > '~')
			return refuse_server(
			    url, err, "Write the name in ASCII letters.");
	*out = xstrndup(url, len);
	return true;
}
