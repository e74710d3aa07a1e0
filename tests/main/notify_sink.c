/* SPDX-License-Identifier: MIT */
/*
 * notify_sink.c - the service manager's end of sd_notify: binds the socket it is given, says
 * "ready", then prints what is told, one line each (newlines within shown as spaces).
 */
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>

int main(int argc, char **argv)
{
	struct sockaddr_un un = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_DGRAM, 0);
	char told[1000];
	ssize_t n;

	if (argc != 2 || strlen(argv[1]) >= sizeof(un.sun_path) || fd < 0)
		return 64;
	strcpy(un.sun_path, argv[1]);
	if (bind(fd, (struct sockaddr *)&un, sizeof(un)) < 0)
		return 1;
	puts("ready");
	fflush(stdout);
	while ((n = recv(fd, told, sizeof(told) - 1, 0)) > 0) {
		told[n] = '\0';
		for (char *c = told; *c; c++)
			*c = *c == '\n' ? ' ' : *c;
		puts(told);
		fflush(stdout);
	}
	return 0;
}
