/* SPDX-License-Identifier: MIT */
/*
 * key.c - the key, and the file nobody else may read.
 *
 * A key on a command line stands in every process list, one in the environment in every
 * child: so it comes from a file or from standard input and from nowhere else.  A file
 * that others can read is refused, with the command that mends it; the key in it may be
 * known by now, which is why nothing is mended silently.
 */
#include "settings.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "alloc.h"
#include "settings_file.h"
#include "status.h"
#include "text.h"

bool key_is_good(const char *s)
{
	if (strncmp(s, "tsk_", 4) != 0 || strlen(s) != KEY_TEXT_LEN)
		return false;
	for (s += 4; *s; s++)
		if (!strchr(
			"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
			"0123456789-_",
			*s))
			return false;
	return true;
}

static bool refuse_text(const char *name, struct err *err)
{
	cli_fail(err, CLI_SETTINGS, "%s does not hold a key", name);
	return err_hint(
	    err, "A key is tsk_ and 43 characters, alone in its file.");
}

/* Reads until the end or 255 bytes; takes blanks off; refuses what is no key. */
bool key_read(int fd, const char *name, char **out, struct err *err)
{
	char buf[256] = "";
	size_t len = 0;
	ssize_t n = 1;
	*out = NULL;
	while (n > 0 && len < sizeof(buf) - 1 && !memchr(buf, '\n', len)) {
		n = read(fd, buf + len, sizeof(buf) - 1 - len);
		if (n < 0 && errno == EINTR)
			n = 1;
		else if (n > 0)
			len += (size_t)n;
	}
	while (len && strchr(" \t\r\n", buf[len - 1]))
		len--;
	buf[len] = '\0';
	size_t start = strspn(buf, " \t\r\n");
	bool ok = n >= 0 && key_is_good(buf + start);
	if (n < 0)
		cli_fail(err, CLI_OUTPUT, "could not read %s: %s", name,
		    strerror(errno));
	else if (!ok)
		refuse_text(name, err);
	else
		*out = xstrdup(buf + start);
	explicit_bzero(buf, sizeof(buf));
	return ok;
}

static bool check_mode(int fd, const char *path, struct err *err)
{
	struct stat st;
	if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
		return cli_fail(err, CLI_SETTINGS, "%s is not a file", path);
	if ((st.st_mode & 077) == 0)
		return true;
	cli_fail(err, CLI_SETTINGS,
	    "the key file %s may be read by others (mode %04o)", path,
	    (unsigned)(st.st_mode & 07777));
	return err_hint(err,
	    "Type: chmod 600 '%s'\nIf others use this machine, ask for a new "
	    "key "
	    "and have the old one revoked.",
	    path);
}

bool key_load(const struct settings *settings, const char *file, char **out,
    struct err *err)
{
	char *path = file ? xstrdup(file) : file_path(settings->folder, "key");
	*out = NULL;
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
	bool ok = true;
	if (fd >= 0)
		ok = check_mode(fd, path, err) && key_read(fd, path, out, err);
	else if (file || errno != ENOENT)
		ok = cli_fail(err, CLI_SETTINGS,
		    "could not read the key file %s: %s", path,
		    strerror(errno));
	if (fd >= 0)
		close(fd);
	free(path);
	return ok;
}

bool key_save(const struct settings *settings, const char *file,
    const char *key, struct err *err)
{
	char *path = file ? xstrdup(file) : file_path(settings->folder, "key");
	char text[KEY_TEXT_LEN + 2];
	snprintf(text, sizeof(text), "%s\n", key);
	bool ok = (file || file_make_folder(settings->folder, err)) &&
		  file_write_all(path, text, err);
	explicit_bzero(text, sizeof(text));
	free(path);
	return ok;
}

bool key_can_save(
    const struct settings *settings, const char *file, struct err *err)
{
	struct text path;
	text_init(&path, 4096);
	text_addf(&path, "%s%s.XXXXXX", file ? file : settings->folder,
	    file ? "" : "/key");
	bool ok = file || file_make_folder(settings->folder, err);
	int fd = ok ? mkostemp(path.data, O_CLOEXEC) : -1;
	if (fd >= 0) {
		unlink(path.data);
		close(fd);
	} else if (ok) {
		ok =
		    cli_fail(err, CLI_SETTINGS, "could not write beside %s: %s",
			file ? file : path.data, strerror(errno));
	}
	text_free(&path);
	return ok;
}

bool key_forget(const struct settings *settings, struct err *err)
{
	char *path = file_path(settings->folder, "key");
	bool ok = unlink(path) == 0 || errno == ENOENT;
	if (!ok)
		cli_fail(err, CLI_SETTINGS, "could not remove %s: %s", path,
		    strerror(errno));
	free(path);
	return ok;
}
