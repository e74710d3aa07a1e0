/* SPDX-License-Identifier: MIT */
/*
 * nursery.c - run a command and see that it leaves no process behind.
 *
 * deploy/check must leave nothing running, and a test that leaves a database behind is a
 * fault of that test.  Process groups and environment marks do not hold what starts its own
 * session or rewrites its memory; being the "child subreaper" (prctl(2)) does: whatever
 * loses its parent becomes our child.  So when the command has ended, our children are
 * exactly what it left.  They get a moment to finish what they were told to finish, are
 * then named and killed, and the exit status says so.
 *
 * Linux only, needs no rights.
 */
#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { EXIT_LEFT_BEHIND = 99, GRACE_STEPS = 100, STEP_MS = 50 };

static volatile sig_atomic_t told_to_end;

static void on_signal(int sig)
{
	told_to_end = sig;
}

static void pause_ms(long ms)
{
	nanosleep(&(struct timespec){.tv_sec = ms / 1000,
		      .tv_nsec = ms % 1000 * 1000000},
	    NULL);
}

/* The parent of pid and whether it still runs; false when there is no such process. */
static bool read_stat(long pid, long *parent, char *state)
{
	char path[64], line[1024];
	snprintf(path, sizeof(path), "/proc/%ld/stat", pid);
	FILE *file = fopen(path, "r");
	bool ok = false;

	if (!file)
		return false;
	if (fgets(line, sizeof(line), file)) {
		/* the name in brackets may hold anything, so read from its last bracket on */
		const char *end = strrchr(line, ')');
		ok = end && sscanf(end + 1, " %c %ld", state, parent) == 2;
	}
	fclose(file);
	return ok;
}

static void print_command(long pid)
{
	char path[64], text[200];
	snprintf(path, sizeof(path), "/proc/%ld/cmdline", pid);
	FILE *file = fopen(path, "r");
	size_t n = file ? fread(text, 1, sizeof(text) - 1, file) : 0;

	for (size_t i = 0; i < n; i++)
		if (!isprint((unsigned char)text[i]))
			text[i] = ' ';
	text[n] = '\0';
	fprintf(stderr, "nursery: left running: %ld %s\n", pid, text);
	if (file)
		fclose(file);
}

/* Calls each for every living child of ours; returns how many there are. */
static int for_children(void (*each)(long pid))
{
	DIR *proc = opendir("/proc");
	const struct dirent *entry;
	int n = 0;

	while (proc && (entry = readdir(proc))) {
		char *end;
		long parent, pid = strtol(entry->d_name, &end, 10);
		char state;
		if (*end || pid <= 0 || !read_stat(pid, &parent, &state))
			continue;
		if (parent != (long)getpid() || state == 'Z')
			continue;
		n++;
		if (each)
			each(pid);
	}
	if (proc)
		closedir(proc);
	return n;
}

static void kill_child(long pid)
{
	kill((pid_t)pid, SIGKILL);
}

static void reap(void)
{
	while (waitpid(-1, NULL, WNOHANG) > 0)
		;
}

/* Waits for the command; a signal to us is handed on to it. */
static int wait_for(pid_t command)
{
	int status;

	for (;;) {
		pid_t done = waitpid(-1, &status, 0);
		if (done == command)
			return WIFEXITED(status) ? WEXITSTATUS(status)
						 : 128 + WTERMSIG(status);
		if (done < 0 && errno == EINTR && told_to_end)
			kill(command, SIGTERM);
		else if (done < 0 && errno != EINTR)
			return 127;
	}
}

static bool clear_up(void)
{
	for (int i = 0; i < GRACE_STEPS && !told_to_end; i++) {
		reap();
		if (!for_children(NULL))
			return true;
		pause_ms(STEP_MS);
	}
	for_children(print_command);
	/* killing one hands us its children, so again until none is left */
	while (for_children(kill_child)) {
		pause_ms(STEP_MS);
		reap();
	}
	return false;
}

int main(int argc, char **argv)
{
	struct sigaction act = {.sa_handler = on_signal};

	if (argc < 2) {
		fprintf(stderr, "usage: nursery COMMAND...\n");
		return 2;
	}
	if (prctl(PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0) < 0) {
		perror("nursery: prctl");
		return 127;
	}
	sigaction(SIGINT, &act, NULL);
	sigaction(SIGTERM, &act, NULL);
	sigaction(SIGHUP, &act, NULL);
	pid_t command = fork();
	if (command == 0) {
		execvp(argv[1], argv + 1);
		perror(argv[1]);
		_exit(127);
	}
	if (command < 0) {
		perror("nursery: fork");
		return 127;
	}
	int status = wait_for(command);
	if (!clear_up() && status == 0)
		status = EXIT_LEFT_BEHIND;
	return status;
}
