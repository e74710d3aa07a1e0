/* SPDX-License-Identifier: MIT */
/*
 * log.c - one event, one line, one write.
 *
 * Each line leaves in a single write() to a file opened for appending, so lines of
 * several threads and processes do not mix.  A log that cannot be written stops
 * nothing: the line is lost, the work goes on.
 */
#include "log.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "alloc.h"
#include "aside.h"
#include "text.h"

#define LINE_MAX_BYTES 4096
#define VALUE_CUT 200

static _Atomic int log_fd = STDERR_FILENO;
static _Atomic int log_least = LOG_INFO;
static char *log_path;

bool log_open(const char *path, enum log_level least, struct err *err)
{
	int fd = STDERR_FILENO;
	if (path) {
		fd =
		    open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0640);
		if (fd < 0)
			return err_set(err, ERR_INPUT,
			    "cannot open the log \"%s\": %s", path,
			    strerror(errno));
	}
	log_close();
	log_path = path ? xstrdup(path) : NULL;
	log_least = (int)least;
	log_fd = fd;
	return true;
}

/* The descriptor keeps its number, so that a thread in the middle of a line is not cut off. */
void log_reopen(void)
{
	if (!log_path)
		return;
	int fd =
	    open(log_path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0640);
	if (fd < 0) {
		log_event(LOG_ERROR, "log-not-reopened", "reason=\"%s\"",
		    strerror(errno));
		return;
	}
	dup3(fd, log_fd, O_CLOEXEC);
	close(fd);
}

void log_turn(const char *day)
{
	if (log_path && aside_put(log_path, day, ASIDE_RENAME))
		log_reopen();
}

void log_close(void)
{
	if (log_path)
		close(log_fd);
	log_fd = STDERR_FILENO;
	free(log_path);
	log_path = NULL;
}

void log_event(enum log_level level, const char *event, const char *fmt, ...)
{
	static const char *const names[] = {"debug", "info", "warn", "error"};
	if ((int)level < log_least)
		return;

	char line[LINE_MAX_BYTES];
	struct timespec now;
	struct tm tm;
	clock_gettime(CLOCK_REALTIME, &now);
	gmtime_r(&now.tv_sec, &tm);
	size_t len = strftime(line, sizeof(line), "%Y-%m-%dT%H:%M:%S", &tm);
	len += (size_t)snprintf(line + len, sizeof(line) - len,
	    ".%03ldZ level=%s event=%s ", now.tv_nsec / 1000000, names[level],
	    event);

	va_list ap;
	va_start(ap, fmt);
	int n = vsnprintf(line + len, sizeof(line) - len - 1, fmt, ap);
	va_end(ap);
	if (n < 0)
		return;
	len += (size_t)n;
	if (len > sizeof(line) - 2)
		len = sizeof(line) - 2;
	for (size_t i = 0; i < len; i++)
		if (line[i] == '\n' || line[i] == '\r')
			line[i] = ' ';
	line[len++] = '\n';
	ssize_t written = write(log_fd, line, len);
	(void)written;
}

const char *log_value(char buf[static LOG_VALUE_MAX], const char *value)
{
	size_t len = strlen(value), out = 0;
	bool valid = utf8_is_valid(value, len);
	buf[out++] = '"';
	size_t end = len < VALUE_CUT ? len : VALUE_CUT;
	while (valid && end < len && end > 0 &&
	       ((unsigned char)value[end] & 0xC0) == 0x80)
		end--;
	for (size_t i = 0; i < end; i++) {
		unsigned char c = (unsigned char)value[i];
		if (c == '"' || c == '\\') {
			buf[out++] = '\\';
			buf[out++] = (char)c;
		} else if (c < 0x20 || c == 0x7F || (c >= 0x80 && !valid) ||
			   (c == 0xC2 && (unsigned char)value[i + 1] < 0xA0)) {
			out += (size_t)snprintf(buf + out, 5, "\\x%02x", c);
		} else {
			buf[out++] = (char)c;
		}
	}
	buf[out++] = '"';
	buf[out] = '\0';
	return buf;
}
