/* SPDX-License-Identifier: MIT */
/* launch.c - fork, session, pipe to the one who waits; see daemon(7) and sd_notify(3). */
#include "launch.h"

#include <errno.h>
#include <fcntl.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

static int waiting = -1; /* our end of the pipe to the process that waits */

/* In the process that was called: until the child is ready, or has ended. */
static void wait_for(pid_t child, int fd)
{
	int status = 0;
	char ready;

	if (read(fd, &ready, 1) == 1)
		_exit(0);
	while (waitpid(child, &status, 0) < 0 && errno == EINTR)
		continue;
	_exit(WIFEXITED(status) ? WEXITSTATUS(status) : 70);
}

bool launch_detach(struct err *err)
{
	int ends[2];
	pid_t child;

	if (pipe2(ends, O_CLOEXEC) < 0)
		return err_set(err, ERR_INTERNAL, "could not make a pipe: %s",
		    strerror(errno));
	child = fork();
	if (child < 0)
		return err_set(err, ERR_INTERNAL,
		    "could not make a process: %s", strerror(errno));
	if (child > 0) {
		close(ends[1]);
		wait_for(child, ends[0]);
	}
	close(ends[0]);
	waiting = ends[1];
	setsid();
	if (chdir("/") < 0)
		return err_set(err, ERR_INTERNAL, "could not go to /: %s",
		    strerror(errno));
	return true;
}

void launch_ready(void)
{
	int null;

	if (waiting < 0)
		return;
	null = open("/dev/null", O_RDWR | O_CLOEXEC);
	for (int fd = 0; null >= 0 && fd < 3; fd++)
		dup2(null, fd);
	if (null > 2)
		close(null);
	ssize_t sent = write(waiting, "r", 1);
	(void)sent; /* nobody may wait any more */
	close(waiting);
	waiting = -1;
}

void launch_notify(const char *state)
{
	const char *path = getenv("NOTIFY_SOCKET");
	struct sockaddr_un to = {.sun_family = AF_UNIX};
	size_t len = path ? strlen(path) : 0;
	int fd;

	if (!len || (*path != '/' && *path != '@') ||
	    len >= sizeof(to.sun_path))
		return;
	memcpy(to.sun_path, path, len);
	if (*path == '@')
		to.sun_path[0] = '\0';
	fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
	if (fd < 0)
		return;
	sendto(fd, state, strlen(state), MSG_NOSIGNAL, (struct sockaddr *)&to,
	    (socklen_t)(offsetof(struct sockaddr_un, sun_path) + len));
	close(fd);
}

bool launch_write_pidfile(const char *path, struct err *err)
{
	int fd = open(
	    path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0644);
	char line[32];
	int len = snprintf(line, sizeof(line), "%ld\n", (long)getpid());
	bool ok = fd >= 0 && write(fd, line, (size_t)len) == len;

	if (!ok)
		err_set(err, ERR_INPUT, "pidfile \"%s\" cannot be written: %s",
		    path, strerror(errno));
	if (fd >= 0)
		close(fd);
	return ok;
}
