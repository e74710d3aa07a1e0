/* SPDX-License-Identifier: MIT */
/*
 * What stays between two commands: where the server is, whom to trust, the key.
 *
 * Everything lives in one folder: $XDG_CONFIG_HOME/tearshare (~/.config/tearshare), and
 * for `--profile NAME` in tearshare/NAME.  Two files: `settings`, lines of "name value",
 * and `key`, which nobody but its owner may read.  The key is never taken from the
 * command line or the environment.
 */
#ifndef CLI_SETTINGS_H
#define CLI_SETTINGS_H

#include <stdint.h>

#include "err.h"

#define KEY_TEXT_LEN 47 /* "tsk_" and 43 characters */

struct settings {
	char *folder; /* where the two files are */
	char *server; /* "https://studio.example:8443", NULL: not signed in */
	char *
	    ca; /* PEM file of the only authority to trust, NULL: the system's */
	int64_t workshop; /* the one last used, 0: none */
};

/* Reads the settings of a profile (NULL: the usual one).  A file that is not there is no failure. */
bool settings_load(
    const char *profile, struct settings *out, struct err *err) MUST_USE;
/* Writes them whole or not at all. */
bool settings_save(const struct settings *settings, struct err *err) MUST_USE;
void settings_free(struct settings *settings);

/* The address of a server: https, or http on this machine; no path, no user.  *out is yours. */
bool settings_server(const char *url, char **out, struct err *err) MUST_USE;
/* True when the host of the address is this machine itself. */
bool settings_is_loopback(const char *url);

/* True when s looks like a key. */
bool key_is_good(const char *s);
/*
 * The key from a file (NULL: that of the profile).  Refused when others may read the file.
 * *out is yours (clear it before free), NULL when the profile has no key yet.
 */
bool key_load(const struct settings *settings, const char *file, char **out,
    struct err *err) MUST_USE;
/* The key from an open file: standard input, typed or piped. */
bool key_read(int fd, const char *name, char **out, struct err *err) MUST_USE;
/* Writes a key to a file of mode 0600 (NULL: that of the profile), whole or not at all. */
bool key_save(const struct settings *settings, const char *file,
    const char *key, struct err *err) MUST_USE;
/* True when a key could be written there: tried before one is made that is shown only once. */
bool key_can_save(const struct settings *settings, const char *file,
    struct err *err) MUST_USE;
/* Removes the profile's key from this machine. */
bool key_forget(const struct settings *settings, struct err *err) MUST_USE;

#endif
