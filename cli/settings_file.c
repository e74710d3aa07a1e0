/* SPDX-License-Identifier: MIT */
/*
 * settings_file.c - small files, whole or not at all.
 */
#include "settings_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "alloc.h"
#include "status.h"
#include "text.h"

char *file_path(const char *folder, const char *name)
{
	struct text path;
	text_init(&path, 4000);
	text_addf(&path, "%s/%s", folder, name);
	return text_take(&path);
}

bool file_make_folder(const char *folder, struct err *err)
{
	char *path = xstrdup(folder);
	bool ok = true;
	for (char *at = path + 1; ok && *at; at++) {
		if (*at != '/')
			continue;
		*at = '\0';
		ok = mkdir(path, 0700) == 0 || errno == EEXIST;
		*at = '/';
	}
	ok = ok && (mkdir(path, 0700) == 0 || errno == EEXIST);
	if (!ok)
		cli_fail(err, CLI_SETTINGS, "could not make the folder %s: %s",
		    folder, strerror(errno));
	free(path);
	return ok;
}

bool file_read_all(const char *path, char **out, struct err *err)
{
	*out = NULL;
	FILE *f = fopen(path, "re");
	if (!f && (errno == ENOENT || errno == ENOTDIR))
		return true;
	if (!f)
		return cli_fail(err, CLI_SETTINGS, "could not read %s: %s",
		    path, strerror(errno));
	char *text = xmalloc(SMALL_FILE_MAX + 1);
	size_t len = fread(text, 1, SMALL_FILE_MAX + 1, f);
	bool ok = !ferror(f) && len <= SMALL_FILE_MAX &&
		  memchr(text, '\0', len) == NULL;
	fclose(f);
	if (!ok) {
		free(text);
		return cli_fail(err, CLI_SETTINGS,
		    "%s is not a text file of at most %d bytes", path,
		    SMALL_FILE_MAX);
	}
	text[len] = '\0';
	*out = text;
	return true;
}

static bool write_bytes(int fd, const char *bytes, size_t len)
{
	while (len) {
		ssize_t n = write(fd, bytes, len);
		if (n < 0 && errno == EINTR)
			continue;
		if (n < 0)
			return false;
		bytes += n;
		len -= (size_t)n;
	}
	return true;
}

bool file_write_all(const char *path, const char *text, struct err *err)
{
	struct text beside;
	text_init(&beside, 4096);
	text_addf(&beside, "%s.XXXXXX", path);
	int fd = mkostemp(beside.data, O_CLOEXEC); /* mode 0600 */
	bool ok = fd >= 0 && write_bytes(fd, text, strlen(text)) &&
		  fsync(fd) == 0 && rename(beside.data, path) == 0;
	if (!ok)
		cli_fail(err, CLI_SETTINGS, "could not write %s: %s", path,
		    strerror(errno));
	if (!ok && fd >= 0)
		unlink(beside.data);
	if (fd >= 0)
		close(fd);
	text_free(&beside);
	return ok;
}

bool file_write_answer(
    const char *path, const void *bytes, size_t len, struct err *err)
{
	if (strcmp(path, "-") == 0) {
		if (fwrite(bytes, 1, len, stdout) == len && fflush(stdout) == 0)
			return true;
		return cli_fail(err, CLI_OUTPUT,
		    "could not write to standard output: %s", strerror(errno));
	}
	int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
	bool ok = fd >= 0 && write_bytes(fd, bytes, len);
	ok = fd >= 0 && close(fd) == 0 && ok;
	if (!ok)
		return cli_fail(err, CLI_OUTPUT, "could not write %s: %s", path,
		    strerror(errno));
	return true;
}
