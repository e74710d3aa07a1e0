/* SPDX-License-Identifier: MIT */
/*
 * fake_planner.c - a planner that plans, or misbehaves as the first stock's name says.
 *
 * Started as the worker starts the real one: `fake_planner plan --progress -`.
 */
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <unistd.h>

#include "plan.h"
#include "problem.h"

static volatile sig_atomic_t told_to_stop;

static void on_term(int signal)
{
	(void)signal;
	told_to_stop = 1;
}

static int print_plan(const struct problem *problem)
{
	struct plan_job job = {.steps = 1000};
	struct plan *plan = NULL;
	struct err err;
	struct text out;
	if (!plan_make(problem, &job, &plan, &err)) {
		fprintf(stderr, "%s\n", err.text);
		return 1;
	}
	text_init(&out, PROBLEM_TEXT_MAX);
	plan_write(plan, -1, &out);
	fwrite(out.data, 1, out.len, stdout);
	text_free(&out);
	plan_delete(plan);
	return fflush(stdout) == 0 ? 0 : 5;
}

/* Says its process id as steps, waits for SIGTERM, then gives its best plan. */
static int slow(const struct problem *problem)
{
	struct sigaction act = {.sa_handler = on_term};
	sigset_t term, before;
	sigemptyset(&term);
	sigaddset(&term, SIGTERM);
	sigprocmask(SIG_BLOCK, &term, &before);
	sigaction(SIGTERM, &act, NULL);
	fprintf(stderr,
	    "progress fresh_rolls=2 price=38400 strip_length=900 bound_rolls=1 "
	    "bound_price=19200 bound_length=800 steps=%d\n",
	    (int)getpid());
	while (!told_to_stop)
		sigsuspend(&before);
	return print_plan(problem);
}

/* Every descriptor beyond the three must be gone. */
static int fcntl_is_closed(void)
{
	for (int fd = 3; fd < 200; fd++)
		if (fcntl(fd, F_GETFD) >= 0)
			return 0;
	return 1;
}

static int limited(void)
{
	struct rlimit core, memory;
	void *much = mmap(NULL, (size_t)8 << 30, PROT_READ | PROT_WRITE,
	    MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
	getrlimit(RLIMIT_CORE, &core);
	getrlimit(RLIMIT_AS, &memory);
	fprintf(stderr, "memory %s, core %s, files %s, key %s\n",
	    much == MAP_FAILED ? "refused" : "given",
	    core.rlim_cur == 0 ? "none" : "some",
	    fcntl_is_closed() ? "closed" : "open",
	    getenv("SECRET") ? "seen" : "unseen");
	return 1;
}

int main(int argc, char **argv)
{
	static char json[1 << 20];
	struct problem *problem = NULL;
	struct err err;
	int status = 0;
	if (argc != 4 || strcmp(argv[1], "plan") != 0 ||
	    strcmp(argv[2], "--progress") != 0 || strcmp(argv[3], "-") != 0)
		return 2;
	size_t len = fread(json, 1, sizeof(json), stdin);
	if (!problem_read(json, len, &problem, NULL, &err)) {
		fprintf(stderr, "%s\n", err.text);
		return 2;
	}
	const char *how = problem->stock[0].name;
	if (strcmp(how, "crash") == 0) {
		signal(SIGSEGV, SIG_DFL);
		raise(SIGSEGV);
	} else if (strcmp(how, "spin") == 0) {
		signal(SIGTERM, SIG_IGN);
		for (;;)
			pause();
	} else if (strcmp(how, "status") == 0) {
		fprintf(stderr, "something odd\n");
		status = 7;
	} else if (strcmp(how, "garbage") == 0) {
		printf("{\"rolls\": 5");
	} else if (strcmp(how, "wrong") ==
		   0) { /* nothing placed, nothing said of it */
		printf("{\"rolls\": [], \"totals\": {\"fresh_rolls\": 0, "
		       "\"price\": 0, "
		       "\"strip_length\": 0, \"tears\": 0, \"unplaced\": 0}, "
		       "\"bounds\": "
		       "{\"fresh_rolls\": 0, \"price\": 0, \"strip_length\": "
		       "0}, \"proven\": "
		       "{\"fresh_rolls\": false, \"price\": false, "
		       "\"strip_length\": false}}");
	} else if (strcmp(how, "flood") == 0) {
		for (;;)
			if (fwrite(json, 1, sizeof(json), stdout) == 0)
				return 9;
	} else if (strcmp(how, "limits") == 0) {
		status = limited();
	} else if (strcmp(how, "slow") == 0) {
		status = slow(problem);
	} else {
		status = print_plan(problem);
	}
	problem_delete(problem);
	return status;
}
